"""Whose log, where it is kept, and the program trained with last."""

import json
import os
import shlex
import unicodedata
from argparse import Namespace
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from holdtimer.errors import BadInputError, ProgramError, SeveralPeopleError
from holdtimer.files import from_home, programs_folder, read_bounded, within, write_whole
from holdtimer.log.folder import SUFFIX, make_private, person_folder, plain_name
from holdtimer.log.reader import last_session, openings, persons
from holdtimer.log.session_log import SessionLog
from holdtimer.program.loading import Loaded, find, lasting_name, load
from holdtimer.program.models import Program
from holdtimer.session.summary import SessionSummary
from holdtimer.text import control_in, harmless

DEFAULT_PERSON = "me"
LONGEST_NAME = 100
MAX_REMEMBERED = 100_000  # bytes
SAVED_ELSEWHERE = "holdtimer-saved"  # folders at home or among temporary files, for what had no other place
_LOOK_S = 2.0
_REMEMBERED = "remembered.json"


@dataclass(frozen=True, slots=True)
class Remembered:
    """Who trained last here, and with which program."""

    person: str | None = None
    program: str | None = None


def data_folder(args: Namespace) -> Path:
    """Return the data folder: `--data`, else HOLDTIMER_DATA, else the platform's own.

    Raises BadInputError where that is a file.
    """
    named = args.data or os.environ.get("HOLDTIMER_DATA")
    if named:
        path = from_home(named)
        if os.path.exists(path) and not os.path.isdir(path):
            raise BadInputError(f"{path} is not a folder; --data names the folder the logs are kept in")
        return path
    from platformdirs import user_data_path

    return user_data_path("holdtimer", appauthor=False)


def speech_folder() -> Path:
    """Return where rendered speech is kept between sessions: the platform's own folder for such."""
    from platformdirs import user_cache_path

    return user_cache_path("holdtimer", appauthor=False) / "voice"


def person_named(args: Namespace, data: Path) -> str:
    """Return the person: `--person`, else the only one, else who trained last.

    Raises SeveralPeopleError, and BadInputError for what can't be a name and for one that differs from a
    known one only in upper and lower case.
    """
    if args.person:
        return _known_or_new(_a_name(str(args.person)), data)
    known = persons(data)
    if len(known) <= 1:
        return known[0] if known else DEFAULT_PERSON
    last = remembered(data).person
    if last in known:
        return str(last)
    raise SeveralPeopleError(f"whose log? name one with --person: {', '.join(map(harmless, known))}")


def _known_or_new(name: str, data: Path) -> str:
    """Return a name that is known or really new. Raises BadInputError for one that is only spelt differently.

    Nobody's history is to be split in two by a capital letter.
    """
    if person_folder(data, name).is_dir():
        return name
    alike = [each for each in persons(data) if _same_letters(each) == _same_letters(name)]
    if alike and name not in alike:
        raise BadInputError(
            f"there is no {harmless(name)} here; did you mean {harmless(alike[0])}? "
            f"Type --person {harmless(shlex.quote(alike[0]))}, or choose a name that differs in more than "
            "upper and lower case"
        )
    return name


def _same_letters(name: str) -> str:
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def _a_name(text: str) -> str:
    """Return a name in its one spelling. Raises BadInputError for what can't be one."""
    name = plain_name(text)
    if not name or len(name) > LONGEST_NAME or control_in(name) is not None:
        raise BadInputError(
            f"{harmless(text)!r} can't be a name: use one line of 1 to {LONGEST_NAME} characters"
        )
    return name


def waiting_elsewhere(data: Path, person: str) -> list[str]:
    """Return remarks on what could not be written where it belongs and is not in the log since."""
    import tempfile

    log = person_folder(data, person)
    with suppress(OSError, RuntimeError):  # no such place, or its disk does not answer
        places = {Path.home(), Path(tempfile.gettempdir())}
        found = within(_LOOK_S, lambda: [path for place in sorted(places) for path in _saved(place, log)])
        return [
            f"not saved where it belongs, and does not count yet: move {each} into {log}" for each in found
        ]
    return []


def _saved(place: Path, log: Path) -> Iterator[Path]:
    """Yield our own files of a person, saved in this place, of which the log holds less or nothing."""
    for path in sorted(place.glob(f"{SAVED_ELSEWHERE}-*/{log.name}/*{SUFFIX}")):
        status, known = path.stat(), log / path.name
        is_ours = not hasattr(os, "getuid") or status.st_uid == os.getuid()
        if is_ours and (not os.path.exists(known) or known.stat().st_size < status.st_size):
            yield path


def remembered(data: Path) -> Remembered:
    """Return what is remembered of the last run."""
    try:
        found = json.loads(read_bounded(data / _REMEMBERED, MAX_REMEMBERED))
        texts = {name: found[name] for name in ("person", "program") if isinstance(found.get(name), str)}
    except (OSError, ValueError, AttributeError, RecursionError):
        return Remembered()
    return Remembered(**texts)


def remember(data: Path, person: str, loaded: Loaded) -> None:
    """Remember who trains with what; it does not matter where the folder can't be written.

    Function tests alone do not take the place of what somebody trains with.
    """
    last = remembered(data)
    if last.person == person and last.program is not None and not loaded.program.exercises:
        return
    what = Remembered(person, lasting_name(Path(loaded.name)))
    with suppress(OSError):
        make_private(data)
        write_whole(data / _REMEMBERED, json.dumps(asdict(what)).encode())


def usable_program(name: str | None) -> Loaded | None:
    """Return a program by its path or bundled name; None where it is gone or has faults."""
    if name is None:
        return None
    try:
        return load(find(name))
    except ProgramError:
        return None


def bundled_programs(only: str | None = None) -> list[Loaded]:
    """Return the bundled programs, by file name, which is their id; with `only` just the one of that id."""
    names = sorted(path.stem for path in programs_folder().glob("*.toml") if only in (None, path.stem))
    return [found for name in names if (found := usable_program(name)) is not None]


def program_named(args: Namespace, data: Path, person: str) -> Program | None:
    """Return the program that is named, else the last one: as its file is now, else as it was then.

    None where nobody named one and there is no last one. Raises ProgramError.
    """
    from holdtimer.report.session import program_of  # not needed to begin a session

    if args.program:
        return load(find(args.program)).program
    last = last_program(data, person)
    if last is not None:
        return last.program
    log = _last_trained(data, person)
    return None if log is None or log.opened is None else program_of(log.opened.program_text, log.session)


def last_program(data: Path, person: str) -> Loaded | None:
    """Return the program a person used last, None where it can't be found.

    That is the remembered one where this person began it, or never trained; else that of their last session,
    by its id: the remembered or a bundled one. One of function tests alone only where there is no other.
    """
    last = remembered(data)
    known = usable_program(last.program)
    if known is not None and last.person == person and known.program.exercises:
        return known
    log = _last_trained(data, person)
    if log is None or log.opened is None:
        return known
    if known is not None and known.program.id == log.opened.program:
        return known
    return next(iter(bundled_programs(only=log.opened.program)), None)


def _last_trained(data: Path, person: str) -> SessionLog | None:
    """Return the last session, of a program that trains where there is one."""
    return last_session(data, person, of_training=True) or last_session(data, person)


def tests_due_too(
    data: Path, person: str, program: Program, past: Iterable[SessionSummary], now: datetime
) -> list[str]:
    """Return the function tests of other programs that somebody has done and that are due now, by title.

    `past` are the sessions of that person, in order of time. Behind the title stands how to run them, where
    their program is found by its name.
    """
    from holdtimer.progression.due import are_tests_due
    from holdtimer.report.session import program_of

    past = tuple(past)
    newest = {each.program: each.session for each in past if each.tests and each.program != program.id}
    found = []
    for session, opened in openings(data, person, newest.values()).items() if newest else ():
        other = program_of(opened.program_text, session) if opened.program_text else None
        if other is not None and are_tests_due(other, past, now):
            is_found = usable_program(other.id) is not None
            found.append(f"{other.title} (holdtimer run {other.id})" if is_found else other.title)
    return found
