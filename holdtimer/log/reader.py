"""Reading sessions back from a data folder: every file there is read, and every fault is named."""

import io
import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import islice, pairwise
from pathlib import Path

from holdtimer.errors import NoSuchSessionError
from holdtimer.files import read_bounded
from holdtimer.log.folder import SUFFIX, files_in, id_in, person_folder, plain_name, started_at
from holdtimer.log.lines import Damage, Unknown, begins_as, checksum, decode, no_garbage_collection
from holdtimer.session.events import BEGUN, NAMES, AnyEvent, Closed, Event, Opened
from holdtimer.session.fold import fold
from holdtimer.session.state import Session
from holdtimer.session.summary import wall_time
from holdtimer.text import sanitize

MAX_FILE = 50 * 1024 * 1024
MAX_EVENTS = 20_000  # of one file: a session of hours has some hundred

_Course = dict[int, AnyEvent | bytes]  # of a line passed over its checksum
_BOM = b"\xef\xbb\xbf"
_TOO_MANY = f"there are more than {MAX_EVENTS} events"
_NAMED_GAPS = 10  # of one session
_NAMED_FAULTS = 100  # of one file; the rest is counted
_MOST_FAULTS = 10_000  # after these the rest of a file is left unread
_RECENT = 20  # sessions looked at for one that was never closed


@dataclass(frozen=True, slots=True)
class SessionLog:
    """All that is known of one session, or of one file of answers or of paper results.

    `events` are in order of their numbers, each number once; `others` are events whose number is taken by
    another one, or that may be of another course of the session; `unknown` counts undamaged lines this
    version has no event for; `whole_file` is a file that holds every one of the events and no others, None
    where no single one does. `lost` are the numbers missing up to the last one known of; `passed` holds the
    checksums of undamaged lines that were passed over, by number.
    """

    session: str
    events: tuple[AnyEvent, ...] = ()
    damage: tuple[Damage, ...] = ()
    unknown: int = 0
    others: tuple[AnyEvent, ...] = ()
    files: tuple[Path, ...] = ()
    whole_file: Path | None = None
    lost: tuple[range, ...] = ()
    passed: Mapping[int, bytes] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """How many events are held, those passed over among them."""
        return len(self.events) + len(self.passed)

    @property
    def end(self) -> int:
        """The highest number known of; -1 where there is none."""
        return self.size + sum(map(len, self.lost)) - 1

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

    def state(self) -> Session:
        """Return what the events add up to; sets with lost lines are marked."""
        return fold(self.events, lost=self.lost)


def read_session(path: Path, skip: frozenset[str] = frozenset()) -> SessionLog:
    """Return what one file holds; never raises and never waits: every fault is among its `damage`.

    Lines of the events named in `skip` are passed over: only their numbers and checksums are looked at.
    """
    try:
        return parse(path, read_bounded(path, MAX_FILE), skip)
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
    """Return the one session that several files hold; the events that are missing are named.

    An event seen twice counts once. Where two files tell it differently, the fullest one is believed, of
    equally full ones the one that sorts first. The rest is kept in `others` and named: nothing that may be of
    another course of the session fills a gap in the one believed.
    """
    log = logs[0] if len(logs) == 1 else _merged(logs)
    return _with_damage(log, _in_words(log.lost)) if log.opened is not None and log.lost else log


def _merged(logs: Sequence[SessionLog]) -> SessionLog:
    ranked = sorted(logs, key=lambda log: (-log.size, [path.stem for path in log.files]))
    first, held = ranked[0], _course(ranked[0])
    others = [event for log in ranked for event in log.others]
    damage = [fault for log in ranked for fault in log.damage]
    for log in ranked[1:]:
        course = _course(log)
        if len(held.keys() | course.keys()) > MAX_EVENTS:
            damage.append(Damage(f"{_TOO_MANY}, this file is not used", sanitize(str(log.files[0]))))
            continue
        refused = _join(held, course)
        damage += [Damage(words, sanitize(str(log.files[0]))) for words in refused.values()]
        others += _in_order({n: course[n] for n in refused})
    return SessionLog(
        session=first.session,
        events=_in_order(held),
        damage=tuple(damage),
        unknown=max(log.unknown for log in ranked),
        others=tuple(others),
        files=tuple(path for log in ranked for path in log.files),
        whole_file=first.whole_file if len(held) == first.size else None,
        lost=_gaps(held, max(log.end for log in ranked)),
        passed={n: event for n, event in held.items() if isinstance(event, bytes)},
    )


class _FileReader:
    """One file while it is being read.

    A number that comes again begins a new course: the file may be several copies, one after the other.
    """

    def __init__(self, path: Path):
        self.path = path
        self.held: _Course = {}
        self.course = self.held  # the present one
        self.lines: dict[int, int] = {}  # of the present course
        self.others: list[AnyEvent] = []
        self.damage: list[Damage] = []
        self.highest = -1  # number
        self.after = 0  # lines after it that are whole and cannot be read
        self.count = self.unknown = self.faults = 0
        self.is_split = False

    def read(self, content: bytes, skip: re.Pattern[bytes]) -> None:
        if not content:
            self.fault("the file is empty")
        for number, line in enumerate(io.BytesIO(content.removeprefix(_BOM)), 1):
            passed = skip.match(line)
            if passed and (crc := checksum(line)) is not None:
                self._hold(int(passed[1]), crc, number)
            elif isinstance(found := decode(line), Event):
                if isinstance(found, Opened) and self._is_of_another(found):
                    self.fault("another session begins here, the rest of the file is not used", number)
                    break
                self._hold(found.n, found, number)
            else:
                self._take(found, line, number)
            if self.count > MAX_EVENTS:
                self.fault(f"{_TOO_MANY}, the rest of the file is not read", number)
                self.after += 1
            if self.count > MAX_EVENTS or self.faults >= _MOST_FAULTS:
                break
        self._end_course()

    def _take(self, found: Unknown | Damage, line: bytes, number: int) -> None:
        if isinstance(found, Unknown):
            self.unknown += 1
            if found.n is not None:
                self._hold(found.n, checksum(line) or b"", number)
        elif not line.isspace():
            self.fault(found.reason, number)
            self.after += line.endswith(b"\n")  # a line cut off was never acknowledged

    def _hold(self, n: int, event: AnyEvent | bytes, line: int) -> None:
        self.count += 1
        if n in self.course:
            self._end_course()
            self.course = {}
        self.course[n] = event
        if self.course is not self.held:
            self.lines[n] = line
        if n > self.highest:
            self.highest, self.after = n, 0

    def _end_course(self) -> None:
        """Join a later course to the first; nothing after one that differs is used."""
        if self.course is self.held:
            return
        refused = _join(self.held, self.course, is_sure=not self.is_split)
        for n, words in refused.items():
            self.fault(words, self.lines[n])
        self.others += _in_order({n: self.course[n] for n in refused})
        self.is_split |= bool(refused)
        self.lines.clear()

    def fault(self, reason: str, line: int = 0) -> None:
        self.faults += 1
        if len(self.damage) < _NAMED_FAULTS:
            self.damage.append(Damage(reason, sanitize(str(self.path)), line))

    def log(self) -> SessionLog:
        log = SessionLog(
            session=id_in(self.path.name) or sanitize(self.path.stem),
            events=_in_order(self.held),
            damage=tuple(self._named()),
            unknown=self.unknown,
            others=tuple(self.others),
            files=(self.path,),
            whole_file=None if self.is_split else self.path,
            lost=_gaps(self.held, self.highest + self.after),
            passed={n: event for n, event in self.held.items() if isinstance(event, bytes)},
        )
        return replace(log, session=log.opened.session) if log.opened else log

    def _named(self) -> list[Damage]:
        if self.faults > 1 and not self.held:
            return [Damage("nothing in the file can be read", sanitize(str(self.path)))]
        if self.faults > len(self.damage):
            left_out = ", and the rest of the file is not read" if self.faults >= _MOST_FAULTS else ""
            rest = f"and {self.faults - len(self.damage)} more errors{left_out}"
            return [*self.damage, Damage(rest, sanitize(str(self.path)))]
        return self.damage

    def _is_of_another(self, opened: Opened) -> bool:
        first = self.held.get(opened.n)
        return bool(self.held) and not (isinstance(first, Opened) and first.session == opened.session)


def _course(log: SessionLog) -> _Course:
    return {event.n: event for event in log.events} | dict(log.passed)


def _join(held: _Course, more: _Course, *, is_sure: bool = True) -> dict[int, str]:
    """Add to `held` what `more` surely tells of the same course; return the numbers refused, and why.

    That is what lies between two events that both hold, and what follows the last of them; and what stands
    between the first line and the next one of a file that was begun to go on with the session.
    """
    waiting: list[int] = []
    agreed = False
    for n in sorted(more):
        if n not in held:
            waiting.append(n)
        elif held[n] != more[n]:
            is_sure = False
            break
        else:
            agreed = True
            if is_sure:
                held.update((each, more[each]) for each in waiting)
                waiting.clear()
    if is_sure and agreed and waiting:
        ahead = [n for n in held if n]
        if not ahead or max(ahead) < waiting[0] or min(ahead) > waiting[-1]:
            held.update((each, more[each]) for each in waiting)
    return {n: _why_refused(held, more, n) for n in sorted(more) if held.get(n) != more[n]}


def _why_refused(held: _Course, more: _Course, n: int) -> str:
    event = more[n]
    name = f"event {n}" if isinstance(event, bytes) else f"event {n} ({event.ev})"
    if n in held:
        return f"{name} differs from the one that is used"
    return f"{name} may belong to another course of this session and is not used"


def _gaps(held: Collection[int], end: int) -> tuple[range, ...]:
    """Return the numbers up to `end` that are not held."""
    if len(held) == end + 1:
        return ()
    numbers = [-1, *sorted(held), end + 1]
    return tuple(range(low + 1, high) for low, high in pairwise(numbers) if high > low + 1)


def _in_words(gaps: Sequence[range]) -> str:
    """Return the numbers of lost events, such as "events 6, 8 and 10 to 12 are missing"."""
    words = [f"{each[0]} to {each[-1]}" if len(each) > 1 else str(each[0]) for each in gaps[:_NAMED_GAPS]]
    words += ["others"] * (len(gaps) > _NAMED_GAPS)
    if len(gaps) == 1 and len(gaps[0]) == 1:
        return f"event {words[0]} is missing"
    return f"events {' and '.join([', '.join(words[:-1])] * (len(words) > 1) + words[-1:])} are missing"


def _in_order(held: _Course) -> tuple[AnyEvent, ...]:
    return tuple([each for n in sorted(held) if not isinstance(each := held[n], bytes)])


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
    """Return the newest readable session of a person that was begun or closed, None where there is none.

    Its `damage` names the newer ones that cannot be read, too.
    """
    newer: tuple[Damage, ...] = ()
    for log in _newest_first(data, person, rehearsals=rehearsals):
        if log.opened and not (log.begun or log.closed):
            continue
        if log.opened:
            note = Damage("this is not the newest session: what is newer cannot be read", log.session)
            return replace(log, damage=(*newer, note, *log.damage)) if newer else log
        newer += log.damage
    return None


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
        return _with_damage(log, "the first line is lost: nothing in the file is used")
    if plain_name(log.opened.person) != plain_name(person):
        return replace(
            _with_damage(log, "it belongs to somebody else: nothing in the file is used"), events=()
        )
    return log


def _with_damage(log: SessionLog, reason: str) -> SessionLog:
    return replace(log, damage=(*log.damage, Damage(reason, sanitize(str(log.files[0])))))
