"""The errors a person can put right, each with the exit code its command ends with."""

from collections.abc import Iterable
from enum import IntEnum
from typing import NamedTuple

KeyPath = tuple[str | int, ...]  # where a fault is: keys and places in lists, from the top of a TOML file


class ExitCode(IntEnum):
    """What a command ends with; from 128 on, a signal ended it."""

    DONE = 0
    STOPPED = 1
    BAD_INPUT = 2
    NOT_WRITTEN = 3
    LOG_HELD = 4
    INTERNAL_ERROR = 70
    HANG_UP = 129
    INTERRUPTED = 130
    TERMINATED = 143


class HoldtimerError(Exception):
    """The base of all errors that a person can put right; the message says how."""

    exit_code = ExitCode.BAD_INPUT


class BadInputError(HoldtimerError):
    """What was asked for cannot be done as asked; the message says what would be right."""


class Fault(NamedTuple):
    """One fault of a file; written as `path:line: message`."""

    path: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.message}"


class ProgramError(HoldtimerError):
    """A TOML file can't be used; `faults` are sorted by line, and the message is one line each."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__("\n".join(map(str, self.faults)))


class UnknownScriptError(HoldtimerError):
    """The program has no script of that id; the message names those it has."""


class NoSuchSessionError(HoldtimerError):
    """No session, or more than one, begins as asked; the message says which."""


class SeveralPeopleError(HoldtimerError):
    """Nobody was named, and the data folder holds the logs of several people."""


class SoundError(HoldtimerError):
    """A player can't be used; the message says why in plain words."""


class TooLateToResumeError(HoldtimerError):
    """The session was left too long ago; it can only be closed."""


class BrokenSessionError(HoldtimerError):
    """A session that was left can be neither resumed nor closed: its log does not say what it was to be."""


class LogHeldError(HoldtimerError):
    """Another run holds the log; `pid`, `host` and `since` (ISO 8601) are None where they are not known."""

    exit_code = ExitCode.LOG_HELD

    def __init__(self, message: str, pid: int | None, host: str | None, since: str | None) -> None:
        self.pid, self.host, self.since = pid, host, since
        super().__init__(message)


class NotWrittenError(HoldtimerError):
    """The disk did not take all of it; the message says why, and what it took."""

    exit_code = ExitCode.NOT_WRITTEN
