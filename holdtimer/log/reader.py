"""Reading sessions back from a data folder: every file there is read, and every fault is named."""

import math
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

from holdtimer.errors import NoSuchSessionError, ProgramError
from holdtimer.files import read_bounded
from holdtimer.log.folder import SUFFIX, files_in, id_in, person_folder, plain_name, started_at
from holdtimer.log.lines import Damage, no_garbage_collection
from holdtimer.log.session_log import MAX_FILE, SessionLog, merge, read_session, with_damage
from holdtimer.program.loading import loads
from holdtimer.session.events import NAMES, Opened
from holdtimer.session.summary import wall_time

_RECENT = 20  # sessions looked at for one that was never closed


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A session that can be resumed or closed; `age_s` is the time since its last event."""

    log: SessionLog
    age_s: float


def read_person(
    data: Path, person: str, *, rehearsals: bool = False, skip: frozenset[str] = frozenset()
) -> list[SessionLog]:
    """Return all that is kept for a person, oldest first: sessions, answers and paper, by `opened.kind`.

    Files of one session are merged into one log. A log whose `opened` is None cannot be used; its damage says
    so. Lines of the events named in `skip` are passed over: only numbers and checksums are looked at.
    """
    logs = read_files(log_files(person_folder(data, person), rehearsals=rehearsals), person, skip)
    return [log for log in logs if rehearsals or not log.rehearsal]


def read_since(data: Path, person: str, since: datetime, until: datetime | None) -> list[SessionLog]:
    """Return what the files begun since then and, where that is given, `until` hold; see `read_person`."""
    paths = log_files(person_folder(data, person), rehearsals=True)
    began = ((started_at(id_in(path.name) or ""), path) for path in paths)
    last = until or datetime.max.replace(tzinfo=UTC)
    return read_files([path for at, path in began if at is not None and since <= at <= last], person)


def log_files(folder: Path, *, rehearsals: bool = False) -> Iterator[Path]:
    """Yield the logs in a person's folder in a fixed order, whatever they are called."""
    for path in files_in(folder, rehearsals=rehearsals):
        if path.suffix == SUFFIX or _begins_like_a_log(path):
            yield path


def read_files(paths: Iterable[Path], person: str, skip: frozenset[str] = frozenset()) -> list[SessionLog]:
    """Return what some of a person's files hold, oldest first; see `read_person`."""
    with no_garbage_collection():
        same: dict[str, list[SessionLog]] = {}
        for path in paths:
            log = read_session(path, skip)
            same.setdefault(log.session, []).append(log)
        return [_usable(merge(same[session]), person) for session in sorted(same)]


def openings(data: Path, person: str, sessions: Collection[str]) -> dict[str, Opened]:
    """Return how some of a person's sessions, rehearsals too, were opened; none whose first line is lost."""
    files = log_files(person_folder(data, person), rehearsals=True)
    logs = read_files((path for path in files if id_in(path.name) in sessions), person, NAMES - {"opened"})
    return {log.session: log.opened for log in logs if log.opened is not None}


def find_session(data: Path, person: str, prefix: str, *, rehearsals: bool = True) -> SessionLog:
    """Return the one session whose id begins with `prefix`. Raises NoSuchSessionError.

    A session without its first line is found too, for its damage.
    """
    found = list(islice(_newest_first(data, person, rehearsals=rehearsals, prefix=prefix), 6))
    if len(found) == 1:
        return found[0]
    if not found:
        raise NoSuchSessionError(f"no session of {person} begins with {prefix!r}")
    names = [log.session for log in found[:5]] + ["..."] * (len(found) > 5)
    raise NoSuchSessionError(f"several sessions of {person} begin with {prefix!r}: {', '.join(names)}")


def last_session(
    data: Path, person: str, *, rehearsals: bool = False, of_training: bool = False
) -> SessionLog | None:
    """Return the newest readable session of a person that was begun or closed, None where there is none.

    With `of_training` one whose program has function tests alone, or that is from a table of them, is passed
    over. Its `damage` names the newer ones that cannot be read, too.
    """
    newer: tuple[Damage, ...] = ()
    for log in _newest_first(data, person, rehearsals=rehearsals):
        if log.opened and not (log.begun or log.closed):
            continue
        if log.opened and of_training and _is_of_tests(log.opened):
            continue
        if log.opened:
            note = Damage("this is not the newest session: what is newer cannot be read", log.session)
            return replace(log, damage=(*newer, note, *log.damage)) if newer else log
        newer += log.damage
    return None


def _is_of_tests(opened: Opened) -> bool:
    if not opened.program_text:
        return opened.kind == "paper"
    try:
        return not loads(opened.program_text, opened.session).program.exercises
    except ProgramError:
        return False


def unfinished(data: Path, person: str, now: datetime, *, rehearsals: bool = False) -> Unfinished | None:
    """Return the newest session that was begun and never closed, None where none of the last 20 is so.

    With `rehearsals` only those are looked at. Its age is by the wall clock.
    """
    logs = _newest_first(data, person, rehearsals=rehearsals)
    for log in islice((log for log in logs if log.rehearsal is rehearsals), _RECENT):
        if log.opened and not log.closed and log.begun:
            return Unfinished(log, _age(log, now))
    return None


def persons(data: Path) -> tuple[str, ...]:
    """Return the names of those who have a readable log in a data folder, sorted. Creates nothing."""
    try:
        folders = [folder for folder in data.iterdir() if folder.is_dir()]
    except OSError:
        return ()
    return tuple(sorted(name for folder in folders if (name := _name_in(folder)) is not None))


def _age(log: SessionLog, now: datetime) -> float:
    """Return the seconds since the last event, or since the start in its id where no clock was read."""
    session = log.state()
    last = wall_time(session, session.t) or started_at(log.session)
    return math.inf if last is None else (now - last).total_seconds()


def _name_in(folder: Path) -> str | None:
    for path in log_files(folder, rehearsals=True):
        opened = read_session(path, NAMES - {"opened"}).opened
        if opened is not None and person_folder(folder.parent, opened.person) == folder:
            return plain_name(opened.person)
    return None


def _begins_like_a_log(path: Path) -> bool:
    try:
        return b'{"n":' in read_bounded(path, MAX_FILE, 16).replace(b" ", b"")
    except OSError:
        return False


def _newest_first(data: Path, person: str, *, rehearsals: bool, prefix: str = "") -> Iterator[SessionLog]:
    """Yield a person's sessions one by one, reading no more of them than are asked for."""
    files: dict[str, list[Path]] = {}
    for path in log_files(person_folder(data, person), rehearsals=rehearsals):
        session = id_in(path.name) or read_session(path, NAMES - {"opened"}).session
        files.setdefault(session, []).append(path)
    for session in sorted(files, reverse=True):
        if session.startswith(prefix):
            logs = [read_session(path) for path in files[session]]
            log = _usable(merge(_of_one_session(logs, session)), person)
            if log.opened is None or (log.opened.kind != "answers" and (rehearsals or not log.rehearsal)):
                yield log


def _of_one_session(logs: list[SessionLog], session: str) -> list[SessionLog]:
    """Return those that hold the session they are named after, else the first, under a false name."""
    return [log for log in logs if log.session == session] or logs[:1]


def _usable(log: SessionLog, person: str) -> SessionLog:
    """Mark a log that must not be used: one without its first line, or of somebody else."""
    if log.opened is None:
        return with_damage(log, "the first line is lost: nothing in the file is used")
    if plain_name(log.opened.person) != plain_name(person):
        return replace(
            with_damage(log, "it belongs to somebody else: nothing in the file is used"), events=()
        )
    return log
