"""One session read back from its file, or put together from several, with every fault named."""

import io
import os
import re
import stat
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from holdtimer.log.folder import id_in
from holdtimer.log.lines import Damage, Unknown, begins_as, decode
from holdtimer.session.events import AnyEvent, Closed, Opened

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


@dataclass(frozen=True, slots=True)
class SessionLog:
    """All that is known of one session, or of one file of answers or of paper results.

    `events` are in order of their numbers, each number once; `others` are events whose number is taken by
    another one; `unknown` counts sound lines this version has no event for; `whole_file` is a file that
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
        """Line 0; None where it is lost, and then nothing else here may be used."""
        first = self.events[0] if self.events else None
        return first if isinstance(first, Opened) else None

    @property
    def closed(self) -> bool:
        """Whether the session is over and nothing may be added."""
        return any(isinstance(event, Closed) for event in self.events)

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
        page = _Page(path)
        page.fault(f"the file cannot be read: {error.strerror or type(error).__name__}")
        return page.log()


def parse(path: Path, content: bytes, skip: frozenset[str] = frozenset()) -> SessionLog:
    """Return what the content of the file at `path` says; see `read_session`."""
    page = _Page(path)
    page.read(content, begins_as(skip))
    return page.log()


def merge(logs: Sequence[SessionLog]) -> SessionLog:
    """Return the one session that several files tell of.

    An event seen twice counts once. Of two that differ the one in the fullest file is used, of files as full
    the one that sorts first; the other is kept in `others` and named.
    """
    if len(logs) == 1:
        return logs[0]
    ranked = sorted(logs, key=lambda log: (-len(log.events), [path.stem for path in log.files]))
    held: dict[int, AnyEvent] = {}
    others = [(log, event) for log in ranked for event in log.events if not _agrees(held, event)]
    first = ranked[0]
    return SessionLog(
        session=first.session,
        events=_in_order(held),
        damage=(
            *_chain(log.damage for log in ranked),
            *(_differs(event, log.files[0]) for log, event in others),
        ),
        unknown=max(log.unknown for log in ranked),
        others=_chain(log.others for log in ranked) + tuple(event for _, event in others),
        files=_chain(log.files for log in ranked),
        whole_file=first.whole_file if len(held) == len(first.events) else None,
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


def shown(path: Path) -> str:
    """Return a path as text fit for any screen, whatever a stranger has called a file."""
    return "".join(char if char.isprintable() else "?" for char in str(path))


class _Page:
    """One file while it is being read."""

    def __init__(self, path: Path):
        self.path = path
        self.held: dict[int, AnyEvent] = {}
        self.others: list[AnyEvent] = []
        self.damage: list[Damage] = []
        self.unknown = self.faults = self.passed = 0

    def read(self, content: bytes, skip: re.Pattern[bytes]) -> None:
        if not content:
            self.fault("the file is empty")
        for number, line in enumerate(io.BytesIO(content.removeprefix(_BOM)), 1):
            if skip.match(line):
                self.passed += 1
            elif not line.isspace() and not self._take(decode(line), number):
                return

    def _take(self, found: AnyEvent | Unknown | Damage, number: int) -> bool:
        """Take in what a line holds; return whether to read on."""
        if isinstance(found, Unknown):
            self.unknown += 1
        elif isinstance(found, Damage):
            self.fault(found.reason, number)
            return self.faults < _MOST_FAULTS
        elif isinstance(found, Opened) and self._is_of_another(found):
            self.fault("another session begins here, the rest of the file is left out", number)
            return False
        elif not _agrees(self.held, found):
            self.others.append(found)
            self.fault(_differs(found, self.path).reason, number)
        return True

    def fault(self, reason: str, line: int = 0) -> None:
        self.faults += 1
        if len(self.damage) < _NAMED_FAULTS:
            self.damage.append(Damage(reason, shown(self.path), line))

    def log(self) -> SessionLog:
        events = _in_order(self.held)
        opened = events[0] if events and isinstance(events[0], Opened) else None
        return SessionLog(
            session=opened.session if opened else id_in(self.path.name) or shown(Path(self.path.stem)),
            events=events,
            damage=tuple(self._named()),
            unknown=self.unknown,
            others=tuple(self.others),
            files=(self.path,),
            whole_file=self.path,
        )

    def _named(self) -> list[Damage]:
        if self.faults > 1 and not (self.held or self.unknown or self.passed):
            return [Damage("nothing in the file can be read", shown(self.path))]
        if self.faults > len(self.damage):
            left_out = ", and the rest of the file is left out" if self.faults >= _MOST_FAULTS else ""
            rest = f"and {self.faults - len(self.damage)} more faults{left_out}"
            return [*self.damage, Damage(rest, shown(self.path))]
        return self.damage

    def _is_of_another(self, opened: Opened) -> bool:
        first = self.held.get(opened.n)
        return bool(self.held) and not (isinstance(first, Opened) and first.session == opened.session)


def _agrees(held: dict[int, AnyEvent], event: AnyEvent) -> bool:
    """Take an event in where its number is free; return whether what is held there says the same."""
    known = held.setdefault(event.n, event)
    return known is event or known == event


def _differs(event: AnyEvent, path: Path) -> Damage:
    return Damage(f"event {event.n} ({event.ev}) differs from the one that is used", shown(path))


def _in_order(held: dict[int, AnyEvent]) -> tuple[AnyEvent, ...]:
    return tuple(held[n] for n in sorted(held))


def _chain(groups: Iterable[tuple[_T, ...]]) -> tuple[_T, ...]:
    return tuple(item for group in groups for item in group)
