"""What is said to somebody who leaves a session, and where what could not be written goes instead."""

import shlex
import sys
from argparse import Namespace
from pathlib import Path
from typing import Protocol

from holdtimer.errors import ExitCode
from holdtimer.live.answers import AnswerBook
from holdtimer.live.plain import say
from holdtimer.live.setup import RESUME_WITHIN_S, Run

_GONE = frozenset({"terminated", "hang-up"})
_SIGNALLED = 128  # exit codes from here on are those of a run that a signal ended


class Unsaved(Protocol):
    """Something that is over and may not be in its file of the log."""

    @property
    def is_written(self) -> bool:
        """Whether all of it is in its file."""
        ...

    @property
    def why_not_written(self) -> str:
        """What keeps it out of its file, in plain words."""
        ...

    @property
    def path(self) -> Path | None:
        """The file it is in."""
        ...

    def save_elsewhere(self, data: Path) -> bool:
        """Write all of it into another data folder; return whether it is there."""
        ...


def rescued(run: Run, code: int) -> int:
    """Return `code` where all of a run that is over is written; else say so, and offer another folder."""
    if run.is_written:
        return code
    can_ask = run.driver.engine.session.left not in _GONE
    if not _is_brought_elsewhere(run, "the session", "`holdtimer show --data {folder}` tells it", can_ask):
        return ExitCode.NOT_WRITTEN
    return code if code != ExitCode.NOT_WRITTEN else run.exit_code()


def answers_rescued(book: AnswerBook, code: int) -> int:
    """Return `code` where all that was answered is written; else say so, and offer another folder."""
    then = "they are in force once that file lies in the folder of the session"
    can_ask = code < _SIGNALLED
    return code if _is_brought_elsewhere(book, "what you answered", then, can_ask) else ExitCode.NOT_WRITTEN


def _is_brought_elsewhere(unsaved: Unsaved, what: str, then: str, can_ask: bool) -> bool:
    """Offer other folders until all of it is in one, and say what `then`; return whether all is written."""
    while not unsaved.is_written:
        print(f"not all of {what} is saved: {unsaved.why_not_written}", file=sys.stderr)
        folder = _another_folder() if can_ask else None
        if folder is None:
            return False
        if unsaved.save_elsewhere(folder):
            print(f"all of it is in {unsaved.path}; {then.format(folder=folder)}")
    return True


def _another_folder() -> Path | None:
    """Ask for a folder; None where nobody can be asked, or no folder was named."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    print("another folder to write all of it to (Enter alone: none): ", end="", file=sys.stderr, flush=True)
    try:
        named = sys.stdin.readline().strip()
    except KeyboardInterrupt:
        return None
    return Path(named).expanduser() if named else None


def left_off(run: Run, args: Namespace, code: int) -> int:
    """Return what to end a run with: see that all of it is written, and say how to go on where it was left.

    Where it is not written, or only elsewhere, that alone is said.
    """
    if not run.is_written:
        return rescued(run, code)
    session = run.driver.engine.session
    if session.left is not None:
        say(f"all that was stamped is kept; to go on within {RESUME_WITHIN_S // 60:.0f} minutes:")
        say(f"  {_command(args, session.opened.speed if session.opened else 1.0)}")
    return code


def _command(args: Namespace, speed: float) -> str:
    """Return the command that goes on as this one began."""
    words = ["holdtimer", "run", args.program, "--resume"]
    for option in ("person", "data"):
        given = getattr(args, option, None)
        words += [f"--{option}", str(given)] if given else []
    if speed != 1:
        words += ["--speed", f"{speed:g}"]
    words += ["--plain"] if args.plain else []
    return shlex.join(words)
