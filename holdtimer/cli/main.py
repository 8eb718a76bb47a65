"""The way in: find the command, run it, and turn what goes wrong into words and an exit code."""

import os
import sys
from argparse import Namespace
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper

from holdtimer.cli import exits
from holdtimer.cli.parser import build_parser
from holdtimer.text import sanitize

_MODULES = {None: "today", "schema": "check", "import": "importing", "export": "exporting"}
_FUNCTIONS = {None: "today", "import": "import_csv"}  # `import` is a word of the language


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
        return exits.INTERRUPTED
    except BrokenPipeError:
        # whoever read the output is gone; nothing more may be written to it at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return exits.DONE
    except Exception as error:
        return _said(error)


def _run(args: Namespace) -> int:
    name = _MODULES.get(args.command, args.command)
    command = import_module(f"holdtimer.cli.{name}")
    code = int(getattr(command, _FUNCTIONS.get(args.command, args.command))(args))
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except BrokenPipeError:
            raise
        except OSError:  # the terminal is gone: what it was still to be told does not change the exit code
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return code


def _said(error: Exception) -> int:
    """Say on stderr what went wrong; the exit code is the error's own where it is a known one."""
    code, text = _known(error)
    print("\n".join(map(sanitize, text.splitlines())), file=sys.stderr)
    if code == exits.FAULT and os.environ.get("HOLDTIMER_TRACEBACK"):
        import traceback  # 20 ms that no other start is to pay

        traceback.print_exception(error)
    return code


def _known(error: Exception) -> tuple[int, str]:
    kinds = {kind.__name__: kind for kind in type(error).__mro__}
    if "LogHeldError" in kinds:
        return exits.HELD, str(error)
    if "NotWrittenError" in kinds:
        return exits.NOT_WRITTEN, str(error)
    for name in _BAD_INPUT:
        if name in kinds:
            return exits.BAD_INPUT, str(error.args[0] if name == "UnknownScriptError" else error)
    return exits.FAULT, f"a mistake in holdtimer: {type(error).__name__}: {error}"


# told by name, so that no command loads rooms it does not use
_BAD_INPUT = (
    "ProgramError",
    "UnknownScriptError",
    "NoSuchSessionError",
    "SeveralPeopleError",
    "SoundError",
    "TooLateToResumeError",
    "BadInputError",
    "BrokenSessionError",
)
