"""Whose log, and where it lies."""

import json
import os
from argparse import Namespace
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from holdtimer.errors import BadInputError, SeveralPeopleError
from holdtimer.log.folder import make_private, plain_name
from holdtimer.log.reader import persons
from holdtimer.text import control_in, harmless

DEFAULT_PERSON = "me"
LONGEST_NAME = 100
_REMEMBERED = "remembered.json"


@dataclass(frozen=True, slots=True)
class Remembered:
    """Who trained last here, and with which program."""

    person: str | None = None
    program: str | None = None


def data_folder(args: Namespace) -> Path:
    """Return the data folder: `--data`, else HOLDTIMER_DATA, else the platform's own."""
    named = args.data or os.environ.get("HOLDTIMER_DATA")
    if named:
        return _a_folder(Path(named).expanduser())
    from platformdirs import user_data_path

    return user_data_path("holdtimer", appauthor=False)


def speech_folder() -> Path:
    """Return where rendered speech is kept between sessions: the platform's own folder for such."""
    from platformdirs import user_cache_path

    return user_cache_path("holdtimer", appauthor=False) / "voice"


def _a_folder(path: Path) -> Path:
    """Return where the logs are to be. Raises BadInputError where that is a file."""
    if os.path.exists(path) and not os.path.isdir(path):
        raise BadInputError(f"{path} is not a folder; --data names the folder the logs are kept in")
    return path


def person_named(args: Namespace, data: Path) -> str:
    """Return the person: `--person`, else the only one, else who trained last.

    Raises SeveralPeopleError, and BadInputError for what is no name.
    """
    if args.person:
        return _a_name(str(args.person))
    known = persons(data)
    if len(known) <= 1:
        return known[0] if known else DEFAULT_PERSON
    last = remembered(data).person
    if last in known:
        return str(last)
    raise SeveralPeopleError(f"whose log? name one with --person: {', '.join(map(harmless, known))}")


def _a_name(text: str) -> str:
    """Return a name in its one spelling. Raises BadInputError for what can't be one."""
    name = plain_name(text)
    if not name or len(name) > LONGEST_NAME or control_in(name) is not None:
        raise BadInputError(f"{harmless(text)!r} is no name: one line of 1 to {LONGEST_NAME} characters")
    return name


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
