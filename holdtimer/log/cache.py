"""What closed sessions added up to, kept so that years of them need not be read at every start."""

import json
import os
import zlib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from holdtimer import __version__
from holdtimer.log.folder import id_in, person_folder
from holdtimer.log.reader import SessionLog, content_of
from holdtimer.session.events import Answer
from holdtimer.session.summary import SessionSummary

WORTH_IT = 100  # sessions; fewer are read as fast without
MOST_BYTES = 200 * 1024 * 1024  # a session takes about 5 kB

_ROOMS = ("script", "session", "log")  # whose code decides what a session adds up to


@dataclass(frozen=True, slots=True)
class Mark:
    """By what an unchanged file is known: name under the person's folder, size, when it was written."""

    name: str
    size: int
    mtime_ns: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One session and the files it was read from: its own, and those of the answers to it."""

    own: tuple[Mark, ...]
    answers: tuple[Mark, ...]
    past: SessionSummary

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All the files it rests on."""
        return (*self.own, *self.answers)


def mark_of(path: Path, folder: Path) -> Mark:
    """Return the mark of a file under the person's folder, one that no file has where it is gone."""
    name = str(path)[len(str(folder)) + 1 :]
    try:
        status = path.stat()
    except OSError:
        return Mark(name, -1, -1)
    return Mark(name, status.st_size, status.st_mtime_ns)


def read_digest(data: Path, person: str) -> dict[str, Entry]:
    """Return what is kept of a person, by session; nothing where there is no digest to believe."""
    try:
        head, _, body = content_of(_path(data, person), limit=MOST_BYTES).partition(b"\n")
        if json.loads(head) != _head(body):
            return {}
    except (OSError, ValueError):
        return {}
    return {entry.past.session: entry for line in body.splitlines() if (entry := _entry(line)) is not None}


def entries_of(
    logs: Sequence[SessionLog], sessions: Mapping[str, SessionSummary], files: Mapping[Mark, Path]
) -> dict[str, Entry]:
    """Return an entry for each session that is over and sound, by session, with the answers to it."""
    marks = {path: mark for mark, path in files.items()}
    answers: dict[str, list[SessionLog]] = {}
    for log in logs:
        for session in _answered_in(log):
            answers.setdefault(session, []).append(log)
    found = {}
    for log in logs:
        said = answers.get(log.session, [])
        if log.session in sessions and log.closed and all(map(_is_plain, (log, *said))):
            own = tuple(marks[path] for path in log.files)
            also = tuple(marks[path] for each in said for path in each.files)
            found[log.session] = Entry(own, also, sessions[log.session])
    return found


def keep_digest(data: Path, person: str, before: Mapping[str, Entry], now: Mapping[str, Entry]) -> None:
    """Keep what is known now, whole or not at all; a folder that can't be written is no trouble here."""
    if len(now) < WORTH_IT or now == before:
        return
    body = b"".join(_entries().dump_json(entry) + b"\n" for entry in now.values())
    path = _path(data, person)
    part = path.with_suffix(f".{os.getpid()}.part")
    with suppress(OSError):
        try:
            with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
                file.write(json.dumps(_head(body)).encode() + b"\n" + body)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)


def _answered_in(log: SessionLog) -> set[str]:
    if log.opened is None or log.opened.kind != "answers":
        return set()
    return {event.session or log.opened.about or "" for event in log.events if isinstance(event, Answer)}


def _is_plain(log: SessionLog) -> bool:
    """Whether a log may be known by its files: sound, under its own name, of one session, no rehearsal."""
    is_sound = not (log.damage or log.others or log.rehearsal)
    return (
        is_sound
        and len(_answered_in(log)) <= 1
        and all(id_in(path.name) == log.session for path in log.files)
    )


def _path(data: Path, person: str) -> Path:
    return data / f".{person_folder(data, person).name}.digest"


def _entry(line: bytes) -> Entry | None:
    try:
        return _entries().validate_json(line)
    except ValidationError:
        return None


@cache
def _entries() -> TypeAdapter[Entry]:
    return TypeAdapter(Entry)


def _head(body: bytes) -> dict[str, str]:
    return {"read_by": _read_by(), "crc": f"{zlib.crc32(body):08x}"}


@cache
def _read_by() -> str:
    """Return what changes with every change of the code that reads a session."""
    package = Path(__file__).parent.parent
    modules = sorted(path for room in _ROOMS for path in (package / room).glob("*.py"))
    written = [f"{path.name} {path.stat().st_size} {path.stat().st_mtime_ns}" for path in modules]
    return f"{__version__} {zlib.crc32(chr(10).join(written).encode()):08x}"
