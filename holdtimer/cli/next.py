"""`next`: what is due, from when, at which rungs, and why."""

from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.output import print_json, print_lines, print_warnings
from holdtimer.cli.parser import moment
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.log.history import read_past
from holdtimer.program.loading import find, load
from holdtimer.progression.due import due, due_to_json
from holdtimer.report.text import due_lines


def next(args: Namespace) -> int:  # noqa: A001 - the command's own name
    """Print what is due. Raises BadInput for a time that is none."""
    program = load(find(args.program)).program
    data = data_folder(args)
    now = moment(args.at)
    past = read_past(data, person_named(args, data), rehearsals=True, until=now)
    print_warnings(past.damage)
    coming = due(program, past.sessions, now)
    if args.json:
        print_json(due_to_json(coming))
    else:
        print_lines(due_lines(coming, program))
    return exits.DONE
