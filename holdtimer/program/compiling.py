"""From a script to its timeline: every value resolved, sides in order, least rests worked out."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from math import inf

from holdtimer.errors import UnknownScriptError
from holdtimer.program.models import (
    EasyStep,
    Exercise,
    ExerciseStep,
    Program,
    Script,
    resolve,
)
from holdtimer.program.models import (
    Rung as ModelRung,
)
from holdtimer.program.timeline import Easy, Part, PlannedSet, Rung, Side, Timeline

Rungs = Mapping[tuple[str, Side], str]  # the rung chosen for an exercise on a side, by name
FirstSides = Mapping[str, Side]  # the side that begins, by exercise


def find_script(program: Program, script_id: str | None = None) -> Script:
    """Return the script of that id, or the first one. Raises UnknownScriptError."""
    if script_id is None:
        return program.scripts[0]
    for script in program.scripts:
        if script.id == script_id:
            return script
    known = ", ".join(script.id for script in program.scripts)
    raise UnknownScriptError(f'"{program.id}" has no script "{script_id}"; its scripts are: {known}')


def compile_script(
    program: Program,
    script_id: str | None = None,
    rungs: Rungs | None = None,
    first_sides: FirstSides | None = None,
    without: Collection[tuple[str, Side]] = (),
) -> Timeline:
    """Compile one script, the first when none is named, to its timeline, `without` some exercises and sides.

    `rungs` may name a rung by a former name; a rung that is unknown, or not given, is the exercise's start.
    `first_sides` is asked for exercises whose first side is the weaker one. Raises UnknownScriptError.
    """
    script = find_script(program, script_id)
    parts = _Compiler(program, rungs or {}, first_sides or {}, without).parts(script)
    return Timeline(program.id, program.title, script.id, script.title, tuple(parts))


@dataclass(slots=True)
class _Compiler:
    """The state of one compilation: what has been numbered, and how long ago the last window closed."""

    program: Program
    rungs: Rungs
    first_sides: FirstSides
    without: Collection[tuple[str, Side]] = ()
    rested_s: float = inf  # since the last window closed; before the first there was none
    part: int = 0
    set: int = 0

    def parts(self, script: Script) -> Iterator[Part]:
        for step in script.steps:
            if isinstance(step, EasyStep):
                yield self._easy(step)
            else:
                yield from self._sets(step)

    def _easy(self, step: EasyStep) -> Easy:
        rest_s = (step.rest_s or 0.0) if self.part else 0.0
        easy = Easy(self.part, step.easy, step.seconds, step.setup, step.needs, rest_s)
        self.part += 1
        self.rested_s += rest_s + step.seconds
        return easy

    def _sets(self, step: ExerciseStep) -> Iterator[PlannedSet]:
        exercise = self.program.exercises[step.exercise]
        settings = resolve(self.program, exercise, step)
        least_rest_s = settings.rest_s
        for side in self._sides(step.exercise, exercise):
            if (step.exercise, side) in self.without:
                continue
            yield self._set(step, side, max(0.0, least_rest_s - self.rested_s))
            self.rested_s = 0.0
            least_rest_s = settings.side_rest_s

    def _set(self, step: ExerciseStep, side: Side, rest_s: float) -> PlannedSet:
        exercise = self.program.exercises[step.exercise]
        settings = resolve(self.program, exercise, step)
        low, high = settings.band_s
        self.part += 1
        self.set += 1
        return PlannedSet(
            part=self.part - 1,
            set=self.set,
            exercise=step.exercise,
            name=exercise.name,
            kind=exercise.kind,
            side=side,
            ladder=tuple(_rung(rung) for rung in exercise.ladder),
            rung_index=self._rung_index(step.exercise, exercise, side),
            window_s=settings.window_s,
            band_s=(low, high),
            final_s=settings.final_s,
            count_in_s=settings.count_in_s,
            rest_s=rest_s,
            push_s=settings.push_s,
            reentry=settings.reentry,
            advance=settings.advance,
            failure=exercise.failure,
            exercise_way_out=exercise.way_out,
            back_in=exercise.back_in,
            joint=exercise.joint,
            tempo=seconds_of(exercise.tempo),
            exercise_needs=exercise.needs,
            setup=exercise.setup,
            form=exercise.form,
        )

    def _sides(self, key: str, exercise: Exercise) -> tuple[Side, ...]:
        if exercise.sides == "both":
            return ("both",)
        return ("right", "left") if self._first_side(key, exercise) == "right" else ("left", "right")

    def _first_side(self, key: str, exercise: Exercise) -> Side:
        if exercise.first_side != "weaker":
            return exercise.first_side or "left"
        if key in self.first_sides:
            return self.first_sides[key]
        left, right = (self._rung_index(key, exercise, side) for side in ("left", "right"))
        return "right" if right < left else "left"

    def _rung_index(self, key: str, exercise: Exercise, side: Side) -> int:
        chosen = exercise.rung_index(self.rungs.get((key, side), ""))
        if chosen is None and exercise.start is not None:
            chosen = exercise.rung_index(exercise.start)
        return chosen or 0


def _rung(rung: ModelRung) -> Rung:
    return Rung(rung.rung, rung.load, rung.how, rung.needs, rung.way_out, rung.was)


def seconds_of(text: str | None) -> tuple[float, float, float, float] | None:
    """Return a tempo in seconds to lower, pause, lift and pause; None where there is none."""
    if text is None:
        return None
    lower, pause, lift, hold = (float(part) for part in text.split("-"))
    return lower, pause, lift, hold
