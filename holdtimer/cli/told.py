"""Sessions of the log as they are told."""

from collections.abc import Iterable
from pathlib import Path

from holdtimer.log.past import read_past
from holdtimer.log.reading import read_person
from holdtimer.log.session_log import SessionLog
from holdtimer.report.told import Told, program_of, tell, tell_each
from holdtimer.session.events import NAMES
from holdtimer.session.past import PastSession


def told(data: Path, person: str, log: SessionLog) -> Told | None:
    """Return what is told of a session, corrections in force; None where its log tells nothing."""
    past = read_past(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None or log.opened is None:
        return None
    return tell(session, past, program_of(log.opened.program_text, log.session))


def told_each(data: Path, person: str, past: Iterable[PastSession]) -> list[Told]:
    """Return what is told of each of a person's `past` sessions."""
    logs = read_person(data, person, rehearsals=True, skip=NAMES - {"opened"})
    texts = {log.session: log.opened.program_text for log in logs if log.opened is not None}
    return list(tell_each(past, texts))
