"""Reading sessions back from a data folder: every file there is read, and every fault is named."""

import gc
import io
import math
import os
import re
import stat
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import TypeVar

from holdtimer.errors import NoSuchSessionError
from holdtimer.log.folder import SUFFIX, files_in, id_in, person_folder, plain_name, started_at
from holdtimer.log.lines import Damage, Unknown, begins_as, decode
from holdtimer.session.events import BEGUN, NAMES, AnyEvent, Closed, Opened
from holdtimer.session.fold import fold
from holdtimer.session.summary import wall_time
from holdtimer.text import sanitize

MAX_FILE = 50 * 1024 * 1024

_T = TypeVar("_T")

_READ = (
    os.O_RDONLY
    | getattr(os, "O_NONBLOCK", 0)
    | getattr(os, "O_CLOEXEC", 0)
    | getattr(os, "O_NOINHERIT", 0)
    | getattr(os, "O_BINARY", 0)
)
_BOM = b"\xef\xbb\xbf"
_NAMED_FAULTS = 100  # of one file; the rest is counted
_MOST_FAULTS = 10_000  # after these the rest of a file is left unread
_RECENT = 20  # sessions looked at for one that was never closed


@dataclass(frozen=True, slots=True)
class SessionLog:
    """All that is known of one session, or of one file of answers or of paper results.

    `events` are in order of their numbers, each number once; `others` are events whose number is taken by
    another one; `unknown` counts undamaged lines this version has no event for; `whole_file` is a file that
    holds every one of the events, None where no single one does.
    """

    session: str
    events: tuple[AnyEvent, ...] = ()
    damage: tuple[Damage, ...] = ()
    unknown: int = 0
    others: tuple[AnyEvent, ...] = ()
    files: tuple[Path, ...] = ()
    whole_file: Path | None = None

    @property
    def opened(self) -> Opened | None:
        """Line 0; None where it is lost: then nothing else here may be used."""
        first = self.events[0] if self.events else None
        return first if isinstance(first, Opened) else None

    @property
    def closed(self) -> bool:
        """Whether the session is over and nothing may be added."""
        return any(isinstance(event, Closed) for event in self.events)

    @property
    def begun(self) -> bool:
        """Whether it was begun, by a tap, a count-in or an easy step; what was never led is."""
        is_led = self.opened is not None and self.opened.kind == "session"
        return not is_led or any(event.ev in BEGUN for event in self.events)

    @property
    def rehearsal(self) -> bool:
        """Whether it was run at another speed than life's."""
        return self.opened is not None and self.opened.speed != 1


def read_session(path: Path, skip: frozenset[str] = frozenset()) -> SessionLog:
    """Return what one file holds; never raises and never waits: every fault is among its `damage`.

    Lines of the events named in `skip` are passed over, unread and unchecked.
    """
    try:
        return parse(path, content_of(path), skip)
    except OSError as error:
        reader = _FileReader(path)
        reader.fault(f"the file cannot be read: {error.strerror or type(error).__name__}")
        return reader.log()


def parse(path: Path, content: bytes, skip: frozenset[str] = frozenset()) -> SessionLog:
    """Return what the content of the file at `path` holds; see `read_session`."""
    reader = _FileReader(path)
    reader.read(content, begins_as(skip))
    return reader.log()


def merge(logs: Sequence[SessionLog]) -> SessionLog:
    """Return the one session that several files hold.

    An event seen twice counts once. Of two that differ, the one in the fullest file is used, of equally full
    files the one that sorts first; the other is kept in `others` and named.
    """
    if len(logs) == 1:
        return logs[0]
    ranked = sorted(logs, key=lambda log: (-len(log.events), [path.stem for path in log.files]))
    by_number: dict[int, AnyEvent] = {}
    others = [(log, event) for log in ranked for event in log.events if not _agrees(by_number, event)]
    first = ranked[0]
    return SessionLog(
        session=first.session,
        events=_in_order(by_number),
        damage=(
            *_chain(log.damage for log in ranked),
            *(_differs(event, log.files[0]) for log, event in others),
        ),
        unknown=max(log.unknown for log in ranked),
        others=_chain(log.others for log in ranked) + tuple(event for _, event in others),
        files=_chain(log.files for log in ranked),
        whole_file=first.whole_file if len(by_number) == len(first.events) else None,
    )


def content_of(path: Path, most: int | None = None, limit: int | None = None) -> bytes:
    """Return a regular file of at most `limit` bytes, or its first `most`; OSError for anything else.

    Never waits.
    """
    with open(os.open(path, _READ), "rb") as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise OSError(0, "it is not a regular file")
        limit = MAX_FILE if limit is None else limit
        if status.st_size > limit:
            raise OSError(0, f"it is larger than {limit // 1024**2} MB")
        size = status.st_size  # room is made for as much as is asked for
        return file.read(size if most is None else min(most, size))


class _FileReader:
    """One file while it is being read."""

    def __init__(self, path: Path):
        self.path = path
        self.by_number: dict[int, AnyEvent] = {}
        self.others: list[AnyEvent] = []
        self.damage: list[Damage] = []
        self.unknown = self.faults = self.skipped = 0

    def read(self, content: bytes, skip: re.Pattern[bytes]) -> None:
        if not content:
            self.fault("the file is empty")
        for number, line in enumerate(io.BytesIO(content.removeprefix(_BOM)), 1):
            if skip.match(line):
                self.skipped += 1
            elif not line.isspace() and not self._take(decode(line), number):
                return

    def _take(self, found: AnyEvent | Unknown | Damage, number: int) -> bool:
        """Take what a line holds; return whether to read on."""
        if isinstance(found, Unknown):
            self.unknown += 1
        elif isinstance(found, Damage):
            self.fault(found.reason, number)
            return self.faults < _MOST_FAULTS
        elif isinstance(found, Opened) and self._is_of_another(found):
            self.fault("another session begins here, the rest of the file is not used", number)
            return False
        elif not _agrees(self.by_number, found):
            self.others.append(found)
            self.fault(_differs(found, self.path).reason, number)
        return True

    def fault(self, reason: str, line: int = 0) -> None:
        self.faults += 1
        if len(self.damage) < _NAMED_FAULTS:
            self.damage.append(Damage(reason, sanitize(str(self.path)), line))

    def log(self) -> SessionLog:
        events = _in_order(self.by_number)
        opened = events[0] if events and isinstance(events[0], Opened) else None
        return SessionLog(
            session=opened.session if opened else id_in(self.path.name) or sanitize(self.path.stem),
            events=events,
            damage=tuple(self._named()),
            unknown=self.unknown,
            others=tuple(self.others),
            files=(self.path,),
            whole_file=self.path,
        )

    def _named(self) -> list[Damage]:
        if self.faults > 1 and not (self.by_number or self.unknown or self.skipped):
            return [Damage("nothing in the file can be read", sanitize(str(self.path)))]
        if self.faults > len(self.damage):
            left_out = ", and the rest of the file is not read" if self.faults >= _MOST_FAULTS else ""
            rest = f"and {self.faults - len(self.damage)} more errors{left_out}"
            return [*self.damage, Damage(rest, sanitize(str(self.path)))]
        return self.damage

    def _is_of_another(self, opened: Opened) -> bool:
        first = self.by_number.get(opened.n)
        return bool(self.by_number) and not (isinstance(first, Opened) and first.session == opened.session)


def _agrees(by_number: dict[int, AnyEvent], event: AnyEvent) -> bool:
    """Take an event where its number is free; return whether the one taken there says the same."""
    known = by_number.setdefault(event.n, event)
    return known is event or known == event


def _differs(event: AnyEvent, path: Path) -> Damage:
    return Damage(f"event {event.n} ({event.ev}) differs from the one that is used", sanitize(str(path)))


def _in_order(by_number: dict[int, AnyEvent]) -> tuple[AnyEvent, ...]:
    return tuple(by_number[n] for n in sorted(by_number))


def _chain(groups: Iterable[tuple[_T, ...]]) -> tuple[_T, ...]:
    return tuple(item for group in groups for item in group)


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
    so. Lines of the events named in `skip` are passed over, unread and unchecked.
    """
    logs = read_files(log_files(person_folder(data, person), rehearsals=rehearsals), person, skip)
    return [log for log in logs if rehearsals or not log.rehearsal]


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


def last_session(data: Path, person: str, *, rehearsals: bool = False) -> SessionLog | None:
    """Return the newest readable session of a person that was begun or closed, None where there is none."""
    logs = _newest_first(data, person, rehearsals=rehearsals)
    return next((log for log in logs if log.opened and (log.begun or log.closed)), None)


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


@contextmanager
def no_garbage_collection() -> Iterator[None]:
    """Spare the collector its walks over a hundred thousand events that all stay: a third of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.freeze()  # or the very next thing made sets it walking over all of them
            gc.enable()


def _age(log: SessionLog, now: datetime) -> float:
    """Return the seconds since the last event, or since the start in its id where no clock was read."""
    session = fold(log.events)
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
        return b'{"n":' in content_of(path, 16).replace(b" ", b"")
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
        return _with_damage(log, "the first line is lost: nothing in the file is used")
    if plain_name(log.opened.person) != plain_name(person):
        return replace(
            _with_damage(log, "it belongs to somebody else: nothing in the file is used"), events=()
        )
    return log


def _with_damage(log: SessionLog, reason: str) -> SessionLog:
    return replace(log, damage=(*log.damage, Damage(reason, sanitize(str(log.files[0])))))
