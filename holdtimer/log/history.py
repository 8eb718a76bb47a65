"""All sessions of a person so far, each with the answers given to it later.

What closed sessions added up to is cached beside the person's folder, so that years of them need not be
read at every start. An entry of the cache is used only while all its files are unchanged.
"""

import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from holdtimer import __version__
from holdtimer.files import read_bounded, write_whole
from holdtimer.log.folder import id_in, person_folder, started_at
from holdtimer.log.lines import Damage, no_garbage_collection
from holdtimer.log.reader import log_files, read_files
from holdtimer.log.session_log import SessionLog, merge, read_session
from holdtimer.session.events import Answer
from holdtimer.session.summary import SessionSummary, summarize

CACHED_FROM = 100  # sessions; fewer are read as fast without a cache
MAX_EARLIER = 200  # states of one session that are looked at: each is worked out again
MAX_CACHE_BYTES = 200 * 1024 * 1024  # a session takes about 5 kB

_ROOMS = ("program", "session", "log")  # whose code decides what a session adds up to
# what no result depends on is not even parsed: a long history is read at every start
_NOT_NEEDED = frozenset({
    "asked", "band", "count-in", "dropped", "easy", "final-stretch", "gap", "log-trouble", "not-ready",
    "ready", "rest", "rung-chosen", "silent",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Summaries:
    """The sessions of a person, oldest first, and what in their files could not be used."""

    sessions: tuple[SessionSummary, ...]
    damage: tuple[Damage, ...]


def read_summaries(
    data: Path, person: str, *, rehearsals: bool = False, until: datetime | None = None
) -> Summaries:
    """Return what all sessions of a person add up to, run or on paper; corrections are in force.

    What began or was answered after `until` (aware) is ignored. With none everything counts, also what lies
    ahead of a clock that was set back. The cache is read and brought up to date.
    """
    with no_garbage_collection():
        folder = person_folder(data, person)
        files = {_file_state(path, folder): path for path in log_files(folder, rehearsals=rehearsals)}
        stored = _read_cache(data, person)
        cached = {name: each for name, each in stored.items() if _is_current(each, files, until)}
        logs = read_files(_uncached(cached, files), person, _NOT_NEEDED)
        if stale := _continued_in(logs, cached, files):
            cached = {name: each for name, each in cached.items() if name not in stale}
            logs = read_files(_uncached(cached, files), person, _NOT_NEEDED)
        known = [_with_all_lines(log) for log in logs if until is None or _began_by(log, until)]
        sessions = _summarize_logs([log for log in known if rehearsals or not log.rehearsal])
        if len(known) == len(logs):
            _write_cache(data, person, stored, cached | _cacheable(known, sessions, files))
    sessions |= {name: each.summary for name, each in cached.items()}
    if until is not None:
        sessions = {name: each for name, each in sessions.items() if _started_by(each, until)}
    damage = tuple(fault for log in known for fault in log.damage)
    return Summaries(tuple(sessions[name] for name in sorted(sessions)), damage)


def earlier_summaries(data: Path, person: str) -> Callable[[str], Iterator[SessionSummary]]:
    """Return a function that yields what a session added up to before each later answer to it.

    It begins with the session as it was closed. The logs are read when it is first called.
    """

    @cache
    def logs_and_answers() -> tuple[dict[str, SessionLog], dict[str, tuple[Answer, ...]]]:
        logs = read_files(log_files(person_folder(data, person)), person, _NOT_NEEDED)
        return {log.session: log for log in logs}, answers_by_session(logs)

    def earlier(session: str) -> Iterator[SessionSummary]:
        logs, answers = logs_and_answers()
        log, given = _with_all_lines(logs[session]), answers.get(session, ())
        for count in range(min(len(given), MAX_EARLIER)):
            if summary := _summary(log, given[:count]):
                yield summary

    return earlier


def count_files(data: Path, person: str) -> int:
    """Return how many files of sessions, rehearsals, answers and paper a person's log has, each once.

    The number only ever grows, since no file is changed or deleted.
    """
    files = log_files(person_folder(data, person), rehearsals=True)
    return len({id_in(path.name) or path.name for path in files})


def read_answered(data: Path, person: str, session: str) -> tuple[SessionLog | None, tuple[Answer, ...]]:
    """Return one session (None where it is gone) and the answers to it, in the order they were given.

    No more files are read than may say something about it.
    """
    folder = person_folder(data, person)
    files = {_file_state(path, folder): path for path in log_files(folder, rehearsals=True)}
    cached = {name: each for name, each in _read_cache(data, person).items() if name != session}
    current = {name: each for name, each in cached.items() if _is_current(each, files, None)}
    logs = read_files(_uncached(current, files), person)
    log = next((each for each in logs if each.session == session and each.opened is not None), None)
    return log, answers_by_session(logs).get(session, ())


def _summarize_logs(logs: Sequence[SessionLog]) -> dict[str, SessionSummary]:
    """Return what the sessions among the logs add up to, with the answers among them."""
    answers = answers_by_session(logs)
    found = {
        log.session: _summary(log, answers.get(log.session, ()))
        for log in logs
        if log.opened is not None and log.opened.kind != "answers"
    }
    return {name: session for name, session in found.items() if session is not None}


def _summary(log: SessionLog, answers: Sequence[Answer]) -> SessionSummary | None:
    """Return what a session adds up to; where none of its times can be read, its id gives the start."""
    found = summarize(log.state(), answers)
    if found is None or found.started is not None:
        return found
    return replace(found, started=started_at(log.session))


def answers_by_session(logs: Iterable[SessionLog]) -> dict[str, tuple[Answer, ...]]:
    """Return the later answers by the session they are about, in the order they were given."""
    found: dict[str, list[Answer]] = {}
    for log in logs:
        if log.opened is not None and log.opened.kind == "answers":
            for event in log.events:
                if isinstance(event, Answer):
                    found.setdefault(event.session or log.opened.about or "", []).append(event)
    return {session: tuple(answers) for session, answers in found.items()}


def _with_all_lines(log: SessionLog) -> SessionLog:
    """Return a session that was never closed with all its lines: each of them shows how long it ran."""
    if log.closed or log.opened is None or log.opened.kind != "session":
        return log
    return merge([read_session(path) for path in log.files])


def _began_by(log: SessionLog, until: datetime) -> bool:
    """Whether a log was begun by then; results on paper carry their own times."""
    return (log.opened is not None and log.opened.kind == "paper") or _is_by(log.session, until)


def _started_by(session: SessionSummary, until: datetime) -> bool:
    """Whether a session had started by then; one with no time at all may have."""
    return session.started is None or session.started.astimezone(UTC) <= until


def _is_by(name: str, until: datetime) -> bool:
    """Whether the start in a session id, or in a file name that begins with one, is by then."""
    started = started_at(name)
    return started is None or started <= until.astimezone(UTC)


# ---- the cache


@dataclass(frozen=True, slots=True)
class _FileState:
    """How an unchanged file is recognised: name under the person's folder, size, when it was written."""

    name: str
    size: int
    mtime_ns: int


_Files = Mapping[_FileState, Path]


@dataclass(frozen=True, slots=True)
class _Cached:
    """One session and the files it was read from: its own, and those of the answers to it."""

    own: tuple[_FileState, ...]
    answers: tuple[_FileState, ...]
    summary: SessionSummary

    @property
    def files(self) -> tuple[_FileState, ...]:
        return (*self.own, *self.answers)


def _file_state(path: Path, folder: Path) -> _FileState:
    """Return the state of a file under the person's folder, one that no file has where it is gone."""
    name = str(path)[len(str(folder)) + 1 :]
    try:
        status = path.stat()
    except OSError:
        return _FileState(name, -1, -1)
    return _FileState(name, status.st_size, status.st_mtime_ns)


def _is_current(entry: _Cached, files: _Files, until: datetime | None) -> bool:
    """Whether all files of an entry are there unchanged, and were begun by then."""
    if not all(state in files for state in entry.files):
        return False
    dated = entry.answers if entry.summary.on_paper else entry.files
    return until is None or all(_is_by(files[state].name, until) for state in dated)


def _uncached(cached: Mapping[str, _Cached], files: _Files) -> list[Path]:
    """Return the files that still have to be read."""
    read = {state for entry in cached.values() for state in entry.files}
    return [path for state, path in files.items() if state not in read]


def _continued_in(logs: Sequence[SessionLog], cached: Mapping[str, _Cached], files: _Files) -> set[str]:
    """Return the cached sessions that the other logs say more about: a new answer, a copy of a file."""
    mentioned = {log.session for log in logs} | answers_by_session(logs).keys()
    names = {
        name: {name, *(id_in(files[state].name) for state in each.files)} for name, each in cached.items()
    }
    return {name for name, all_its in names.items() if all_its & mentioned}


def _cacheable(
    logs: Sequence[SessionLog], sessions: Mapping[str, SessionSummary], files: _Files
) -> dict[str, _Cached]:
    """Return an entry for each session that is closed and undamaged, by session, with the answers to it."""
    states = {path: state for state, path in files.items()}
    answers: dict[str, list[SessionLog]] = {}
    for log in logs:
        for session in answers_by_session([log]):
            answers.setdefault(session, []).append(log)
    found = {}
    for log in logs:
        given = answers.get(log.session, [])
        if log.session in sessions and log.closed and all(map(_is_plain, (log, *given))):
            own = tuple(states[path] for path in log.files)
            also = tuple(states[path] for each in given for path in each.files)
            found[log.session] = _Cached(own, also, sessions[log.session])
    return found


def _is_plain(log: SessionLog) -> bool:
    """Whether a log can be recognised by its files: undamaged, each named after it, about one session."""
    is_sound = not (log.damage or log.others or log.rehearsal)
    return (
        is_sound
        and len(answers_by_session([log])) <= 1
        and all(id_in(path.name) == log.session for path in log.files)
    )


def _read_cache(data: Path, person: str) -> dict[str, _Cached]:
    """Return what is cached of a person, by session; nothing where there is no cache to believe."""
    try:
        head, _, body = read_bounded(_cache_path(data, person), MAX_CACHE_BYTES).partition(b"\n")
        if json.loads(head) != _cache_head(body):
            return {}
    except (OSError, ValueError, RecursionError):
        return {}
    found = {}
    for line in body.splitlines():
        with suppress(ValidationError):
            entry = _entries().validate_json(line)
            found[entry.summary.session] = entry
    return found


def _write_cache(data: Path, person: str, before: Mapping[str, _Cached], now: Mapping[str, _Cached]) -> None:
    """Write the cache, whole or not at all; a folder that can't be written is no trouble here."""
    if len(now) < CACHED_FROM or now == before:
        return
    body = b"".join(_entries().dump_json(entry) + b"\n" for entry in now.values())
    head = json.dumps(_cache_head(body)).encode()
    with suppress(OSError):
        write_whole(_cache_path(data, person), head + b"\n" + body)


def _cache_path(data: Path, person: str) -> Path:
    return data / f".{person_folder(data, person).name}.digest"


def _cache_head(body: bytes) -> dict[str, str]:
    return {"read_by": _code_version(), "crc": f"{zlib.crc32(body):08x}"}


@cache
def _entries() -> TypeAdapter[_Cached]:
    return TypeAdapter(_Cached)


@cache
def _code_version() -> str:
    """Return what changes with every change of the code that reads a session."""
    package = Path(__file__).parent.parent
    modules = sorted(path for room in _ROOMS for path in (package / room).glob("*.py"))
    written = [f"{path.name} {path.stat().st_size} {path.stat().st_mtime_ns}" for path in modules]
    return f"{__version__} {zlib.crc32(chr(10).join(written).encode()):08x}"
