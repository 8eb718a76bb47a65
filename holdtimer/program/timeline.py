"""The timeline a script compiles to: the ordered parts of one workout, every value resolved."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any, Literal

Side = Literal["left", "right", "both"]
SetKey = tuple[str, Side]  # an exercise on a side
Kind = Literal["hold", "reps"]
Advance = Literal["tap", "auto"]

# of a function test
Protocol = Literal["chair-stand-30", "five-stands", "timed-walk", "up-and-go"]
Variant = Literal["crossed", "hands"]
Pace = Literal["usual", "fast"]
Start = Literal["standing", "walking"]
Presser = Literal["walker", "helper"]
T25FW_M = 7.62  # 25 feet


@dataclass(frozen=True, slots=True)
class PlannedRung:
    """One rung of a ladder, easiest first; `way_out` only where it differs from the exercise's.

    `was` are former names, under which older logs may know it.
    """

    name: str
    load: float | None = None
    how: str | None = None
    needs: tuple[str, ...] = ()
    way_out: str | None = None
    was: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Easy:
    """Timed easy movement: warm-up, recovery or cool-down. Lengths in seconds."""

    part: int
    title: str
    seconds: float
    setup: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    rest_s: float = 0.0  # the least rest before it

    @property
    def needs_on_ladder(self) -> tuple[str, ...]:
        """The same: it has no ladder."""
        return self.needs

    @property
    def least_s(self) -> float:
        """How long it takes at least, with the rest before it."""
        return self.rest_s + self.seconds


@dataclass(frozen=True, kw_only=True)
class Target:
    """What one set is to be: the same from the program through the log to its result. Lengths in seconds."""

    set: int  # number among the sets, from 1
    attempt: int = 1
    exercise: str
    side: Side
    kind: Kind
    rung: str
    window_s: float
    band_s: tuple[float, float]
    final_s: float = 30.0
    push_s: float = 0.0
    reentry: bool = True

    @classmethod
    def facts(cls, source: object) -> dict[str, Any]:
        """Return what a set is to be, by field, as a target or an event with these fields says."""
        return dict(zip(_FACTS, _facts_in(vars(source)), strict=True))


_FACTS = tuple(Target.__dataclass_fields__)
_facts_in = itemgetter(*_FACTS)


@dataclass(frozen=True, slots=True)
class PlannedSet:
    """One exercise on one side in one work window. Lengths in seconds."""

    part: int  # index in the timeline, from 0
    set: int  # number among the sets, from 1
    exercise: str
    name: str
    kind: Kind
    side: Side
    ladder: tuple[PlannedRung, ...]
    rung_index: int
    window_s: float
    band_s: tuple[float, float]
    final_s: float
    count_in_s: float
    rest_s: float  # the least rest before it
    push_s: float
    reentry: bool
    advance: Advance
    failure: str
    exercise_way_out: str
    back_in: str | None = None
    joint: str | None = None
    tempo: tuple[float, float, float, float] | None = None
    exercise_needs: tuple[str, ...] = ()
    setup: tuple[str, ...] = ()
    form: tuple[str, ...] = ()

    @property
    def least_s(self) -> float:
        """How long it takes at least: the rest before it, the count-in and the window."""
        return self.rest_s + self.count_in_s + self.window_s

    @property
    def rung(self) -> PlannedRung:
        """The rung this set is done at."""
        return self.ladder[self.rung_index]

    @property
    def way_out(self) -> str:
        """How to get out safely: the rung's own way where it has one."""
        return self.rung.way_out or self.exercise_way_out

    @property
    def needs(self) -> tuple[str, ...]:
        """What must be within reach: the exercise's and the rung's needs, each once."""
        return tuple(dict.fromkeys(self.exercise_needs + self.rung.needs))

    @property
    def needs_on_ladder(self) -> tuple[str, ...]:
        """What is needed at one rung or another of the ladder."""
        return tuple(dict.fromkeys((*self.exercise_needs, *(n for rung in self.ladder for n in rung.needs))))

    def target(self, attempt: int) -> Target:
        """Return what this attempt at the set is to be."""
        return Target(
            set=self.set,
            attempt=attempt,
            exercise=self.exercise,
            side=self.side,
            kind=self.kind,
            rung=self.rung.name,
            window_s=self.window_s,
            band_s=self.band_s,
            final_s=self.final_s,
            push_s=self.push_s,
            reentry=self.reentry,
        )

    def at_rung(self, name: str) -> "PlannedSet":
        """Return this set at another rung of its ladder; ValueError where there is none of that name."""
        names = [rung.name for rung in self.ladder]
        return replace(self, rung_index=names.index(name))


@dataclass(frozen=True, kw_only=True)
class Series:
    """What results of a function test must have in common to be compared.

    Another variant, chair, lane, pace, start, aid or presser is another series; None where it plays no part.
    """

    protocol: Protocol
    variant: Variant | None = None
    seat_cm: float | None = None
    lane_m: float | None = None
    pace: Pace | None = None
    start: Start | None = None
    aid: str | None = None
    presser: Presser = "walker"

    @property
    def counts(self) -> bool:
        """Whether each tap counts a stand, and the clock ends it; else the key ends it."""
        return self.protocol == "chair-stand-30"

    @property
    def begins_with_key(self) -> bool:
        """Whether the key starts the clock, on the first line; else "go" does."""
        return self.start == "walking"

    @property
    def unit(self) -> Literal["stands", "s", "m/s"]:
        """The unit of its results; of walks the timed 25-foot walk alone is in seconds."""
        if self.protocol == "chair-stand-30":
            return "stands"
        is_t25fw = (self.lane_m, self.start, self.pace) == (T25FW_M, "standing", "fast")
        return "s" if self.protocol != "timed-walk" or is_t25fw else "m/s"

    def conditions(self) -> Iterator[str]:
        """Yield in words what the results of a series have in common."""
        if self.variant:
            yield "arms crossed" if self.variant == "crossed" else "with hands"
        if self.seat_cm:
            yield f"seat {self.seat_cm:g} cm"
        if self.lane_m:
            yield f"{self.lane_m:g} m"
        if self.pace:
            yield f"{self.pace} pace"
        if self.start:
            yield f"{self.start} start"
        if self.aid:
            yield "no aid" if self.aid == "none" else self.aid
        if self.presser == "helper":
            yield "a helper presses"

    @classmethod
    def facts(cls, source: object) -> dict[str, Any]:
        """Return the fields of the series that a test or an event belongs to."""
        return {name: getattr(source, name) for name in cls.__dataclass_fields__}


@dataclass(frozen=True, kw_only=True)
class PlannedTest(Series):
    """One function test: its trials, each of them short. Lengths in seconds.

    `easier` is the test of this program that a weaker person does instead, where it isn't done anyway.
    """

    part: int  # index in the timeline, from 0
    number: int  # among the tests, from 1
    test: str
    name: str
    trials: int
    rest_s: float  # the least rest before it
    trial_rest_s: float  # and between its trials
    least_s: float
    way_out: str
    needs: tuple[str, ...] = ()
    setup: tuple[str, ...] = ()
    form: tuple[str, ...] = ()
    stop: str | None = None
    easier: "PlannedTest | None" = None

    @property
    def needs_on_ladder(self) -> tuple[str, ...]:
        """What is needed for it, or for the easier test."""
        return tuple(dict.fromkeys((*self.needs, *(self.easier.needs if self.easier else ()))))


Part = Easy | PlannedSet | PlannedTest


@dataclass(frozen=True, slots=True)
class Timeline:
    """One script of one program, compiled: its parts in order."""

    program: str
    program_title: str
    script: str
    script_title: str
    parts: tuple[Part, ...]

    @property
    def sets(self) -> tuple[PlannedSet, ...]:
        """The work windows among the parts, in order."""
        return tuple(part for part in self.parts if isinstance(part, PlannedSet))

    @property
    def tests(self) -> tuple[PlannedTest, ...]:
        """The function tests among the parts, in order."""
        return tuple(part for part in self.parts if isinstance(part, PlannedTest))

    @property
    def least_s(self) -> float:
        """How long the session takes at least, from the first tap to the end of the last part."""
        return sum(part.least_s for part in self.parts)

    @property
    def needs(self) -> tuple[str, ...]:
        """All that must be within reach at any rung of the ladders, each once, in the order it is needed."""
        return tuple(dict.fromkeys(need for part in self.parts for need in part.needs_on_ladder))
