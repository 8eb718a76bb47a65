"""The program file, format 1: its tables, with the range of every single value.

Rules between values are in `rules`; `loading` applies both.
"""

import json
from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    GetJsonSchemaHandler,
    Strict,
    StringConstraints,
    Tag,
    model_validator,
)
from pydantic_core import CoreSchema, PydanticCustomError

from holdtimer.program.endurance import Joint
from holdtimer.program.lenient import MayBeInvalid, Table
from holdtimer.program.timeline import Advance, Kind, Pace, Presser, Protocol, Start, Variant
from holdtimer.text import control_in, one_line

ID_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]*$"
TEMPO_PATTERN = r"^[0-9]{1,2}(\.[0-9])?(-[0-9]{1,2}(\.[0-9])?){3}$"
MAX_STEPS = 200

T = TypeVar("T")


def _plain(text: str) -> str:
    char = control_in(text)
    if char is not None:
        raise PydanticCustomError("control_character", "U+{code}", {"code": f"{ord(char):04X}"})
    return one_line(text)


_Plain = AfterValidator(_plain)

Id = Annotated[str, StringConstraints(pattern=ID_PATTERN, max_length=60)]
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60), _Plain]
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200), _Plain]
About = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=1000), _Plain]
Several = Annotated[tuple[T, ...], Strict(False)]
Lines = Annotated[Several[Line], Field(max_length=20)]

Window = Annotated[float, Field(ge=10, le=600, description="Length of the work window in seconds.")]
Band = Annotated[
    Several[Annotated[float, Field(ge=1, le=600)]],
    Field(
        min_length=2,
        max_length=2,
        description="First failure should fall between these seconds of the window.",
    ),
]
Final = Annotated[float, Field(ge=1, lt=600, description="Length of the final stretch in seconds.")]
CountIn = Annotated[float, Field(ge=3, le=120, description="Seconds to get into position.")]
Rest = Annotated[float, Field(ge=0, le=1800, description="At least this many seconds of rest before it.")]
SideRest = Annotated[
    float, Field(ge=0, le=1800, description="At least this many seconds between the two sides.")
]
Push = Annotated[
    float, Field(ge=0, le=10, description="Seconds to keep pushing after failure; 0 where unsafe.")
]
Reentry = Annotated[bool, Field(description="false: after failure the set is over.")]
Onward = Annotated[Advance, Field(description="After the rest: wait for a tap, or go on by itself.")]


class Defaults(Table):
    """How sets are done where neither the step nor the exercise says otherwise."""

    window_s: Window = 90
    band_s: Band = (60, 90)
    final_s: Final = 30
    count_in_s: CountIn = 10
    rest_s: Rest = 90
    side_rest_s: SideRest = 60
    push_s: Push = 3
    reentry: Reentry = True
    advance: Onward = "tap"


class Overrides(Table):
    """Those of the defaults that an exercise or a step sets for itself."""

    window_s: Window | None = None
    band_s: Band | None = None
    final_s: Final | None = None
    count_in_s: CountIn | None = None
    rest_s: Rest | None = None
    side_rest_s: SideRest | None = None
    push_s: Push | None = None
    reentry: Reentry | None = None
    advance: Onward | None = None

    def given(self) -> dict[str, Any]:
        """Return the settings given here, by name."""
        values = {name: getattr(self, name) for name in Overrides.model_fields}
        return {name: value for name, value in values.items() if value is not None}


class Spacing(Table):
    """How far apart hard sessions are: recovery in hours, and how many in any 7 days."""

    recovery_h: Annotated[float, Field(ge=0, le=336)] = 48
    per_week: Annotated[
        Several[Annotated[int, Field(ge=0, le=21)]],
        Field(min_length=2, max_length=2, description="At least and at most, in any 7 days."),
    ] = (1, 3)


class Rung(Table):
    """One difficulty of an exercise. `load` is the whole relative load on the muscles, in any unit."""

    rung: Name
    load: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    how: Line | None = None
    needs: Lines = ()
    way_out: Line | None = None
    was: Annotated[Several[Name], Field(max_length=20, description="Former names of this rung.")] = ()

    @model_validator(mode="before")
    @classmethod
    def _from_its_name(cls, data: Any) -> Any:
        return {"rung": data} if isinstance(data, str) else data

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Allow a rung to be written as its name alone."""
        table = handler.resolve_ref_schema(handler(core))
        return {"anyOf": [{"type": "string", "minLength": 1, "maxLength": 60}, table]}


class Exercise(Overrides):
    """One exercise with its ladder, easiest rung first."""

    name: Name
    kind: Kind
    sides: Literal["both", "each"]
    joint: Joint | None = None
    first_side: Literal["left", "right", "weaker"] | None = None
    tempo: Annotated[str, StringConstraints(pattern=TEMPO_PATTERN)] | None = None
    needs: Lines = ()
    setup: Lines = ()
    form: Lines = ()
    failure: Line
    way_out: Line
    back_in: Line | None = None
    ladder: Annotated[Several[Annotated[Rung, MayBeInvalid]], Field(min_length=1, max_length=100)]
    start: Name | None = None

    def rung_index(self, name: str) -> int | None:
        """Return the place on the ladder of a rung of this name, or of this former name, or None."""
        for names in ([{rung.rung} for rung in self.ladder], [set(rung.was) for rung in self.ladder]):
            for index, known in enumerate(names):
                if name in known:
                    return index
        return None


class FunctionTest(Table):
    """A test of standing up or walking. What is left out and has a usual value is filled in by compiling."""

    protocol: Protocol
    name: Name
    variant: Annotated[Variant, Field(description="Arms crossed, or hands on the armrests.")] | None = None
    seat_cm: Annotated[float, Field(ge=25, le=80, description="Height of the seat in cm.")] | None = None
    lane_m: Annotated[float, Field(ge=2, le=30, description="Length of the timed walk in metres.")] | None = (
        None
    )
    pace: Pace | None = None
    start: (
        Annotated[Start, Field(description="walking: a run-up and a run-out of 2 m are needed.")] | None
    ) = None
    aid: Annotated[Name, Field(description="What you walk with, such as one stick.")] | None = None
    presser: Annotated[Presser, Field(description="Who presses the key.")] = "walker"
    needs: Lines = ()
    setup: Lines = ()
    form: Lines = ()
    stop: Annotated[Line, Field(description="What ends a trial before its end.")] | None = None
    way_out: Line


class ExerciseStep(Overrides):
    """A step of a script that trains: one set, or one a side."""

    # any text: one that is no id is answered with the exercise that was probably meant
    exercise: Annotated[str, Field(json_schema_extra={"pattern": ID_PATTERN, "maxLength": 60})]


class EasyStep(Table):
    """A step of a script that is timed easy movement."""

    easy: Name
    seconds: Annotated[float, Field(ge=1, le=7200)]
    setup: Lines = ()
    needs: Lines = ()
    rest_s: Rest | None = None


class TrialStep(Table):
    """A step of a script that tests: one or more trials of a test."""

    test: Annotated[str, Field(json_schema_extra={"pattern": ID_PATTERN, "maxLength": 60})]
    trials: Annotated[int, Field(ge=1, le=3, description="2 for a walk when left out, else 1.")] | None = None
    rest_s: Rest | None = None


STEP_TABLES: Mapping[str, type[Table]] = {"exercise": ExerciseStep, "test": TrialStep, "easy": EasyStep}
"""The table of a step by the key that says what it is; the first of these that it has."""


def _step_kind(data: Any) -> str:
    if isinstance(data, dict):
        return next((key for key in STEP_TABLES if key in data), "exercise")
    return next((key for key, table in STEP_TABLES.items() if isinstance(data, table)), "exercise")


Step = Annotated[
    Annotated[ExerciseStep, Tag("exercise")]
    | Annotated[TrialStep, Tag("test")]
    | Annotated[EasyStep, Tag("easy")],
    Discriminator(_step_kind),
]


class Script(Table):
    """The ordered steps of one workout."""

    id: Id
    title: Name
    weeks: (
        Annotated[Several[Annotated[int, Field(ge=1, le=520)]], Field(min_length=1, max_length=520)] | None
    ) = None
    every_weeks: (
        Annotated[int, Field(ge=2, le=52, description="It is due by itself, so many weeks after the last.")]
        | None
    ) = None
    steps: Annotated[Several[Annotated[Step, MayBeInvalid]], Field(min_length=1, max_length=MAX_STEPS)]


_ById = Field(max_length=200, json_schema_extra={"propertyNames": {"pattern": ID_PATTERN, "maxLength": 60}})


class Program(Table):
    """A whole program file."""

    format: Annotated[int, Field(ge=1, le=1, description="The version of this file format.")]
    id: Id
    title: Name
    about: About | None = None
    defaults: Defaults = Defaults()
    spacing: Spacing = Spacing()
    exercises: Annotated[dict[str, Annotated[Exercise, MayBeInvalid]], _ById] = Field(default={})
    tests: Annotated[dict[str, Annotated[FunctionTest, MayBeInvalid]], _ById] = Field(default={})
    scripts: Annotated[Several[Annotated[Script, MayBeInvalid]], Field(min_length=1, max_length=100)]


def resolve(program: Program, exercise: Exercise, step: ExerciseStep | None = None) -> Defaults:
    """Return the settings of an exercise, or of a step of it: step before exercise before defaults."""
    given = exercise.given() | (step.given() if step else {})
    return program.defaults.model_copy(update=given)


_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def program_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of program file format 1."""
    schema = _plain_schema(Program.model_json_schema())
    del schema["title"], schema["description"]
    return {"$schema": _DIALECT, "title": "holdtimer program, format 1", **schema}


def schema_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(program_schema(), indent=2, ensure_ascii=False) + "\n"


def _plain_schema(node: Any) -> Any:
    """Drop what TOML can't say (null), and titles that only repeat a key."""
    if isinstance(node, list):
        return [_plain_schema(item) for item in node]
    if not isinstance(node, dict):
        return node
    plain = {key: _plain_schema(value) for key, value in node.items()}
    for name, prop in plain.get("properties", {}).items():
        plain["properties"][name] = {key: value for key, value in prop.items() if key != "title"}
    if plain.get("default", ...) is None:
        del plain["default"]
    choices = [choice for choice in plain.get("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1:
        del plain["anyOf"]
        plain |= choices[0]
    return plain
