"""All past sessions of a person, each with the answers that were given to it later."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from pathlib import Path

from holdtimer.log.cache import Entry, Mark, entries_of, keep_digest, mark_of, read_digest
from holdtimer.log.folder import id_in, person_folder, started_at
from holdtimer.log.lines import Damage
from holdtimer.log.reader import SessionLog, logs_of, merge, no_garbage_collection, read_files, read_session
from holdtimer.session.events import Answer
from holdtimer.session.fold import fold
from holdtimer.session.summary import SessionSummary, summarize

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

Files = Mapping[Mark, Path]


@dataclass(frozen=True, slots=True)
class Past:
    """The sessions of a person, oldest first, and what in their files could not be used."""

    sessions: tuple[SessionSummary, ...]
    damage: tuple[Damage, ...]


def read_past(data: Path, person: str, *, rehearsals: bool = False, until: datetime | None = None) -> Past:
    """Return all that is known of a person's sessions, on paper or led; corrections are in force.

    What was led or said after `until` (aware) is ignored. A session of which the digest tells is not read
    again, and the digest is brought up to date.
    """
    with no_garbage_collection():
        folder = person_folder(data, person)
        files = {mark_of(path, folder): path for path in logs_of(data, person, rehearsals=rehearsals)}
        digest = read_digest(data, person)
        told = {name: each for name, each in digest.items() if _holds(each, files, until)}
        logs = read_files(_besides(told, files), person, _NOT_NEEDED)
        if news := _told_anew(told, logs, files):  # by a new answer, or another copy of one of its files
            told = {name: each for name, each in told.items() if name not in news}
            logs = read_files(_besides(told, files), person, _NOT_NEEDED)
        known = [_in_full(log) for log in logs if until is None or _began_by(log, until)]
        sessions = _added_up([log for log in known if rehearsals or not log.rehearsal])
        if len(known) == len(logs):
            keep_digest(data, person, digest, told | entries_of(known, sessions, files))
    sessions |= {name: each.past for name, each in told.items()}
    damage = tuple(fault for log in known for fault in log.damage)
    return Past(tuple(sessions[name] for name in sorted(sessions)), damage)


class Earlier:
    """What a person's sessions told before later answers to them; the logs are read when first asked for."""

    def __init__(self, data: Path, person: str):
        self._data, self._person = data, person

    def __call__(self, session: str) -> Iterator[SessionSummary]:
        """Yield what a session added up to at first, and after each answer but the last."""
        logs, answers = self._logs
        folded, said = fold(_in_full(logs[session]).events), answers.get(session, ())
        for given in range(len(said)):
            if past := summarize(folded, said[:given]):
                yield past

    @cached_property
    def _logs(self) -> tuple[dict[str, SessionLog], dict[str, tuple[Answer, ...]]]:
        logs = read_files(logs_of(self._data, self._person), self._person, _NOT_NEEDED)
        return {log.session: log for log in logs}, answers_in(logs)


def _holds(entry: Entry, files: Files, until: datetime | None) -> bool:
    """Whether all that an entry rests on lies there unchanged, and was led or said by then."""
    if not all(mark in files for mark in entry.marks):
        return False
    dated = entry.answers if entry.past.on_paper else entry.marks
    return until is None or all(_is_by(files[mark].name, until) for mark in dated)


def _besides(told: Mapping[str, Entry], files: Files) -> list[Path]:
    """Return the files that still have to be read."""
    rested_on = {mark for entry in told.values() for mark in entry.marks}
    return [path for mark, path in files.items() if mark not in rested_on]


def _told_anew(told: Mapping[str, Entry], logs: Sequence[SessionLog], files: Files) -> set[str]:
    """Return the sessions that go on in logs read besides, they themselves or the answers to them."""
    spoken_of = {log.session for log in logs} | answers_in(logs).keys()
    names = {name: {name, *(id_in(files[mark].name) for mark in each.marks)} for name, each in told.items()}
    return {name for name, all_its in names.items() if all_its & spoken_of}


def _added_up(logs: Sequence[SessionLog]) -> dict[str, SessionSummary]:
    """Return what the sessions among the logs add up to, with the answers among them."""
    answers = answers_in(logs)
    found = {
        log.session: summarize(fold(log.events), answers.get(log.session, ()))
        for log in logs
        if log.opened is not None and log.opened.kind != "answers"
    }
    return {name: session for name, session in found.items() if session is not None}


def _in_full(log: SessionLog) -> SessionLog:
    """Return a session that was never closed with all its lines: how long it ran is told by each of them."""
    if log.closed or log.opened is None or log.opened.kind != "session":
        return log
    return merge([read_session(path) for path in log.files])


def _began_by(log: SessionLog, until: datetime) -> bool:
    """Whether a log was begun by then; results on paper tell their own times."""
    return (log.opened is not None and log.opened.kind == "paper") or _is_by(log.session, until)


def _is_by(name: str, until: datetime) -> bool:
    """Whether the start that a session id tells, or a file name that begins with one, is by then."""
    started = started_at(name)
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
