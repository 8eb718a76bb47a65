"""The exit codes of every command."""

DONE = 0
STOPPED = 1
BAD_INPUT = 2
NOT_WRITTEN = 3
HELD = 4
FAULT = 70
INTERRUPTED = 130
