"""Reading a program file: the program, or every fault of the file with its line.

Values and errors of syntax come from the standard TOML reader. The other parser is asked for lines alone,
and only when there is a fault or a warning to place.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from operator import itemgetter
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from holdtimer.errors import Fault, KeyPath, ProgramError
from holdtimer.paths import programs_folder
from holdtimer.program.lenient import LENIENT
from holdtimer.program.models import Program
from holdtimer.program.rules import broken_rules
from holdtimer.program.toml import Lines, parse
from holdtimer.program.wording import key_path, meant_key, words

MAX_BYTES = 1_000_000
MAX_FAULTS = 200  # shown at once

Placed = tuple[KeyPath, Callable[[], str]]  # where a fault is, and its words when they are wanted


@dataclass(frozen=True, slots=True)
class Loaded:
    """A program with the name and the text it was read from; the text alone gives the same program again."""

    name: str
    text: str
    program: Program


def find(name: str) -> Path:
    """Return the file that `name` means: a path, or a bundled program with or without `.toml`.

    Raises ProgramError where there is none.
    """
    if Path(name).is_file():
        return Path(name)
    bundled = {path.stem: path for path in sorted(programs_folder().glob("*.toml"))}
    chosen = bundled.get(name.removesuffix(".toml"))
    if chosen is not None:
        return chosen
    if Path(name).exists():
        return Path(name)  # a folder, say: reading it tells what is wrong
    raise ProgramError(
        [Fault(name, 1, f"there is no such file; the bundled programs are: {', '.join(bundled)}")]
    )


def lasting_name(path: Path) -> str:
    """Return what `find` finds a file by from any folder: its name if it is bundled, else the whole path."""
    whole = path.absolute()
    return whole.stem if whole.parent == programs_folder().absolute() else str(whole)


def load(path: Path | str) -> Loaded:
    """Read a program file. Raises ProgramError with every fault of the file."""
    name = str(path)
    return loads(_decode(_read(Path(path), name), name), name)


def loads(text: str, name: str) -> Loaded:
    """Read a program from its text; `name` stands in for the path in faults. Raises ProgramError."""
    if len(text) > MAX_BYTES or len(text.encode(errors="replace")) > MAX_BYTES:
        raise _too_large(name)
    data = parse(text, name)
    try:
        program = Program.model_validate(data)
    except ValidationError as error:
        raise _placed(text, name, [*_value_findings(error), *_rule_findings(_leniently(data))]) from None
    found = _rule_findings(program)
    if found:
        raise _placed(text, name, found)
    return Loaded(name, text, program)


def _read(path: Path, name: str) -> bytes:
    if not path.is_file():
        what = (
            "this is not a file; name a program file ending in .toml"
            if path.exists()
            else "there is no such file"
        )
        raise ProgramError([Fault(name, 1, what)])
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise ProgramError([Fault(name, 1, f"this file can't be read: {error.strerror}")]) from None
    if len(data) > MAX_BYTES:
        raise _too_large(name)
    return data


def _too_large(name: str) -> ProgramError:
    return ProgramError(
        [Fault(name, 1, "the file is larger than 1 MB; a program file is a few pages of text")]
    )


def _decode(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig")  # some editors begin a file with a byte order mark
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = "the file is not UTF-8 text from here on; save it again with the encoding UTF-8"
        raise ProgramError([Fault(name, line, message)]) from None


def _leniently(data: dict[str, Any]) -> Program:
    return Program.model_validate(data, context=LENIENT)


def _value_findings(error: ValidationError) -> list[Placed]:
    errors = [item for item in error.errors(include_url=False) if not _only_follows(item)]
    meant = {
        meant_key(item) for item in errors[:MAX_FAULTS]
    }  # a misspelt key is one fault, not a missing one too
    return [
        (key_path(item), partial(words, item))
        for item in errors
        if item["type"] != "missing" or key_path(item) not in meant
    ]


def _only_follows(item: ErrorDetails) -> bool:
    """Tell a list called too short only because its items are faulty."""
    return item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"]


def _rule_findings(program: Program) -> list[Placed]:
    return [(path, partial(str, message)) for path, message in broken_rules(program)]


def _placed(text: str, name: str, findings: list[Placed]) -> ProgramError:
    lines = Lines(text)
    placed = sorted(((lines.of(path), message) for path, message in findings), key=itemgetter(0))
    faults = [Fault(name, line, message()) for line, message in placed[:MAX_FAULTS]]
    if len(placed) > MAX_FAULTS:
        faults.append(Fault(name, placed[-1][0], f"there are {len(placed) - MAX_FAULTS} more faults"))
    return ProgramError(faults)
