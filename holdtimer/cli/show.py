"""`show`: one session after the workout."""

import json
import sys
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.places import data_folder, person_named
from holdtimer.log.past import read_past
from holdtimer.log.reading import find_session, last_session
from holdtimer.log.session_log import SessionLog
from holdtimer.progression.outlook import verdicts_after
from holdtimer.report.session_json import Verdicts, session_json
from holdtimer.report.session_text import session_lines
from holdtimer.report.verdict_text import by_set
from holdtimer.script.faults import ProgramFaults
from holdtimer.script.loading import loads
from holdtimer.script.models import Program
from holdtimer.session.past import PastSession


def show(args: Namespace) -> int:
    """Print one session, the last when none is named. Raises NoSuchSession."""
    data = data_folder(args)
    person = person_named(args, data)
    log = _wanted(args, data, person)
    past = read_past(data, person, rehearsals=True)
    session = next((each for each in past.sessions if log and each.session == log.session), None)
    program = _program(log)
    verdicts = _verdicts(session, past.sessions, program)
    for damage in log.damage if log is not None else ():
        print(f"warning: {damage}", file=sys.stderr)
    if args.json:
        print(json.dumps(session_json(session, verdicts), ensure_ascii=False, indent=2))
    elif session is None:
        print(f"no session of {person} yet")
    else:
        names = {key: exercise.name for key, exercise in program.exercises.items()} if program else {}
        for line in session_lines(session, names, verdicts):
            print(line)
    return exits.DONE


def _wanted(args: Namespace, data: Path, person: str) -> SessionLog | None:
    if args.session:
        return find_session(data, person, args.session)
    return last_session(data, person, rehearsals=True)


def _program(log: SessionLog | None) -> Program | None:
    """Return the program as it was when the session was done."""
    if log is None or log.opened is None:
        return None
    try:
        return loads(log.opened.program_text, log.session).program
    except ProgramFaults:
        return None


def _verdicts(session: PastSession | None, past: Iterable[PastSession], program: Program | None) -> Verdicts:
    if session is None or program is None:
        return {}
    return by_set(session, verdicts_after(session, past, program))
