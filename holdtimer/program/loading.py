"""Reading a program file: the program, or every error of the file with its line.

Values and errors of syntax come from the standard TOML reader. The other parser is asked only for lines, and
only when there is an error or a warning to place.
"""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from operator import itemgetter
from pathlib import Path

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from holdtimer.errors import Fault, KeyPath, ProgramError
from holdtimer.files import programs_folder
from holdtimer.program.lenient import LENIENT
from holdtimer.program.models import (
    STEP_TABLES,
    TEMPO_PATTERN,
    Defaults,
    Exercise,
    ExerciseStep,
    FunctionTest,
    Program,
    Rung,
    Script,
    Spacing,
)
from holdtimer.program.rules import broken_rules
from holdtimer.program.toml import ONE_SCRIPT, Lines, described, parse
from holdtimer.text import did_you_mean, harmless, nearest

MAX_BYTES = 1_000_000
MAX_FAULTS = 200  # shown at once

_Finding = tuple[KeyPath, Callable[[], str]]  # where an error is, and its words once they are needed


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
    if os.path.isfile(name):  # which takes a name that is too long for one that is not there
        return Path(name)
    bundled = {path.stem: path for path in sorted(programs_folder().glob("*.toml"))}
    chosen = bundled.get(name.removesuffix(".toml"))
    if chosen is not None:
        return chosen
    if os.path.exists(name):
        return Path(name)  # such as a folder: reading it says what is wrong
    raise ProgramError(
        [Fault(name, 1, f"there is no such file; the bundled programs are: {', '.join(bundled)}")]
    )


def lasting_name(path: Path) -> str:
    """Return what `find` finds a file by from any folder: its name if it is bundled, else the whole path."""
    whole = path.absolute()
    return whole.stem if whole.parent == programs_folder().absolute() else str(whole)


def load(path: Path | str) -> Loaded:
    """Read a program file. Raises ProgramError with every error of the file."""
    name = str(path)
    return loads(_decode(_read(Path(path), name), name), name)


def loads(text: str, name: str) -> Loaded:
    """Read a program from its text; `name` stands for the path in errors. Raises ProgramError."""
    if len(text) > MAX_BYTES or len(text.encode(errors="replace")) > MAX_BYTES:
        raise _too_large(name)
    data = parse(text, name)
    try:
        program = Program.model_validate(data)
    except ValidationError as error:
        lenient = Program.model_validate(data, context=LENIENT)
        raise _placed(text, name, [*_value_findings(error), *_rule_findings(lenient)]) from None
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


def _value_findings(error: ValidationError) -> list[_Finding]:
    errors = [item for item in error.errors(include_url=False) if not _only_follows(item)]
    meant = {
        _meant_key(item) for item in errors[:MAX_FAULTS]
    }  # a misspelt key is one error, not a missing one too
    return [
        (_key_path(item), partial(value_words, item))
        for item in errors
        if item["type"] != "missing" or _key_path(item) not in meant
    ]


def _only_follows(item: ErrorDetails) -> bool:
    """Whether a list is only too short because its items are wrong."""
    return item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"]


def _rule_findings(program: Program) -> list[_Finding]:
    return [(path, partial(str, message)) for path, message in broken_rules(program)]


def _placed(text: str, name: str, findings: list[_Finding]) -> ProgramError:
    lines = Lines(text)
    placed = sorted(((lines.of(path), message) for path, message in findings), key=itemgetter(0))
    faults = [Fault(name, line, message()) for line, message in placed[:MAX_FAULTS]]
    if len(placed) > MAX_FAULTS:
        faults.append(Fault(name, placed[-1][0], f"there are {len(placed) - MAX_FAULTS} more errors"))
    return ProgramError(faults)


# ---- errors of single values in plain words

_HINTS = {
    "format": "write format = 1 at the top",
    "id": 'give a short id of letters, digits, - and _, such as id = "chair-and-counter"',
    "title": 'give a title, such as title = "Chair and counter"',
    "name": 'give its name for the screen, such as name = "Wall sit"',
    "kind": 'write kind = "hold" or kind = "reps"',
    "sides": 'write sides = "both" (one set) or sides = "each" (a set a side)',
    "protocol": 'write what is done, such as protocol = "chair-stand-30"',
    "failure": "say how you know that the muscle has failed",
    "way_out": "say how to get out safely",
    "ladder": 'list the rungs, easiest first, such as ladder = ["both hands", "one hand"]',
    "rung": 'give the rung a name, such as rung = "both hands"',
    "steps": 'list the steps, such as steps = [{exercise = "wall-sit"}]',
    "scripts": "add at least one [[scripts]] table",
    "seconds": "say how long the easy step lasts, such as seconds = 120",
}


def value_words(error: ErrorDetails) -> str:
    """Return what is wrong with a single value, and what would be right, in plain words."""
    if error["loc"] == ("format",) and error["type"] != "missing":
        return f"format is {described(error['input'])}; this version reads format = 1"
    build = _MESSAGES.get(error["type"])
    if build is None:
        return f"{_name(error)} is {described(error['input'])}; it can't be used here: {error['msg']}"
    return build(error)


def _key_path(error: ErrorDetails) -> KeyPath:
    """Return where in the file the error is."""
    loc = error["loc"]
    return (*loc[:_STEP_TAG_AT], *loc[_STEP_TAG_AT + 1 :]) if _is_in_step(loc) else loc


_STEP_TAG_AT = 4  # after scripts, which one, steps, and which step


def _is_in_step(loc: tuple[int | str, ...]) -> bool:
    """Whether the place of an error lies in a step, with the kind of the step in it."""
    return len(loc) > _STEP_TAG_AT and (loc[0], loc[2]) == ("scripts", "steps")


def _name(error: ErrorDetails) -> str:
    path = _key_path(error)
    key = next((part for part in reversed(path) if isinstance(part, str)), "the file")
    place = path[-1] if path and isinstance(path[-1], int) else None
    return harmless(key) if place is None else f"{harmless(key)}, item {place + 1},"


def _must(right: str) -> Callable[[ErrorDetails], str]:
    return lambda error: f"{_name(error)} is {described(error['input'])}; it must be {right}"


def _bound(word: str, key: str) -> Callable[[ErrorDetails], str]:
    return lambda error: (
        f"{_name(error)} is {described(error['input'])}; it must be {word} {error['ctx'][key]:g}"
    )


def _table_at(loc: tuple[int | str, ...]) -> type[BaseModel]:
    if _is_in_step(loc):
        return STEP_TABLES[str(loc[_STEP_TAG_AT])]
    by_place: dict[tuple[object, int], type[BaseModel]] = {
        ("defaults", 2): Defaults,
        ("spacing", 2): Spacing,
        ("exercises", 3): Exercise,
        ("exercises", 5): Rung,
        ("tests", 3): FunctionTest,
        ("scripts", 3): Script,
    }
    return by_place.get((loc[0], len(loc)), Program)


def _meant_key(error: ErrorDetails) -> KeyPath | None:
    """Return the key that an unknown key was probably meant to be, or None."""
    if error["type"] != "extra_forbidden":
        return None
    close = nearest(str(error["loc"][-1]), _table_at(error["loc"]).model_fields)
    return None if close is None else (*_key_path(error)[:-1], close)


def _unknown(error: ErrorDetails) -> str:
    key, table = str(error["loc"][-1]), _table_at(error["loc"])
    if key in STEP_TABLES and table in STEP_TABLES.values():
        kind = next(name for name, each in STEP_TABLES.items() if each is table)
        return f'a step is either "{kind}" or "{key}", not both; make two steps of it'
    return f'unknown key "{harmless(key)}"{did_you_mean(key, table.model_fields)}'


def _missing(error: ErrorDetails) -> str:
    key = str(error["loc"][-1])
    if _table_at(error["loc"]) is ExerciseStep:
        return 'a step needs "exercise", "test" or "easy", such as {exercise = "wall-sit"}'
    loc = error["loc"]
    what = {"exercises": "exercise", "tests": "test"}.get(str(loc[0])) if len(loc) == 3 else None
    where = f' in {what} "{harmless(str(loc[1]))}"' if what else ""
    return f'"{key}" is missing{where}; {_HINTS[key]}'


def _pattern(error: ErrorDetails) -> str:
    if error["ctx"]["pattern"] == TEMPO_PATTERN:
        return _must('four numbers of seconds for lower, pause, lift, pause, such as "3-1-2-0"')(error)
    return _must("letters, digits, - and _ only, beginning with a letter or digit")(error)


def _too_few(error: ErrorDetails) -> str:
    least = error["ctx"]["min_length"]
    if least == 1:
        key = _name(error)
        return f"{key} is empty; {_HINTS.get(key, 'it needs at least one entry')}"
    key, such_as = _name(error), "[1, 3]" if error["loc"][-1] == "per_week" else "[60, 90]"
    return f"{key} has {error['ctx']['actual_length']} of {least} numbers; write both, such as {such_as}"


def _too_many(error: ErrorDetails) -> str:
    return f"{_name(error)} has too many entries; use at most {error['ctx']['max_length']}"


def _blank(error: ErrorDetails) -> str:
    key = _name(error)
    return f"{key} is blank; {_HINTS.get(key, 'write some text, or leave it out')}"


def _too_long(error: ErrorDetails) -> str:
    size = len(error["input"])
    return f"{_name(error)} is {size} characters long; it may have at most {error['ctx']['max_length']}"


def _control(error: ErrorDetails) -> str:
    code = error["ctx"]["code"]
    return f"{_name(error)}: the text has a control character (U+{code}) in it; take it out"


def _choice(error: ErrorDetails) -> str:
    return _must(error["ctx"]["expected"].replace("'", '"'))(error)


def _table(error: ErrorDetails) -> str:
    rung = "ladder" in error["loc"]
    right = (
        'a name in quotes, or a table such as {rung = "one hand"}' if rung else "a table of keys and values"
    )
    return _must(right)(error)


def _list(error: ErrorDetails) -> str:
    if error["loc"] == ("scripts",) and isinstance(error["input"], dict):
        return ONE_SCRIPT
    return _must("a list in [ ]")(error)


_NUMBER = _must("a number, without quotes")

_MESSAGES: Mapping[str, Callable[[ErrorDetails], str]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "string_type": _must('text in quotes, such as "text"'),
    "int_type": _must("a whole number, without quotes"),
    "float_type": _NUMBER,
    "finite_number": _NUMBER,
    "bool_type": _must("true or false, without quotes"),
    "tuple_type": _list,
    "dict_type": _table,
    "model_type": _table,
    "model_attributes_type": _table,
    "greater_than_equal": _bound("at least", "ge"),
    "greater_than": _bound("more than", "gt"),
    "less_than_equal": _bound("at most", "le"),
    "less_than": _bound("less than", "lt"),
    "literal_error": _choice,
    "too_short": _too_few,
    "too_long": _too_many,
    "string_too_short": _blank,
    "string_too_long": _too_long,
    "string_pattern_mismatch": _pattern,
    "control_character": _control,
    "far_too_long": lambda error: f"{_name(error)} has far too many entries; use fewer",
}
