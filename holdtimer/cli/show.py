"""`show`: one session after the workout."""

import json
import sys
from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.places import data_folder, person_named
from holdtimer.log.reading import find_session, last_session
from holdtimer.log.session_log import SessionLog
from holdtimer.report.session_json import session_json
from holdtimer.report.session_text import session_lines
from holdtimer.script.faults import ProgramFaults
from holdtimer.script.loading import loads
from holdtimer.session.fold import fold
from holdtimer.session.past import past_session


def show(args: Namespace) -> int:
    """Print one session, the last when none is named. Raises NoSuchSession."""
    data = data_folder(args)
    person = person_named(args, data)
    log = (
        find_session(data, person, args.session)
        if args.session
        else last_session(data, person, rehearsals=True)
    )
    past = past_session(fold(log.events)) if log is not None else None
    for damage in log.damage if log is not None else ():
        print(f"warning: {damage}", file=sys.stderr)
    if args.json:
        print(json.dumps(session_json(past), ensure_ascii=False, indent=2))
    elif log is None or past is None:
        print(f"no session of {person} yet")
    else:
        for line in session_lines(past, _names(log)):
            print(line)
    return exits.DONE


def _names(log: SessionLog) -> dict[str, str]:
    """Return the names of the exercises as they were when the session was done."""
    if log.opened is None:
        return {}
    try:
        program = loads(log.opened.program_text, log.session).program
    except ProgramFaults:
        return {}
    return {key: exercise.name for key, exercise in program.exercises.items()}
