"""From a script to its timeline: every value resolved, sides in order, shortest rests worked out."""

from collections.abc import Collection, Mapping
from math import inf
from typing import get_args

from holdtimer.errors import UnknownScriptError
from holdtimer.program.models import (
    Defaults,
    EasyStep,
    Exercise,
    FunctionTest,
    Program,
    Script,
    TrialStep,
    resolve,
)
from holdtimer.program.timeline import (
    Easy,
    Part,
    PlannedRung,
    PlannedSet,
    PlannedTest,
    Protocol,
    Series,
    SetKey,
    Side,
    Timeline,
)

Rungs = Mapping[SetKey, str]  # the rung chosen for an exercise on a side, by name
FirstSides = Mapping[str, Side]  # the side that begins, by exercise

# rests of function tests: 1 to 2 minutes between two runs of a test, at least 5 between two tests
_TRIAL_REST_S = 60.0
_TEST_REST_S = 300.0
UP_AND_GO_M = 3.0  # from the chair to the line
_ABOUT_S: Mapping[Protocol, float] = {  # what a trial takes with the questions before it, for the total alone
    "chair-stand-30": 90.0,
    "five-stands": 75.0,
    "timed-walk": 75.0,
    "up-and-go": 75.0,
}


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
    tests = {step.test for step in script.steps if isinstance(step, TrialStep)}
    parts: list[Part] = []
    sets = 0
    rested_s = inf  # since the last window closed; before the first there was none
    for step in script.steps:
        if isinstance(step, EasyStep):
            rest_s = (step.rest_s or 0.0) if parts else 0.0
            parts.append(Easy(len(parts), step.easy, step.seconds, step.setup, step.needs, rest_s))
            rested_s += rest_s + step.seconds
            continue
        if isinstance(step, TrialStep):
            least_s = step.rest_s if step.rest_s is not None else _TEST_REST_S
            parts.append(_planned_test(program, step, parts, tests, max(0.0, least_s - rested_s)))
            rested_s = 0.0
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
        ladder=tuple(PlannedRung(r.rung, r.load, r.how, r.needs, r.way_out, r.was) for r in exercise.ladder),
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


def _planned_test(
    program: Program, step: TrialStep, parts: list[Part], tests: Collection[str], rest_s: float
) -> PlannedTest:
    """Return a test with what its protocol fills in; the easier one where `tests` of the script lack it."""
    test, part = program.tests[step.test], len(parts)
    number = 1 + sum(isinstance(each, PlannedTest) for each in parts)
    trials = step.trials or (2 if test.protocol == "timed-walk" else 1)
    place = part, number, trials, rest_s
    easier = easier_test(program, test)
    instead = None
    if easier is not None and easier not in tests:
        instead = _test_at(place, easier, program.tests[easier], None)
    return _test_at(place, step.test, test, instead)


def easier_test(program: Program, test: FunctionTest) -> str | None:
    """Return the id of the test for who can't stand up without hands; None where the program has none."""
    if test.protocol not in ("chair-stand-30", "five-stands") or test.variant == "hands":
        return None
    stands = ((key, each) for key, each in program.tests.items() if each.protocol == "chair-stand-30")
    return next((key for key, each in stands if each.variant == "hands"), None)


def _test_at(
    place: tuple[int, int, int, float], key: str, test: FunctionTest, easier: PlannedTest | None
) -> PlannedTest:
    part, number, trials, rest_s = place
    return PlannedTest(
        **Series.facts(series_of(test)),
        part=part,
        number=number,
        test=key,
        name=test.name,
        trials=trials,
        rest_s=rest_s,
        trial_rest_s=_TRIAL_REST_S,
        least_s=rest_s + trials * _ABOUT_S[test.protocol] + (trials - 1) * _TRIAL_REST_S,
        way_out=test.way_out,
        needs=test.needs,
        setup=test.setup,
        form=test.form,
        stop=test.stop,
        easier=easier,
    )


def series_of(test: FunctionTest) -> Series:
    """Return the series that results of a test belong to, with what its protocol fills in."""
    is_walk = test.protocol == "timed-walk"
    walks = is_walk or test.protocol == "up-and-go"
    return Series(
        protocol=test.protocol,
        variant=test.variant or ("crossed" if test.protocol == "five-stands" else None),
        seat_cm=test.seat_cm,
        lane_m=test.lane_m or (UP_AND_GO_M if test.protocol == "up-and-go" else None),
        pace=test.pace or ("usual" if walks else None),
        start=test.start or ("standing" if is_walk else None),
        aid=(test.aid or "none") if walks else None,
        presser=test.presser,
    )


def seconds_of(text: str | None) -> tuple[float, float, float, float] | None:
    """Return a tempo in seconds to lower, pause, lift and pause; None where there is none."""
    if text is None:
        return None
    lower, pause, lift, hold = (float(part) for part in text.split("-"))
    return lower, pause, lift, hold
