"""The command line: one file a command, each loaded only when it is asked for."""

from holdtimer.cli.main import main

__all__ = ["main"]
