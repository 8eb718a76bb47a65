"""The command line: find the command, run it, and turn errors into messages and exit codes.

The module of a command is loaded only when it is asked for.
"""

import os
import sys
from argparse import Namespace
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper

from holdtimer.cli.parser import build_parser
from holdtimer.errors import ExitCode, HoldtimerError
from holdtimer.text import sanitize

_PLACES = {  # module and function of each command; the others are called as their module
    None: ("run", "today"),
    "schema": ("check", "schema"),
    "show": ("reports", "show"),
    "next": ("reports", "next"),
    "trend": ("reports", "trend"),
    "import": ("exchange", "import_csv"),
    "export": ("exchange", "export"),
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a letter the terminal has not is no fault
    # no other package's code is to run in this one, nor to be searched for at every start
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    args = build_parser().parse_args(argv)
    try:
        return _run(args)
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    except BrokenPipeError:
        # whoever read the output is gone; nothing more may be written to it at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return ExitCode.DONE
    except HoldtimerError as error:
        _print_error(str(error))
        return error.exit_code
    except Exception as error:
        _print_error(f"internal error in holdtimer: {type(error).__name__}: {error}")
        if os.environ.get("HOLDTIMER_TRACEBACK"):
            import traceback  # 20 ms that no other start is to pay

            traceback.print_exception(error)
        return ExitCode.INTERNAL_ERROR


def _run(args: Namespace) -> int:
    module, function = _PLACES.get(args.command, (args.command, args.command))
    code = int(getattr(import_module(f"holdtimer.cli.{module}"), function)(args))
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except BrokenPipeError:
            raise
        except OSError:  # the terminal is gone: what it was still to show does not change the exit code
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return code


def _print_error(text: str) -> None:
    print("\n".join(map(sanitize, text.splitlines())), file=sys.stderr)
