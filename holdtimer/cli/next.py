"""`next`: what is due, from when, at which rungs, and why."""

from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.moments import moment
from holdtimer.cli.places import data_folder, person_named
from holdtimer.cli.printing import print_json, print_lines, print_warnings
from holdtimer.log.past import read_past
from holdtimer.progression.due import due, due_to_json
from holdtimer.report.due_text import due_lines
from holdtimer.script.loading import find, load


def next(args: Namespace) -> int:  # noqa: A001 - the command's own name
    """Print what is due. Raises BadInput for a time that is none."""
    program = load(find(args.program)).program
    data = data_folder(args)
    now = moment(args.at)
    past = read_past(data, person_named(args, data), until=now)
    print_warnings(past.damage)
    coming = due(program, past.sessions, now)
    if args.json:
        print_json(due_to_json(coming))
    else:
        print_lines(due_lines(coming, program))
    return exits.DONE
