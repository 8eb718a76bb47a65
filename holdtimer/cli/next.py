"""`next`: what is due, from when, at which rungs, and why."""

import json
import sys
from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.moments import moment
from holdtimer.cli.places import data_folder, person_named
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
    for damage in past.damage:
        print(f"warning: {damage}", file=sys.stderr)
    coming = due(program, past.sessions, now)
    if args.json:
        print(json.dumps(due_to_json(coming), ensure_ascii=False, indent=2))
    else:
        for line in due_lines(coming, program):
            print(line)
    return exits.DONE
