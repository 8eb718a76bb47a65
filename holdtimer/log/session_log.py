"""One session as its files hold it: lines read leniently, copies merged, what is lost named."""

import io
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path

from holdtimer.files import read_bounded
from holdtimer.log.folder import id_in
from holdtimer.log.lines import Damage, Unknown, begins_as, checksum, decode
from holdtimer.session.events import BEGUN, AnyEvent, Closed, Event, Opened
from holdtimer.session.fold import fold
from holdtimer.session.state import Session
from holdtimer.text import sanitize

MAX_FILE = 50 * 1024 * 1024
MAX_EVENTS = 20_000  # of one file: a session of hours has some hundred

_Course = dict[int, AnyEvent | bytes]  # events by number; the checksum alone of a line that was passed over
_BOM = b"\xef\xbb\xbf"
_TOO_MANY = f"there are more than {MAX_EVENTS} events"
_NAMED_GAPS = 10  # of one session
_NAMED_FAULTS = 100  # of one file; the rest is counted
_MOST_FAULTS = 10_000  # after these the rest of a file is left unread


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
        """Whether it was begun, by a tap, a count-in or an easy step; what was never run is."""
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

    An event seen twice counts once. Where two files differ, the fullest one is believed, of
    equally full ones the one that sorts first. The rest is kept in `others` and named: nothing that may be of
    another course of the session fills a gap in the one believed.
    """
    log = logs[0] if len(logs) == 1 else _merged(logs)
    return with_damage(log, _in_words(log.lost)) if log.opened is not None and log.lost else log


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
    """Add to `held` what is sure in `more` to be of the same course; return the numbers refused, and why.

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


def with_damage(log: SessionLog, reason: str) -> SessionLog:
    """Return the log with one more fault of its first file."""
    return replace(log, damage=(*log.damage, Damage(reason, sanitize(str(log.files[0])))))
