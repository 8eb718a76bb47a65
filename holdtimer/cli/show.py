"""Sessions of the log as they are told."""

from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.output import print_json, print_lines, print_warnings
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import SessionLog, find_session, last_session, read_person
from holdtimer.report.json import session_json
from holdtimer.report.session import Told, program_of, tell, tell_each
from holdtimer.session.events import NAMES
from holdtimer.session.summary import SessionSummary


def told(data: Path, person: str, log: SessionLog) -> Told | None:
    """Return what is told of a session, corrections in force; None where its log tells nothing."""
    past = read_summaries(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None or log.opened is None:
        return None
    return tell(session, past, program_of(log.opened.program_text, log.session))


def told_each(data: Path, person: str, past: Iterable[SessionSummary]) -> list[Told]:
    """Return what is told of each of a person's `past` sessions."""
    logs = read_person(data, person, rehearsals=True, skip=NAMES - {"opened"})
    texts = {log.session: log.opened.program_text for log in logs if log.opened is not None}
    return list(tell_each(past, texts))


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
