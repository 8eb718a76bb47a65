"""A session of the log as it is told."""

from pathlib import Path

from holdtimer.log.past import read_past
from holdtimer.log.session_log import SessionLog
from holdtimer.report.told import Told, program_of, tell


def told(data: Path, person: str, log: SessionLog) -> Told | None:
    """Return what is told of a session, corrections in force; None where its log tells nothing."""
    past = read_past(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None or log.opened is None:
        return None
    return tell(session, past, program_of(log.opened.program_text, log.session))
