"""`check` and `schema`: program files."""

import sys
from argparse import Namespace

from holdtimer.cli.output import print_lines
from holdtimer.errors import ExitCode
from holdtimer.program.describing import describe, warnings
from holdtimer.program.loading import find, load
from holdtimer.program.models import schema_text
from holdtimer.text import sanitize


def check(args: Namespace) -> int:
    """Print the timeline of a program; ProgramError with every fault where it has any."""
    loaded = load(find(args.program))
    print_lines(describe(loaded.program))
    for warning in warnings(loaded):
        print(sanitize(warning), file=sys.stderr)
    return ExitCode.DONE


def schema(_: Namespace) -> int:
    """Print the JSON Schema of program files."""
    print(schema_text(), end="")
    return ExitCode.DONE
