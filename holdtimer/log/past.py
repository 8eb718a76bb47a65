"""All past sessions of a person, each with the answers that were given to it later."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.log.folder import started_at
from holdtimer.log.lines import Damage
from holdtimer.log.reading import no_garbage_collection, read_person
from holdtimer.log.session_log import SessionLog, merge, read_session
from holdtimer.session.events import Answer
from holdtimer.session.fold import fold
from holdtimer.session.past import PastSession, past_session

# what no result rests on is not even parsed: a long history is read at every start
_NOT_NEEDED = frozenset(
    {
        "band",
        "count-in",
        "dropped",
        "easy",
        "final-stretch",
        "gap",
        "log-trouble",
        "not-ready",
        "ready",
        "rest",
        "rung-chosen",
        "silent",
    }
)


@dataclass(frozen=True, slots=True)
class Past:
    """The sessions of a person, oldest first, and what in their files could not be used."""

    sessions: tuple[PastSession, ...]
    damage: tuple[Damage, ...]


def read_past(data: Path, person: str, *, rehearsals: bool = False, until: datetime | None = None) -> Past:
    """Return all that is known of a person's sessions, on paper or led; corrections are in force.

    What was led or said after `until` (aware) is ignored.
    """
    with no_garbage_collection():
        logs = read_person(data, person, rehearsals=rehearsals, skip=_NOT_NEEDED)
        logs = [_in_full(log) for log in logs if until is None or _began_by(log, until)]
        answers = answers_in(logs)
        sessions = [
            past_session(fold(log.events), answers.get(log.session, ()))
            for log in logs
            if log.opened is not None and log.opened.kind != "answers"
        ]
    damage = tuple(fault for log in logs for fault in log.damage)
    return Past(tuple(session for session in sessions if session is not None), damage)


def _in_full(log: SessionLog) -> SessionLog:
    """Return a session that was never closed with all its lines: how long it ran is told by each of them."""
    if log.closed or log.opened is None or log.opened.kind != "session":
        return log
    return merge([read_session(path) for path in log.files])


def _began_by(log: SessionLog, until: datetime) -> bool:
    """Whether a file was begun by then; results on paper tell their own times."""
    if log.opened is not None and log.opened.kind == "paper":
        return True
    started = started_at(log.session)
    return started is None or started <= until.astimezone(UTC)


def answers_in(logs: Iterable[SessionLog]) -> dict[str, tuple[Answer, ...]]:
    """Return the later answers by the session they speak of, in the order they were given."""
    found: dict[str, list[Answer]] = {}
    for log in logs:
        if log.opened is not None and log.opened.kind == "answers":
            for event in log.events:
                if isinstance(event, Answer):
                    found.setdefault(event.session or log.opened.about or "", []).append(event)
    return {session: tuple(answers) for session, answers in found.items()}
