"""`show`: one session after the workout."""

from argparse import Namespace
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.places import data_folder, person_named
from holdtimer.cli.printing import print_json, print_lines, print_warnings
from holdtimer.cli.told import told
from holdtimer.log.reading import find_session, last_session
from holdtimer.log.session_log import SessionLog
from holdtimer.report.session_json import session_json


def show(args: Namespace) -> int:
    """Print one session, the last when none is named. Raises NoSuchSession."""
    data = data_folder(args)
    person = person_named(args, data)
    log = _wanted(args, data, person)
    found = told(data, person, log) if log is not None else None
    print_warnings(log.damage if log is not None else ())
    if args.json:
        document = session_json(found.session, found.verdicts) if found else session_json(None)
        print_json(document)
    elif found is None:
        print_lines([f"no session of {person} yet"])
    else:
        print_lines(found.lines())
    return exits.DONE


def _wanted(args: Namespace, data: Path, person: str) -> SessionLog | None:
    if args.session:
        return find_session(data, person, args.session)
    return last_session(data, person, rehearsals=True)
