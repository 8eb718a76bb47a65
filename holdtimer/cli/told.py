"""One session with all that is told of it: its results, the verdicts after it, and its exercises' names."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from holdtimer.log.past import read_past
from holdtimer.log.session_log import SessionLog
from holdtimer.progression.outlook import verdicts_after
from holdtimer.report.session_json import Verdicts
from holdtimer.report.session_text import session_lines
from holdtimer.report.verdict_text import by_set
from holdtimer.script.faults import ProgramFaults
from holdtimer.script.loading import loads
from holdtimer.script.models import Program
from holdtimer.session.past import PastSession


@dataclass(frozen=True, slots=True)
class Told:
    """A session as it is told; the names are those of its own program."""

    session: PastSession
    verdicts: Verdicts
    names: dict[str, str]

    def lines(self) -> Iterator[str]:
        """Yield it in words."""
        return session_lines(self.session, self.names, self.verdicts)


def told(data: Path, person: str, log: SessionLog) -> Told | None:
    """Return what is told of a session, corrections in force; None where its log tells nothing."""
    past = read_past(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None:
        return None
    program = _program(log)
    if program is None:
        return Told(session, {}, {})
    names = {key: exercise.name for key, exercise in program.exercises.items()}
    return Told(session, by_set(session, verdicts_after(session, past, program)), names)


def _program(log: SessionLog) -> Program | None:
    """Return the program as it was when the session was done."""
    if log.opened is None:
        return None
    try:
        return loads(log.opened.program_text, log.session).program
    except ProgramFaults:
        return None
