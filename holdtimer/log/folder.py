"""The layout of a data folder: one folder a person, one file a session, rehearsals in their own folder.

    DATA/anna-1f2e3d4c5b/20261125T090738Z-1a2b3c4d.jsonl
    DATA/anna-1f2e3d4c5b/rehearsals/20261125T101500Z-99aabbcc.jsonl

Nothing here reads a file, and only `make_private` creates anything.
"""

import errno
import hashlib
import os
import re
import secrets
import unicodedata
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

from holdtimer.text import YEARS

SUFFIX = ".jsonl"
REHEARSALS = "rehearsals"

_ID = re.compile(r"\d{8}T\d{6}Z-[0-9a-f]{8}")
_STAMP = "%Y%m%dT%H%M%SZ"
_DEPTH = 3  # folders within folders that are still looked into
_MAX_FILES = 100_000


def new_session_id(now: datetime) -> str:
    """Return an id that sorts by time and no other machine will choose: UTC start and a random part."""
    return f"{now.astimezone(UTC):{_STAMP}}-{secrets.token_hex(4)}"


def id_in(name: str) -> str | None:
    """Return the session id a file name begins with, None where it begins with none."""
    found = _ID.match(name)
    return found[0] if found else None


def started_at(session: str) -> datetime | None:
    """Return the start in a session id (to the second, UTC), None where it has none."""
    try:
        found = datetime.strptime(session.partition("-")[0], _STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None
    return found if found.year in YEARS else None


def plain_name(person: str) -> str:
    """Return a person's name in one spelling: composed characters, single spaces."""
    return " ".join(unicodedata.normalize("NFC", person).split())


def person_folder(data: Path, person: str) -> Path:
    """Return the folder of one person, safe on every file system and shared by no other name."""
    name = plain_name(person)
    ascii_name = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    readable = re.sub(r"[^a-z0-9]+", "-", ascii_name).strip("-")[:40].strip("-") or "person"
    return data / f"{readable}-{hashlib.sha256(name.encode(errors='replace')).hexdigest()[:10]}"


def session_folder(data: Path, person: str, *, rehearsal: bool = False) -> Path:
    """Return the folder the next file of a person belongs in."""
    folder = person_folder(data, person)
    return folder / REHEARSALS if rehearsal else folder


def files_in(folder: Path, *, rehearsals: bool = False) -> Iterator[Path]:
    """Return every regular file under a person's folder in a fixed order, up to 100,000 of them.

    Links, pipes and devices are passed over; a folder that cannot be listed yields nothing.
    """
    return islice(_walk(folder, _DEPTH, rehearsals=rehearsals), _MAX_FILES)


def make_private(folder: Path) -> list[Path]:
    """Create a folder and what is missing above it, for its owner only; return those created, top first.

    Raises OSError where that cannot be done.
    """
    if folder.is_dir():
        return []
    created = make_private(folder.parent)
    try:
        os.mkdir(folder, 0o700)
    except FileExistsError as error:
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "not a folder", str(folder)) from error
        return created
    with suppress(OSError):  # a file system without modes
        folder.chmod(0o700)  # the umask may have taken the owner's own rights
    return [*created, folder]


def _walk(folder: Path, depth: int, *, rehearsals: bool) -> Iterator[Path]:
    for entry in _entries(folder):
        if entry.is_file(follow_symlinks=False):
            yield Path(entry.path)
        elif depth and entry.is_dir(follow_symlinks=False) and (rehearsals or entry.name != REHEARSALS):
            yield from _walk(Path(entry.path), depth - 1, rehearsals=rehearsals)


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    try:
        with os.scandir(folder) as entries:
            return sorted(entries, key=lambda entry: entry.name)
    except OSError:
        return []
