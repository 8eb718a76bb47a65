"""The last words of a run, and where what could not be written goes instead.

First somewhere else by itself, then wherever the person says. Nothing is given up before that is meant.
"""

import os
import select
import shlex
import signal
import sys
import tempfile
import threading
from argparse import Namespace
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex
from shutil import rmtree
from typing import Any

from holdtimer.cli.paths import SAVED_ELSEWHERE, usable_program
from holdtimer.errors import ExitCode
from holdtimer.files import within
from holdtimer.live.answers import AnswerBook
from holdtimer.live.plain import say
from holdtimer.live.setup import RESUME_WITHIN_S, Run
from holdtimer.session.events import AnyEvent, Opened
from holdtimer.text import counted, is_control

NO_HISTORY = "the disk does not answer, so next time is not known"
LOSE_IT = "discard"  # what is typed to give up what is not saved

_GONE = frozenset({"terminated", "hang-up"})
_SIGNALLED = 128  # exit codes from here on are those of a run that a signal ended
_FOLDER_WAIT_S = 2.0  # the longest a disk is asked whether it is there
_LOOK_S = 0.2
_LONGEST_LINE = 4096
_ENDS_OF_INPUT = 3  # one may be a slip of the hand; after so many in a row nobody is there

Unsaved = Run | AnswerBook


def finish_run(run: Run, args: Namespace, code: int) -> int:
    """Return the exit code of a run: see that all of it is written, and say how to resume where it was left.

    Where it is not written, or only elsewhere, that alone is said.
    """
    if not run.is_written or run.writer.moved_because is not None:
        return saved(run, code)
    session = run.driver.engine.session
    if run.is_unbegun:
        say("nothing was recorded")
    elif session.left is not None:
        say(f"every stamp is saved; to go on within {RESUME_WITHIN_S // 60:.0f} minutes:")
        say(f"  {_command(args, session.opened)}")
    return code


def _command(args: Namespace, opened: Opened | None) -> str:
    """Return the command that resumes what this one began, or resumed though another program was named."""
    program, speed = args.program, 1.0
    if opened is not None:
        named, speed = usable_program(program), opened.speed
        program = program if named is not None and named.program.id == opened.program else opened.program
    words = ["holdtimer", "run", program, "--resume"]
    for option in ("person", "data"):
        given = getattr(args, option, None)
        words += [f"--{option}", str(given)] if given else []
    if speed != 1:
        words += ["--speed", f"{speed:g}"]
    words += ["--plain"] if args.plain else []
    return shlex.join(words)


def saved(run: Run, code: int) -> int:
    """Return `code` where all of a run that is over is written where it belongs or was put; else say so."""
    can_ask = run.left not in _GONE
    if not _saved(run, "the session is", can_ask=can_ask):
        return ExitCode.NOT_WRITTEN
    return code if code != ExitCode.NOT_WRITTEN else run.exit_code()


def answers_saved(book: AnswerBook, code: int) -> int:
    """Return `code` if all answers are written where they belong, or where the person chose; else say so."""
    is_saved = _saved(book, "your answers are", can_ask=code < _SIGNALLED)
    return code if is_saved else ExitCode.NOT_WRITTEN


def save_by_itself(unsaved: Unsaved) -> bool:
    """Write all of what is over into a new folder, at home or else among temporary files, if it is nowhere.

    Returns whether all of it is written. No disk is waited for longer than a few seconds.
    """
    failed: list[Path] = []
    for place in (_home, _temporary):
        if unsaved.is_written:
            break
        with suppress(OSError, RuntimeError):  # no such place, or its disk does not answer
            folder = within(_FOLDER_WAIT_S, place) / f"{SAVED_ELSEWHERE}-{token_hex(8)}"
            if not unsaved.save_elsewhere(folder):
                failed.append(folder)
    if unsaved.is_written and failed:  # a part of it is of no more use
        with suppress(OSError):
            within(_FOLDER_WAIT_S, lambda: rmtree(failed[0], ignore_errors=True))
    return unsaved.is_written


def _home() -> Path:
    return _there(Path.home())


def _temporary() -> Path:
    return _there(Path(tempfile.gettempdir()))


def _there(folder: Path) -> Path:
    if not folder.is_dir():
        raise NotADirectoryError(str(folder))
    return folder


def _saved(unsaved: Unsaved, what: str, *, can_ask: bool) -> bool:
    """Save what is over somewhere, and say where.

    Return whether all of it is written where it belongs, or where the person said: what went elsewhere by
    itself counts nowhere yet.
    """
    writer, is_chosen = unsaved.writer, False
    if writer is None or (unsaved.is_written and writer.moved_because is None):
        return True
    with _undisturbed() as ends:
        if writer.moved_because is None:
            save_by_itself(unsaved)
        _say(f"not all of {what} saved: {writer.moved_because or writer.why_not_saved}")
        _forget_typed()
        while not unsaved.is_written:
            _say(f"not saved: {_named(writer.unsaved)}")
            folder = _another_folder(ends) if can_ask else None
            if folder is None:
                _say(f"what could be saved is in {writer.path}" if writer.path else "nothing of it was saved")
                return False
            is_chosen = True
            if not unsaved.save_elsewhere(folder):
                _say(f"not all of it could be saved in {folder}: {writer.why_not_saved}")
        _say(f"all of it is in {writer.path}")
        _say("it counts once that file is in the folder of your log: move it there when that works again")
    return is_chosen


@contextmanager
def _undisturbed() -> Iterator[list[int]]:
    """Let Ctrl+C break nothing off inside; yield the signals to end that came meanwhile."""
    ends: list[int] = []
    before: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        before[signal.SIGINT] = signal.signal(signal.SIGINT, lambda *_: _say_at_once("nothing is lost yet"))
        for name in ("SIGTERM", "SIGHUP"):
            if number := getattr(signal, name, None):
                before[number] = signal.signal(number, lambda number, _: ends.append(number))
    try:
        yield ends
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _named(events: list[AnyEvent]) -> str:
    """Return what some events are, in words and numbers."""
    kinds = Counter(each.ev for each in events)
    stamps = kinds["failure"] + kinds["re-entry"] + kinds["late-tap"]
    parts = ((stamps, "stamp"), (kinds["answer"], "answer"))
    among = ", ".join(counted(number, one) for number, one in parts if number)
    lines = counted(len(events), "line of the log", "lines of the log")
    return f"{among} among {lines}" if among else lines


# ---- the person is asked


def _another_folder(ends: Sequence[int]) -> Path | None:
    """Ask for a folder until one is named; None where nobody can be asked, or losing it is meant."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    empty = 0
    while empty < _ENDS_OF_INPUT:
        _say(f"Save it in another folder: type its path. To lose it for good, type {LOSE_IT}.")
        print("another folder: ", end="", file=sys.stderr, flush=True)
        typed = _line_typed(ends)
        if typed is None:
            return None
        empty = 0 if typed else empty + 1
        try:
            named = typed.decode().strip()
            if named.casefold() == LOSE_IT:
                return None
            if (folder := _folder(named)) is not None:
                return folder
        except UnicodeDecodeError:
            _say("That cannot be read: it is not UTF-8.")
        except RuntimeError:  # of `expanduser`
            _say("There is no user of that name here: begin with / or with ~/")
    return None


def _line_typed(ends: Sequence[int]) -> bytes | None:
    """Return the next line, nothing at an end of input; None where the terminal is gone or all is to end."""
    try:
        while os.name == "posix" and not select.select([sys.stdin], [], [], _LOOK_S)[0]:
            if ends:
                return None
        return os.read(sys.stdin.fileno(), _LONGEST_LINE)
    except OSError:
        return None


def _folder(named: str) -> Path | None:
    """Return the folder that is meant; None where a word was typed that is none. Raises RuntimeError."""
    if not named:
        _say("Nothing was typed.")
        return None
    if any(map(is_control, named)):  # no such folder could be named to anybody
        _say("That holds a control character, which no path may have here.")
        return None
    if not named.startswith(("~", ".")) and not any(each in named for each in (os.sep, os.altsep) if each):
        _say(f"{named} is not a path: begin with / or with ~/")
        return None
    return Path(named).expanduser().absolute()


def _forget_typed() -> None:
    """Throw away what was typed before the question."""
    with suppress(ImportError, OSError, ValueError):
        import termios

        with suppress(termios.error):
            termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)


def _say(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def _say_at_once(line: str) -> None:
    """Say a line from within whatever is going on, a line that is just being written included."""
    with suppress(OSError, ValueError):
        os.write(sys.stderr.fileno(), f"\n{line}\n".encode())
