"""From a script to its timeline: every value resolved, sides in order, shortest rests worked out."""

from collections.abc import Collection, Mapping
from math import inf
from typing import get_args

from holdtimer.errors import UnknownScriptError
from holdtimer.program.models import Defaults, EasyStep, Exercise, Program, Script, resolve
from holdtimer.program.timeline import Easy, Part, PlannedSet, Rung, SetKey, Side, Timeline

Rungs = Mapping[SetKey, str]  # the rung chosen for an exercise on a side, by name
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
    without: Collection[SetKey] = (),
) -> Timeline:
    """Compile one script, the first when none is named, to its timeline, `without` some exercises and sides.

    `rungs` may name a rung by a former name; a rung that is unknown, or not given, is the exercise's start.
    `first_sides` is asked for exercises whose first side is the weaker one. Raises UnknownScriptError.
    """
    script = find_script(program, script_id)
    parts: list[Part] = []
    sets = 0
    rested_s = inf  # since the last window closed; before the first there was none
    for step in script.steps:
        if isinstance(step, EasyStep):
            rest_s = (step.rest_s or 0.0) if parts else 0.0
            parts.append(Easy(len(parts), step.easy, step.seconds, step.setup, step.needs, rest_s))
            rested_s += rest_s + step.seconds
            continue
        exercise = program.exercises[step.exercise]
        settings = resolve(program, exercise, step)
        rungs_by_side = _rungs_by_side(step.exercise, exercise, rungs or {})
        least_rest_s = settings.rest_s
        for side in _sides(step.exercise, exercise, rungs_by_side, first_sides or {}):
            if (step.exercise, side) in without:
                continue
            sets += 1
            rest_s = max(0.0, least_rest_s - rested_s)
            place = len(parts), sets, step.exercise
            parts.append(_planned_set(place, exercise, settings, side, rungs_by_side[side], rest_s))
            rested_s, least_rest_s = 0.0, settings.side_rest_s
    return Timeline(program.id, program.title, script.id, script.title, tuple(parts))


def _rungs_by_side(key: str, exercise: Exercise, rungs: Rungs) -> dict[Side, int]:
    """Return the rung of each side, as its place on the ladder: the one chosen, else the start."""
    start = exercise.rung_index(exercise.start or "") or 0
    found: dict[Side, int] = {}
    for side in get_args(Side):
        chosen = exercise.rung_index(rungs.get((key, side), ""))
        found[side] = start if chosen is None else chosen
    return found


def _sides(
    key: str, exercise: Exercise, rungs_by_side: Mapping[Side, int], first_sides: FirstSides
) -> tuple[Side, ...]:
    """Return the sides of an exercise in the order they are done."""
    if exercise.sides == "both":
        return ("both",)
    first: str = exercise.first_side or "left"
    if first == "weaker":
        weaker: Side = "right" if rungs_by_side["right"] < rungs_by_side["left"] else "left"
        first = first_sides.get(key, weaker)
    return ("right", "left") if first == "right" else ("left", "right")


def _planned_set(
    place: tuple[int, int, str], exercise: Exercise, settings: Defaults, side: Side, rung: int, rest_s: float
) -> PlannedSet:
    part, number, key = place
    low, high = settings.band_s
    return PlannedSet(
        part=part,
        set=number,
        exercise=key,
        name=exercise.name,
        kind=exercise.kind,
        side=side,
        ladder=tuple(Rung(r.rung, r.load, r.how, r.needs, r.way_out, r.was) for r in exercise.ladder),
        rung_index=rung,
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


def seconds_of(text: str | None) -> tuple[float, float, float, float] | None:
    """Return a tempo in seconds to lower, pause, lift and pause; None where there is none."""
    if text is None:
        return None
    lower, pause, lift, hold = (float(part) for part in text.split("-"))
    return lower, pause, lift, hold
