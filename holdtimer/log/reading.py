"""What a data folder holds of a person: whatever lies there is read, and every fault is named."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from holdtimer.log.anchors import wall_time
from holdtimer.log.folder import SUFFIX, files_in, person_folder, plain_name
from holdtimer.log.lines import Damage
from holdtimer.log.session_log import SessionLog, content_of, merge, read_session
from holdtimer.session.events import NAMES

_BEGUN = frozenset({"ready", "count-in", "easy"})
_OUTLINE = NAMES - {"opened", "anchor", "closed"} - _BEGUN


class NoSuchSession(Exception):  # noqa: N818
    """No session, or more than one, begins as asked; the message says which."""


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A session that can be gone on with or closed; `age_s` is the time since its last event."""

    log: SessionLog
    age_s: float


def read_person(
    data: Path, person: str, *, rehearsals: bool = False, skip: frozenset[str] = frozenset()
) -> list[SessionLog]:
    """Return all that is kept for a person, oldest first: sessions, answers and paper, told by `opened.kind`.

    Files of one session are merged into one log. A log whose `opened` is None cannot be used and says so in
    its damage. Lines of the events named in `skip` are passed over, unread and unchecked.
    """
    same: dict[str, list[SessionLog]] = {}
    for path in _ours(person_folder(data, person), rehearsals=rehearsals):
        log = read_session(path, skip)
        same.setdefault(log.session, []).append(log)
    logs = [_usable(merge(same[session]), person) for session in sorted(same)]
    return [log for log in logs if rehearsals or not log.rehearsal]


def find_session(data: Path, person: str, prefix: str, *, rehearsals: bool = True) -> SessionLog:
    """Return the one session whose id begins with `prefix`; NoSuchSession where there is none or several."""
    found = [log for log in _outlines(data, person, rehearsals=rehearsals) if log.session.startswith(prefix)]
    if len(found) == 1:
        return _whole(found[0], person)
    if not found:
        raise NoSuchSession(f"no session of {person} begins with {prefix!r}")
    first = ", ".join(log.session for log in found[:5])
    raise NoSuchSession(f"{len(found)} sessions of {person} begin with {prefix!r}, the first of them {first}")


def last_session(data: Path, person: str, *, rehearsals: bool = False) -> SessionLog | None:
    """Return the newest readable session of a person, None where there is none."""
    readable = [log for log in _outlines(data, person, rehearsals=rehearsals) if log.opened]
    return _whole(readable[-1], person) if readable else None


def unfinished(data: Path, person: str, now: datetime, *, rehearsals: bool = False) -> Unfinished | None:
    """Return the newest session that was begun and never closed, None where there is none.

    Begun is one with at least a tap, a count-in or an easy step; its age is by the wall clock.
    """
    for log in reversed(_outlines(data, person, rehearsals=rehearsals)):
        if log.opened and not log.closed and any(event.ev in _BEGUN for event in log.events):
            whole = _whole(log, person)
            return Unfinished(whole, _age(whole, now))
    return None


def persons(data: Path) -> tuple[str, ...]:
    """Return the names of those who have a readable log in a data folder, sorted. Creates nothing."""
    try:
        folders = [folder for folder in data.iterdir() if folder.is_dir()]
    except OSError:
        return ()
    return tuple(sorted(name for folder in folders if (name := _name_in(folder)) is not None))


def _age(log: SessionLog, now: datetime) -> float:
    try:
        last = wall_time(log.events, max(event.t for event in log.events))
    except ValueError:  # a stranger's log without a clock: too old for anything
        return math.inf
    return (now - last).total_seconds()


def _name_in(folder: Path) -> str | None:
    for path in _ours(folder, rehearsals=True):
        opened = read_session(path, NAMES - {"opened"}).opened
        if opened is not None and person_folder(folder.parent, opened.person) == folder:
            return plain_name(opened.person)
    return None


def _ours(folder: Path, *, rehearsals: bool) -> Iterator[Path]:
    """Yield the logs among the files, whatever a tool that copies files has called them."""
    for path in files_in(folder, rehearsals=rehearsals):
        if path.suffix == SUFFIX or _begins_like_a_log(path):
            yield path


def _begins_like_a_log(path: Path) -> bool:
    try:
        return b'{"n":' in content_of(path, 16).replace(b" ", b"")
    except OSError:
        return False


def _outlines(data: Path, person: str, *, rehearsals: bool) -> list[SessionLog]:
    """Return a person's sessions, each as little more than its beginning and end."""
    logs = read_person(data, person, rehearsals=rehearsals, skip=_OUTLINE)
    return [log for log in logs if log.opened is None or log.opened.kind == "session"]


def _whole(outline: SessionLog, person: str) -> SessionLog:
    return _usable(merge([read_session(path) for path in outline.files]), person)


def _usable(log: SessionLog, person: str) -> SessionLog:
    """Name a log that must not be used: without its first line, or of somebody else."""
    if log.opened is None:
        return _with(log, "the first line is lost: nothing in the file is used")
    if plain_name(log.opened.person) != plain_name(person):
        return replace(_with(log, "it belongs to somebody else: nothing in the file is used"), events=())
    return log


def _with(log: SessionLog, reason: str) -> SessionLog:
    return replace(log, damage=(*log.damage, Damage(reason, str(log.files[0]))))
