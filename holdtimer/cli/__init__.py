"""The command line: find the command, run it, and turn errors into messages and exit codes.

The module of a command is loaded only when it is asked for.
"""

import errno
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from holdtimer.cli.output import OutputLostError, harmless_streams
from holdtimer.cli.parser import build_parser
from holdtimer.errors import ExitCode, HoldtimerError
from holdtimer.text import sanitize

_PLACES = {  # module and function of each command; the others are called as their module
    None: ("run", "today"),
    "schema": ("check", "schema"),
    "keys": ("settings", "keys"),
    "sounds": ("settings", "sounds"),
    "config": ("settings", "config"),
    "show": ("reports", "show"),
    "review": ("reports", "review"),
    "log": ("reports", "log"),
    "next": ("reports", "show_next"),
    "trend": ("reports", "trend"),
    "import": ("exchange", "import_csv"),
    "export": ("exchange", "export"),
}


_NOBODY_READS = (errno.EPIPE, errno.EIO)
_SESSIONS = (None, "run")  # their exit code is that of the session, even if nobody reads what they print


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    # no other package's code is to run in this one, nor to be searched for at every start
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    is_heard = sys.stdout is not None
    with harmless_streams():
        try:
            return _flushed(_code_of(argv) if is_heard else _refused())
        except SystemExit as end:  # --help, or no such option
            code = end.code if isinstance(end.code, int) else ExitCode.BAD_INPUT
            raise SystemExit(_flushed(code)) from None


def _refused() -> int:
    _print_error("standard output is closed: nothing can be shown, so nothing was done")
    return ExitCode.BAD_INPUT


def _code_of(argv: Sequence[str] | None) -> int:
    """Run one command; turn errors into words and an exit code."""
    try:
        args = build_parser().parse_args(argv)
        module, function = _PLACES.get(args.command, (args.command, args.command))
        code = int(getattr(import_module(f"holdtimer.cli.{module}"), function)(args))
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    except OutputLostError as error:
        return _lost(error, ExitCode.DONE)
    except HoldtimerError as error:
        _print_error(str(error))
        return error.exit_code
    except Exception as error:
        _print_error(f"internal error in holdtimer: {type(error).__name__}: {error}")
        if os.environ.get("HOLDTIMER_TRACEBACK"):
            import traceback  # 20 ms that no other start is to pay

            traceback.print_exception(error)
        return ExitCode.INTERNAL_ERROR
    return code if args.command not in _SESSIONS else _flushed(code, is_session=True)


def _flushed(code: int, *, is_session: bool = False) -> int:
    """Return the exit code once all that was printed is out, another one where it is lost."""
    try:
        sys.stdout.flush()
    except OutputLostError as error:
        return _lost(error, code, is_session=is_session)
    return code


def _lost(error: OutputLostError, code: int, *, is_session: bool = False) -> int:
    """Return the exit code where output is lost; no fault where nobody reads on, or the terminal is gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # at exit the rest is written once more
    if is_session or error.errno in _NOBODY_READS:
        return code
    _print_error(f"not all of the answer could be written to standard output: {error.strerror}")
    return code or ExitCode.BAD_INPUT


def _print_error(text: str) -> None:
    print("\n".join(map(sanitize, text.splitlines())), file=sys.stderr)
