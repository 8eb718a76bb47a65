"""One event as one line of a log: compact JSON that ends with a checksum of itself."""

import gc
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import ValidationError

from holdtimer.session.events import AnyEvent, event_from_json

MAX_LINE = 4 * 1024 * 1024  # a program of 1 MB, every character of it escaped, with room to spare

_DECIMALS = 4  # of `t` and `at`: a tenth of a millisecond
_TAIL_LENGTH = 40
_TAIL = re.compile(rb',\s*"crc"\s*:\s*"([0-9a-f]{8})"\s*\}\s*\Z')
_NUMBER = re.compile(rb'\{"n": ?(\d{1,10}),')
_WORDS = {
    "json_invalid": "the line is not JSON",
    "union_tag_not_found": "the line names no event",
    "model_type": "the line is not an event",
    "model_attributes_type": "the line is not an event",
}


@dataclass(frozen=True, slots=True)
class Unknown:
    """An undamaged line with an event this version does not know: kept in the file, ignored here."""

    ev: str
    n: int | None = None


@dataclass(frozen=True, slots=True)
class Damage:
    """Something in the data folder that could not be used: why, and where (`line` 0: the whole file)."""

    reason: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.reason}" if place else self.reason


def encode(event: AnyEvent) -> bytes:
    """Return the line of an event, newline included; the CRC-32 is of the bytes before `,"crc"`."""
    times = {name: round(getattr(event, name), _DECIMALS) for name in ("t", "at") if _has(event, name)}
    body = event.model_copy(update=times).model_dump_json(exclude_none=True).encode()[:-1]
    return b'%b,"crc":"%08x"}\n' % (body, zlib.crc32(body))


def decode(line: bytes) -> AnyEvent | Unknown | Damage:
    """Return the event of one line, with or without its line ending; never raises."""
    if len(line) > MAX_LINE:
        return Damage(f"the line is longer than {MAX_LINE // 1024**2} MB")
    if checksum(line) is None:
        is_whole = _TAIL.search(line, max(0, len(line) - _TAIL_LENGTH))
        what = "does not match its checksum" if is_whole else "is cut off or was not written by holdtimer"
        return Damage(f"the line {what}")
    try:
        return event_from_json(line)
    except ValidationError as error:
        return _without_event(error.errors(include_url=False, include_input=False)[0], line)


def checksum(line: bytes) -> bytes | None:
    """Return the checksum a line ends with, None where it does not match the line."""
    tail = _TAIL.search(line, max(0, len(line) - _TAIL_LENGTH))
    if tail is None or b"%08x" % zlib.crc32(line[: tail.start()]) != tail[1]:
        return None
    return tail[1]


@cache
def begins_as(names: frozenset[str]) -> re.Pattern[bytes]:
    """Return what matches the beginning of a line of one of these events, and in it the event's number."""
    either = b"|".join(re.escape(name).encode() for name in sorted(names)) or b"(?!)"
    return re.compile(rb'\{"n": ?(\d{1,10}), ?"t": ?[\d.]+, ?"ev": ?"(?:%b)"' % either)


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


def _has(event: AnyEvent, name: str) -> bool:
    return getattr(event, name, None) is not None


def _without_event(fault: Any, line: bytes) -> Unknown | Damage:
    if fault["type"] == "union_tag_invalid":
        begun = _NUMBER.match(line)
        return Unknown(str(fault["ctx"]["tag"])[:80], int(begun[1]) if begun else None)
    if fault["type"] == "json_invalid" and not _is_utf8(line):
        return Damage("the line is not UTF-8")
    if fault["type"] in _WORDS:
        return Damage(_WORDS[fault["type"]])
    field = ".".join(str(part) for part in fault["loc"][1:])
    return Damage(f"{field or 'the line'}: {fault['msg'].removeprefix('Value error, ')}")


def _is_utf8(line: bytes) -> bool:
    try:
        line.decode()
    except UnicodeDecodeError:
        return False
    return True
