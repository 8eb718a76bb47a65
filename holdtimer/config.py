"""The settings: one TOML file, read by the command line alone.

Everything is optional. A table `[people.NAME]` holds what differs for one person.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from holdtimer.errors import Fault, KeyPath, ProgramError
from holdtimer.files import config_path, read_bounded, write_whole
from holdtimer.live.keys import LEAVE, is_key_name
from holdtimer.log.folder import make_private
from holdtimer.program.toml import Lines, described, parse
from holdtimer.progression.measurement import Group
from holdtimer.session.debounce import Settings
from holdtimer.text import did_you_mean, harmless, nearest

MAX_BYTES = 100_000
MAX_KEYS = 50  # so there is always a key left that is a tap

Source = Literal["default", "file", "person"]

_MENU = "the menu needs it: that is where you say that something feels wrong"
NEEDED = dict.fromkeys(("escape", "enter", "up", "down"), _MENU) | dict.fromkeys(LEAVE, "it always leaves")
"""Keys that always keep their use, and why."""


def _can_do_nothing(key: str) -> str:
    if key in NEEDED:
        raise PydanticCustomError("needed", "{why}", {"why": NEEDED[key]})
    if not is_key_name(key):
        alike = nearest(
            key, (*(f"f{n}" for n in range(1, 25)), "space", "tab", "pageup", "pagedown", "delete")
        )
        hint = f'did you mean "{alike}"?' if alike else "`holdtimer keys` prints the name of each"
        raise PydanticCustomError("no_key", "{hint}", {"hint": f"there is no key of that name; {hint}"})
    return key


def _not_too_many(keys: Any) -> Any:
    """Refuse a long list as a whole: to name what each key may have meant takes its time."""
    if isinstance(keys, list) and len(keys) > MAX_KEYS:
        raise PydanticCustomError("too_many", "too many keys")
    return keys


class Personal(BaseModel):
    """What can be set, for everybody or for one person."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)

    # seconds of silence before a press counts; a tremor hits again within 0.4 s
    guard_s: Annotated[float, Field(ge=0.7, le=3)] = 0.8
    # seconds after a failure before a re-entry counts
    back_in_guard_s: Annotated[float, Field(ge=0, le=5)] = 2.0
    not_taps: Annotated[
        frozenset[Annotated[str, AfterValidator(_can_do_nothing)]],
        BeforeValidator(_not_too_many),
        Field(strict=False),
    ] = frozenset()
    sound: Literal["auto", "simpleaudio", "miniaudio", "bell", "off"] = "auto"
    volume: Annotated[float, Field(ge=0, le=1)] = 1.0
    # how late a wireless speaker sounds what it is given
    speaker_delay_s: Annotated[float, Field(ge=0, le=2)] = 0.0
    voice: bool = True
    voice_words_per_minute: Annotated[int, Field(ge=80, le=300)] = 150
    voice_volume: Annotated[float, Field(ge=0, le=1)] = 1.0
    theme: Literal["evening", "daylight", "two-tone"] = "evening"
    layout: Literal["full", "far"] = "full"
    # whose measurement error is used to judge function tests
    function_group: Group = "older-adults"

    @property
    def keys(self) -> Settings:
        """How the keys of this person are judged."""
        return Settings(self.guard_s, self.back_in_guard_s, self.not_taps)


def right_words(name: str) -> str:
    """Return in words what a setting can be, such as "a number of seconds from 0 to 2"."""
    field = Personal.model_fields[name]
    bounds = {
        end: getattr(each, end) for each in field.metadata for end in ("ge", "le") if hasattr(each, end)
    }
    span = "{ge:g} to {le:g}".format(**bounds) if bounds else ""
    if field.annotation is bool:
        return "true or false"
    if field.annotation is int:
        return f"a whole number from {span}"
    if field.annotation is float:
        return f"a number{' of seconds' if name.endswith('_s') else ''} from {span}"
    if choices := [f'"{each}"' for each in get_args(field.annotation) if isinstance(each, str)]:
        return f"{', '.join(choices[:-1])} or {choices[-1]}"
    return f'a list of keys such as ["f5"], {MAX_KEYS} at most'


@dataclass(frozen=True, slots=True)
class Config:
    """The values in force for one person, where each comes from, and the file.

    `others` are faults in the settings of other people; they change nothing for this one.
    """

    path: Path
    exists: bool
    values: Personal
    sources: dict[str, Source]
    others: tuple[Fault, ...] = ()


def read_config(person: str, path: Path | None = None, *, whole: bool = False) -> Config:
    """Return what is in force for a person.

    Raises ProgramError with every fault in the settings for everybody and for this person; with `whole`, also
    in those for others.
    """
    path = path or config_path()
    text = _text(path)
    if text is None:
        return Config(path, False, Personal(), dict.fromkeys(Personal.model_fields, "default"))
    data = parse(text, str(path))
    people = data.pop("people", {})
    given, wrong = _read((), data)
    own: dict[str, Any] = {}
    others: list[Wrong] = []
    if not isinstance(people, dict):
        wrong.append((("people",), f"people is {described(people)}; {_FOR_ONE}"))
        people = {}
    for name, table in people.items():
        values, found = _read(("people", name), table)
        own = values if name == person else own
        (wrong if whole or name == person else others).extend(found)
    if wrong:
        raise ProgramError(_placed(wrong, text, path))
    sources: dict[str, Source] = dict.fromkeys(Personal.model_fields, "default")
    sources |= dict.fromkeys(given, "file")
    sources |= dict.fromkeys(own, "person")
    return Config(path, True, Personal(**(given | own)), sources, tuple(_placed(others, text, path)))


def _text(path: Path) -> str | None:
    try:
        data = read_bounded(path, MAX_BYTES) if path.exists() else None
    except OSError as error:
        raise ProgramError([Fault(str(path), 1, f"this file can't be read: {error.strerror}")]) from None
    if data is None:
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProgramError([Fault(str(path), 1, "the file is not UTF-8 text")]) from None


Wrong = tuple[KeyPath, str]

_FOR_ONE = "what differs for one person goes into a table such as [people.ada]"


def _read(where: KeyPath, table: Any) -> tuple[dict[str, Any], list[Wrong]]:
    """Return the values of a table, none where something is wrong with it, and what is."""
    try:
        read = Personal.model_validate(table)
    except ValidationError as error:
        return {}, [((*where, *each["loc"]), _words(where, each)) for each in error.errors()]
    return {name: getattr(read, name) for name in read.model_fields_set}, []


def _placed(wrong: list[Wrong], text: str, path: Path) -> Iterator[Fault]:
    if wrong:
        lines = Lines(text)
        yield from (Fault(str(path), lines.of(where), words) for where, words in wrong)


def _words(where: KeyPath, error: ErrorDetails) -> str:
    given = described(error["input"])
    if not error["loc"]:
        return f"{harmless('.'.join(map(str, where)))} is {given}; {_FOR_ONE}"
    name = str(error["loc"][0])
    if error["type"] == "extra_forbidden":
        known = [*Personal.model_fields, *([] if where else ["people"])]
        return f'unknown key "{harmless(name)}"{did_you_mean(name, known)}'
    begins = f"{name} {'is' if len(error['loc']) == 1 else 'has'} {given}; "
    if error["type"] in ("needed", "no_key"):
        return begins + error["msg"]
    return f"{begins}it should be {right_words(name)}"


def keep(person: str, name: str, value: float, path: Path | None = None) -> Path:
    """Write one value for one person into the file, change nothing else in it, and return its path.

    Raises OSError where it cannot be written, and ProgramError where it has faults already.
    """
    import tomlkit

    path = path or config_path()
    read_config(person, path)
    document = tomlkit.parse(_text(path) or "")
    people = document.setdefault("people", tomlkit.table(is_super_table=True))
    people.setdefault(person, tomlkit.table())[name] = value
    make_private(path.parent)
    write_whole(path.resolve(), tomlkit.dumps(document).encode())
    return path
