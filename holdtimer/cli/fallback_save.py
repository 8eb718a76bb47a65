"""The last words of a run, and where what could not be written goes instead."""

import shlex
import sys
from argparse import Namespace
from pathlib import Path

from holdtimer.errors import ExitCode
from holdtimer.live.answers import AnswerBook
from holdtimer.live.plain import say
from holdtimer.live.setup import RESUME_WITHIN_S, Run

_GONE = frozenset({"terminated", "hang-up"})
_SIGNALLED = 128  # exit codes from here on are those of a run that a signal ended


def finish_run(run: Run, args: Namespace, code: int) -> int:
    """Return the exit code of a run: see that all of it is written, and say how to resume where it was left.

    Where it is not written, or only elsewhere, that alone is said.
    """
    if not run.is_written:
        return saved(run, code)
    session = run.driver.engine.session
    if run.is_unbegun:
        say("nothing was recorded")
    elif session.left is not None:
        say(f"every stamp is saved; to go on within {RESUME_WITHIN_S // 60:.0f} minutes:")
        say(f"  {_command(args, session.opened.speed if session.opened else 1.0)}")
    return code


def _command(args: Namespace, speed: float) -> str:
    """Return the command that resumes what this one began."""
    words = ["holdtimer", "run", args.program, "--resume"]
    for option in ("person", "data"):
        given = getattr(args, option, None)
        words += [f"--{option}", str(given)] if given else []
    if speed != 1:
        words += ["--speed", f"{speed:g}"]
    words += ["--plain"] if args.plain else []
    return shlex.join(words)


def saved(run: Run, code: int) -> int:
    """Return `code` where all of a run that is over is written; else say so, and offer another folder."""
    if run.is_written:
        return code
    can_ask = run.driver.engine.session.left not in _GONE
    if not _saved(run, "the session is", "`holdtimer show --data {folder}` shows it", can_ask):
        return ExitCode.NOT_WRITTEN
    return code if code != ExitCode.NOT_WRITTEN else run.exit_code()


def answers_saved(book: AnswerBook, code: int) -> int:
    """Return `code` where all answers are written; else say so, and offer another folder."""
    advice = "your answers count once that file is in the folder of the session"
    return code if _saved(book, "your answers are", advice, code < _SIGNALLED) else ExitCode.NOT_WRITTEN


def _saved(unsaved: Run | AnswerBook, what: str, advice: str, can_ask: bool) -> bool:
    """Offer other folders until all of it is in one, and give `advice`; return whether all is written."""
    while not unsaved.is_written:
        print(f"not all of {what} saved: {unsaved.why_not_written}", file=sys.stderr)
        folder = _another_folder() if can_ask else None
        if folder is None:
            return False
        if unsaved.save_elsewhere(folder):
            print(f"all of it is in {unsaved.path}; {advice.format(folder=folder)}")
    return True


def _another_folder() -> Path | None:
    """Ask for a folder; None where nobody can be asked, or no folder was named."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    print("save it in another folder (Enter to skip): ", end="", file=sys.stderr, flush=True)
    try:
        named = sys.stdin.readline().strip()
    except KeyboardInterrupt:
        return None
    return Path(named).expanduser() if named else None
