"""Whose log, and where it lies."""

import json
import os
from argparse import Namespace
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from holdtimer.log.folder import make_private
from holdtimer.log.reading import persons

DEFAULT_PERSON = "me"
_REMEMBERED = "remembered.json"


class SeveralPersons(Exception):  # noqa: N818
    """Nobody was named, and the data folder holds the logs of several."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """Who trained last here, and with which program."""

    person: str | None = None
    program: str | None = None


def data_folder(args: Namespace) -> Path:
    """Return the data folder: `--data`, else HOLDTIMER_DATA, else the platform's own."""
    named = args.data or os.environ.get("HOLDTIMER_DATA")
    if named:
        return Path(named).expanduser()
    from platformdirs import user_data_path

    return user_data_path("holdtimer", appauthor=False)


def person_named(args: Namespace, data: Path) -> str:
    """Return the person: `--person`, else the only one, else who trained last. Raises SeveralPersons."""
    if args.person:
        return str(args.person)
    known = persons(data)
    if len(known) <= 1:
        return known[0] if known else DEFAULT_PERSON
    last = remembered(data).person
    if last in known:
        return str(last)
    raise SeveralPersons(f"whose log? name one with --person: {', '.join(known)}")


def remembered(data: Path) -> Remembered:
    """Return what is remembered of the last run."""
    try:
        found = json.loads((data / _REMEMBERED).read_text(encoding="utf-8"))
        texts = {name: found[name] for name in ("person", "program") if isinstance(found.get(name), str)}
    except (OSError, ValueError, AttributeError):
        return Remembered()
    return Remembered(**texts)


def remember(data: Path, what: Remembered) -> None:
    """Remember who trains with what; a folder that can't be written is no trouble here."""
    with suppress(OSError):
        make_private(data)
        part = data / f".{_REMEMBERED}.part"
        fd = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with open(fd, "w", encoding="utf-8") as file:
            json.dump(asdict(what), file)
        part.replace(data / _REMEMBERED)
