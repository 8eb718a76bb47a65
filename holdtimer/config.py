"""What a person has set once: one TOML file, read by the command line alone.

Everything is optional. A table `[people.NAME]` holds what differs for one person.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from holdtimer.resources import config_path
from holdtimer.script.faults import Fault, KeyPath, ProgramFaults
from holdtimer.script.lines import Lines
from holdtimer.script.syntax import parse
from holdtimer.script.text import did_you_mean, harmless

MAX_BYTES = 100_000

Source = Literal["left out", "file", "person"]


class Personal(BaseModel):
    """What can be set, for everybody or for one person."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    # seconds of silence before a press counts; a tremor hits again within 0.4 s
    guard_s: Annotated[float, Field(ge=0.7, le=3)] = 0.8
    # seconds after a failure before a re-entry counts
    back_in_guard_s: Annotated[float, Field(ge=0, le=5)] = 2.0
    not_taps: Annotated[frozenset[str], Field(max_length=50)] = frozenset()
    sound: Literal["auto", "simpleaudio", "miniaudio", "bell", "off"] = "auto"
    volume: Annotated[float, Field(ge=0, le=1)] = 1.0
    # how late a wireless speaker sounds what it is given
    speaker_delay_s: Annotated[float, Field(ge=0, le=2)] = 0.0
    voice: bool = True
    voice_words_per_minute: Annotated[int, Field(ge=80, le=300)] = 150
    voice_volume: Annotated[float, Field(ge=0, le=1)] = 1.0
    theme: Literal["evening", "daylight", "two-tone"] = "evening"
    layout: Literal["full", "far"] = "full"


class _File(Personal):
    people: dict[str, Personal] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Config:
    """The values in force for one person, where each comes from, and the file."""

    path: Path
    exists: bool
    values: Personal
    sources: dict[str, Source]


def read_config(person: str, path: Path | None = None) -> Config:
    """Return what is in force for a person. Raises ProgramFaults with every fault of the file."""
    path = path or config_path()
    text = _text(path)
    if text is None:
        return Config(path, False, Personal(), dict.fromkeys(Personal.model_fields, "left out"))
    data = parse(text, str(path))
    try:
        read = _File.model_validate(data)
    except ValidationError as error:
        raise ProgramFaults(_faults(error, text, str(path))) from None
    own = read.people.get(person)
    given = {name: getattr(read, name) for name in read.model_fields_set if name != "people"}
    personal = {name: getattr(own, name) for name in own.model_fields_set} if own else {}
    sources: dict[str, Source] = dict.fromkeys(Personal.model_fields, "left out")
    sources |= dict.fromkeys(given, "file")
    sources |= dict.fromkeys(personal, "person")
    return Config(path, True, Personal.model_validate(given | personal), sources)


def _text(path: Path) -> str | None:
    try:
        data = path.read_bytes() if path.exists() else None
    except OSError as error:
        raise ProgramFaults([Fault(str(path), 1, f"this file can't be read: {error.strerror}")]) from None
    if data is None:
        return None
    if len(data) > MAX_BYTES:
        raise ProgramFaults([Fault(str(path), 1, "the file is far too large for settings")])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProgramFaults([Fault(str(path), 1, "the file is not UTF-8 text")]) from None


def _faults(error: ValidationError, text: str, path: str) -> Iterator[Fault]:
    lines = Lines(text)
    for each in error.errors():
        where: KeyPath = each["loc"]
        yield Fault(path, lines.of(where), _words(where, each["type"], each["msg"], each["input"]))


def _words(where: KeyPath, kind: str, message: str, given: Any) -> str:
    key = str(where[-1]) if where else "the file"
    if kind == "extra_forbidden":
        known = [*Personal.model_fields, *(["people"] if len(where) == 1 else [])]
        return f'unknown key "{harmless(key)}"{did_you_mean(key, known)}'
    right = message[0].lower() + message[1:] if message else "not usable"
    if kind.startswith("bool"):
        right = "it should be true or false"
    return f"{harmless(key)} is {harmless(str(given))}; {right.replace('input should be', 'it should be')}"


def keep(person: str, name: str, value: float, path: Path | None = None) -> Path:
    """Write one value for one person into the file, all else in it left as it is; return the file.

    Raises OSError where it cannot be written, and ProgramFaults where it has faults already.
    """
    import tomlkit

    path = path or config_path()
    read_config(person, path)
    document = tomlkit.parse(_text(path) or "")
    people = document.setdefault("people", tomlkit.table(is_super_table=True))
    people.setdefault(person, tomlkit.table())[name] = value
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    part.write_text(tomlkit.dumps(document), encoding="utf-8")
    part.replace(path)
    return path
