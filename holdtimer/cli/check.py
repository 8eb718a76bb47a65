"""`check` and `schema`: program files."""

import sys
from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.printing import print_lines
from holdtimer.script.describing import describe, warnings
from holdtimer.script.loading import find, load
from holdtimer.script.schema import schema_text
from holdtimer.script.text import shown


def check(args: Namespace) -> int:
    """Print the timeline of a program; ProgramFaults with every fault where it has any."""
    loaded = load(find(args.program))
    print_lines(describe(loaded.program))
    for warning in warnings(loaded):
        print(shown(warning), file=sys.stderr)
    return exits.DONE


def schema(_: Namespace) -> int:
    """Print the JSON Schema of program files."""
    print(schema_text(), end="")
    return exits.DONE
