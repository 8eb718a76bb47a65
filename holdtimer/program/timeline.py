"""The timeline a script compiles to: the ordered parts of one workout, every value resolved."""

from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any, Literal

Side = Literal["left", "right", "both"]
SetKey = tuple[str, Side]  # an exercise on a side
Kind = Literal["hold", "reps"]
Advance = Literal["tap", "auto"]


@dataclass(frozen=True, slots=True)
class Rung:
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
    ladder: tuple[Rung, ...]
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
    def rung(self) -> Rung:
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


Part = Easy | PlannedSet


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
    def least_s(self) -> float:
        """How long the session takes at least, from the first tap to the end of the last part."""
        return sum(part.least_s for part in self.parts)

    @property
    def needs(self) -> tuple[str, ...]:
        """All that must be within reach at any rung of the ladders, each once, in the order it is needed."""
        return tuple(dict.fromkeys(need for part in self.parts for need in part.needs_on_ladder))
