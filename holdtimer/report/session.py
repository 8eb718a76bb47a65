"""One session with its verdicts, as lines of text and as the JSON document of `show --json`."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from holdtimer.errors import ProgramError
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import read_person
from holdtimer.log.session_log import SessionLog
from holdtimer.program.compiling import seconds_of
from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.forecast import verdicts_after, verdicts_in
from holdtimer.progression.history import History, read_history
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.text import Titles, Verdicts, session_lines
from holdtimer.session.events import NAMES, Opened
from holdtimer.session.results import SetResult, Tempo
from holdtimer.session.summary import SessionSummary

_NOT_IN_JSON = (
    "kind",
    "final_s",
    "push_s",
    "reentry",
    "estimated_s",
    "left_open",
    "has_gaps",
    "perhaps_slip",
    "reentries",
)


@dataclass(frozen=True, slots=True)
class SessionReport:
    """A session with the verdicts after it, by set number; titles and tempos are those of its own program."""

    session: SessionSummary
    titles: Titles
    verdicts: Verdicts = field(default_factory=dict)
    tempos: dict[str, Tempo] = field(default_factory=dict)

    def lines(self) -> Iterator[str]:
        """Yield it as lines of text."""
        return session_lines(self.session, self.titles, self.verdicts, self.tempos)

    def to_json(self) -> dict[str, Any]:
        """Return the document of format 1."""
        past = self.session
        return {
            "format": 1,
            "session": past.session,
            "program": past.program,
            "script": past.script,
            "person": past.person,
            "started": _iso(past.started),
            "ended": _iso(past.ended),
            "complete": past.complete,
            "rehearsal": past.rehearsal,
            "off_day": past.off_day,
            "sets": [_set_to_json(result, self.verdicts.get(result.set)) for result in past.results],
        }


NO_SESSION_JSON: dict[str, Any] = {"format": 1, "session": None, "sets": []}


def _iso(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="milliseconds")


def _set_to_json(result: SetResult, verdict: Verdict | None) -> dict[str, Any]:
    fields = {name: value for name, value in asdict(result).items() if name not in _NOT_IN_JSON}
    if verdict is None:
        return fields | {"verdict": None, "verdict_because": None}
    return fields | {"verdict": verdict.word, "verdict_because": verdict.because}


def session_report(data: Path, person: str, log: SessionLog) -> SessionReport | None:
    """Return the report of one session, corrections in force; None where its log holds too little."""
    past = read_summaries(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None or log.opened is None:
        return None
    return report_on(session, past, program_of(log.opened.program_text, log.session))


def session_reports(data: Path, person: str, past: Iterable[SessionSummary]) -> Iterator[SessionReport]:
    """Yield the report of each of a person's `past` sessions.

    Each program and its history are read once, however long the log is.
    """
    past = tuple(past)
    logs = read_person(data, person, rehearsals=True, skip=NAMES - {"opened"})
    texts = {log.session: log.opened.program_text for log in logs if log.opened is not None}
    read: dict[str, tuple[Program, History] | None] = {}
    for session in past:
        text = texts.get(session.session, "")
        if text not in read:
            program = program_of(text, session.session)
            read[text] = (program, read_history(program, past)) if program else None
        known = read[text]
        if known is None:
            yield report_on(session, past, None)
        else:
            program, history = known
            yield _report(session, verdicts_in(history, session, program), program)


def report_on(
    session: SessionSummary, past: Iterable[SessionSummary] | None, program: Program | None
) -> SessionReport:
    """Return the report of a session among the `past` ones, without verdicts where those are not known.

    `program` is as it was, None where it is lost.
    """
    if program is None:
        return SessionReport(session, Titles(session.program, f"script {session.script}"))
    return _report(session, {} if past is None else verdicts_after(session, past, program), program)


def _report(session: SessionSummary, verdicts: Mapping[SetKey, Verdict], program: Program) -> SessionReport:
    """Return the report, each verdict at the set it rests on: the first one of an exercise and side."""
    by_set: Verdicts = {}
    left = dict(verdicts)
    for result in session.results:
        verdict = left.pop((result.exercise, result.side), None)
        if verdict is not None:
            by_set[result.set] = verdict
    tempos = {key: seconds_of(exercise.tempo) for key, exercise in program.exercises.items()}
    titles = Titles.of(program, session.script)
    return SessionReport(session, titles, by_set, {key: tempo for key, tempo in tempos.items() if tempo})


def titles_of(opened: Opened) -> Titles:
    """Return the titles of a session by the program it was opened with, else its ids."""
    program = program_of(opened.program_text, opened.session)
    if program is None:
        return Titles(opened.program, f"script {opened.script}")
    return Titles.of(program, opened.script)


def program_of(text: str, session: str) -> Program | None:
    """Return the program a log was opened with; None where its text can't be read any more."""
    try:
        return loads(text, session).program
    except ProgramError:
        return None
