"""Faults of single values in plain words: what is wrong, and what would be right."""

import datetime
from collections.abc import Callable, Mapping

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from holdtimer.errors import KeyPath
from holdtimer.program.models import (
    TEMPO_PATTERN,
    Defaults,
    EasyStep,
    Exercise,
    ExerciseStep,
    Program,
    Rung,
    Script,
    Spacing,
)
from holdtimer.text import did_you_mean, harmless, nearest

_STEP_TAGS: Mapping[object, type[BaseModel]] = {"exercise-step": ExerciseStep, "easy-step": EasyStep}

_HINTS = {
    "format": "write format = 1 at the top",
    "id": 'give a short id of letters, digits, - and _, such as id = "chair-and-counter"',
    "title": 'give a title, such as title = "Chair and counter"',
    "name": 'give its name for the screen, such as name = "Wall sit"',
    "kind": 'write kind = "hold" or kind = "reps"',
    "sides": 'write sides = "both" (one set) or sides = "each" (a set a side)',
    "failure": "say how one knows that the muscle has failed",
    "way_out": "say how to get out safely",
    "ladder": 'list the rungs, easiest first, such as ladder = ["both hands", "one hand"]',
    "rung": 'give the rung a name, such as rung = "both hands"',
    "steps": 'list the steps, such as steps = [{exercise = "wall-sit"}]',
    "scripts": "add at least one [[scripts]] table",
    "seconds": "say how long the easy step lasts, such as seconds = 120",
}


def words(error: ErrorDetails) -> str:
    """Return one fault of a single value in plain words."""
    if error["loc"] == ("format",) and error["type"] != "missing":
        return f"format is {shown(error['input'])}; this version reads format = 1"
    build = _MESSAGES.get(error["type"])
    if build is None:
        return f"{_name(error)} is {shown(error['input'])}; it can't be used here: {error['msg']}"
    return build(error)


def key_path(error: ErrorDetails) -> KeyPath:
    """Return where in the file the fault is."""
    loc = error["loc"]
    return tuple(part for part in loc if not (loc[0] == "scripts" and part in _STEP_TAGS))


def shown(value: object) -> str:
    """Return a value of a TOML file as a reader would name it, short and harmless."""
    match value:
        case str():
            return f'"{harmless(value)}"'
        case bool():
            return "true" if value else "false"
        case int() | float():
            return "a number too large" if abs(value) >= 1e15 else str(value)
        case list() | tuple():
            return "a list"
        case dict():
            return "a table"
        case datetime.date() | datetime.time():
            return "a date or time"
        case _:
            return "something else"


def _name(error: ErrorDetails) -> str:
    path = key_path(error)
    key = next((part for part in reversed(path) if isinstance(part, str)), "the file")
    place = path[-1] if path and isinstance(path[-1], int) else None
    return harmless(key) if place is None else f"{harmless(key)}, item {place + 1},"


def _must(right: str) -> Callable[[ErrorDetails], str]:
    return lambda error: f"{_name(error)} is {shown(error['input'])}; it must be {right}"


def _bound(word: str, key: str) -> Callable[[ErrorDetails], str]:
    return lambda error: f"{_name(error)} is {shown(error['input'])}; it must be {word} {error['ctx'][key]:g}"


def _table_at(loc: tuple[int | str, ...]) -> type[BaseModel]:
    if len(loc) > 1 and loc[-2] in _STEP_TAGS and loc[0] == "scripts":
        return _STEP_TAGS[loc[-2]]
    by_place: dict[tuple[object, int], type[BaseModel]] = {
        ("defaults", 2): Defaults,
        ("spacing", 2): Spacing,
        ("exercises", 3): Exercise,
        ("exercises", 5): Rung,
        ("scripts", 3): Script,
    }
    return by_place.get((loc[0], len(loc)), Program)


def meant_key(error: ErrorDetails) -> KeyPath | None:
    """Return the key that an unknown key was probably meant to be, or None."""
    if error["type"] != "extra_forbidden":
        return None
    close = nearest(str(error["loc"][-1]), _table_at(error["loc"]).model_fields)
    return None if close is None else (*key_path(error)[:-1], close)


def _unknown(error: ErrorDetails) -> str:
    key, table = str(error["loc"][-1]), _table_at(error["loc"])
    if key == "easy" and table is ExerciseStep:
        return 'a step is either "exercise" or "easy", not both; make two steps of it'
    return f'unknown key "{harmless(key)}"{did_you_mean(key, table.model_fields)}'


def _missing(error: ErrorDetails) -> str:
    key = str(error["loc"][-1])
    if _table_at(error["loc"]) is ExerciseStep:
        return 'a step needs "exercise" or "easy", such as {exercise = "wall-sit"}'
    loc = error["loc"]
    where = f' in exercise "{harmless(str(loc[1]))}"' if loc[0] == "exercises" and len(loc) == 3 else ""
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
    return (
        f"{_name(error)} has {error['ctx']['actual_length']} numbers; it must have {least}, such as [60, 90]"
    )


def _too_many(error: ErrorDetails) -> str:
    return f"{_name(error)} has too many entries; there may be at most {error['ctx']['max_length']}"


def _blank(error: ErrorDetails) -> str:
    key = _name(error)
    return f"{key} is blank; {_HINTS.get(key, 'write some text, or leave it out')}"


def _too_long(error: ErrorDetails) -> str:
    size = len(error["input"])
    return f"{_name(error)} is {size} characters long; it may have at most {error['ctx']['max_length']}"


def _control(error: ErrorDetails) -> str:
    code = error["ctx"]["code"]
    return f"{_name(error)}: text holds a control character (U+{code}); take it out"


def _choice(error: ErrorDetails) -> str:
    return _must(error["ctx"]["expected"].replace("'", '"'))(error)


def _table(error: ErrorDetails) -> str:
    rung = "ladder" in error["loc"]
    right = (
        'a name in quotes, or a table such as {rung = "one hand"}' if rung else "a table of keys and values"
    )
    return _must(right)(error)


_LIST = _must("a list in [ ]")
_NUMBER = _must("a number, without quotes")

_MESSAGES: Mapping[str, Callable[[ErrorDetails], str]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "string_type": _must('text in quotes, such as "text"'),
    "int_type": _must("a whole number, without quotes"),
    "float_type": _NUMBER,
    "finite_number": _NUMBER,
    "bool_type": _must("true or false, without quotes"),
    "tuple_type": _LIST,
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
    "far_too_long": lambda error: f"{_name(error)} has far too many entries",
}
