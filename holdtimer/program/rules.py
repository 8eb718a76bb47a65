"""The rules between the values of a program file, each a generator of (key path, what is wrong).

A rule that touches a value which is wrong in itself stops and says nothing: see `lenient`.
"""

import re
from collections.abc import Collection, Iterator, Mapping

from holdtimer.errors import KeyPath
from holdtimer.program.lenient import INVALID, unless_invalid
from holdtimer.program.models import (
    ID_PATTERN,
    Defaults,
    Exercise,
    ExerciseStep,
    FunctionTest,
    Program,
    Script,
    TrialStep,
    resolve,
)
from holdtimer.text import did_you_mean, harmless

Finding = tuple[KeyPath, str]


def broken_rules(program: Program) -> Iterator[Finding]:
    """Yield every rule between values that the program breaks."""
    for rule in (_per_week, _defaults_fit, _script_ids, _exercise_rules, _test_rules, _script_rules):
        yield from rule(program)


# ---- the whole program


@unless_invalid
def _per_week(program: Program) -> Iterator[Finding]:
    low, high = program.spacing.per_week
    if low > high or high == 0:
        yield (
            ("spacing", "per_week"),
            f"per_week is [{low}, {high}]; write the fewest and the most sessions in 7 days, such as [1, 3]",
        )


@unless_invalid
def _defaults_fit(program: Program) -> Iterator[Finding]:
    yield from _fit(program.defaults, program.defaults.model_fields_set, ("defaults",))


@unless_invalid
def _script_ids(program: Program) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, script in enumerate(program.scripts):
        if script.id in seen:
            yield (
                ("scripts", index, "id"),
                f'another script before it has the id "{script.id}"; give each script its own',
            )
        seen.add(script.id)


# ---- window, band and final stretch


def _fit(settings: Defaults, given: Collection[str], path: KeyPath) -> Iterator[Finding]:
    """Find where the resolved band and final stretch don't fit, at a key that was given on this level."""
    if "band_s" in given or "window_s" in given:
        yield from _band_fits(settings, (*path, "band_s" if "band_s" in given else "window_s"))
    if "final_s" in given or "window_s" in given:
        yield from _final_fits(settings, (*path, "final_s" if "final_s" in given else "window_s"))


@unless_invalid
def _band_fits(settings: Defaults, path: KeyPath) -> Iterator[Finding]:
    low, high = settings.band_s
    if low >= high:
        yield path, f"the band is {low:g} to {high:g} s; it must rise, such as [60, 90]"
    elif high > settings.window_s:
        yield (
            path,
            f"the band ends at {high:g} s and the window at {settings.window_s:g} s; "
            "the band must be inside the window, so change band_s or window_s here",
        )


@unless_invalid
def _final_fits(settings: Defaults, path: KeyPath) -> Iterator[Finding]:
    if settings.final_s >= settings.window_s:
        yield (
            path,
            f"the final stretch is {settings.final_s:g} s and the window is {settings.window_s:g} s; "
            "it must be shorter than the window, so change final_s or window_s here",
        )


# ---- exercises


@unless_invalid
def _exercise_rules(program: Program) -> Iterator[Finding]:
    for key, exercise in program.exercises.items():
        path: KeyPath = ("exercises", key)
        yield from _id(key, "an exercise", path)
        yield from _exercise_fits(program, exercise, path)
        for rule in (_sides, _tempo, _start, _rung_names, _loads):
            yield from rule(exercise, path)
        yield from _back_in(program, exercise, path)


@unless_invalid
def _id(key: str, what: str, path: KeyPath) -> Iterator[Finding]:
    if len(key) > 60 or not re.fullmatch(ID_PATTERN, key):
        yield (
            path,
            f'"{harmless(key)}" can\'t be the id of {what}; use at most 60 letters, digits, - and _',
        )


@unless_invalid
def _exercise_fits(program: Program, exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    yield from _fit(resolve(program, exercise), exercise.given(), path)


@unless_invalid
def _sides(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    for key in ("first_side", "side_rest_s"):
        if getattr(exercise, key) is not None and exercise.sides == "both":
            yield (*path, key), f'{key} is only for sides = "each"; leave it out, or write sides = "each"'


@unless_invalid
def _tempo(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    if exercise.tempo is None:
        return
    seconds = sum(float(part) for part in exercise.tempo.split("-"))
    if exercise.kind != "reps":
        yield (*path, "tempo"), 'tempo is only for kind = "reps"; leave it out, or write kind = "reps"'
    elif not 1 <= seconds <= 30:
        yield (*path, "tempo"), f"tempo is {seconds:g} s a repetition; it must add up to 1 to 30 s"


@unless_invalid
def _start(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    names = [rung.rung for rung in exercise.ladder]
    if exercise.start is not None and exercise.start not in names:
        yield (
            (*path, "start"),
            f'"{harmless(exercise.start)}" is not a rung of this ladder{did_you_mean(exercise.start, names)}',
        )


@unless_invalid
def _rung_names(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, rung in enumerate(exercise.ladder):
        if rung is INVALID:
            continue
        if rung.rung in seen:
            yield (
                (*path, "ladder", index),
                f'two rungs are called "{rung.rung}"; give each rung its own name',
            )
        seen.add(rung.rung)
    yield from _former_names(exercise, path, seen)


def _former_names(exercise: Exercise, path: KeyPath, names: set[str]) -> Iterator[Finding]:
    former: set[str] = set()
    for index, rung in enumerate(exercise.ladder):
        for old in rung.was:
            if old in names or old in former:
                yield (
                    (*path, "ladder", index, "was"),
                    f'"{old}" is already the name or a former name of another rung; use each name once',
                )
            former.add(old)


@unless_invalid
def _loads(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    given = [(index, rung) for index, rung in enumerate(exercise.ladder) if rung.load is not None]
    if given and len(given) < len(exercise.ladder):
        without = next(index for index, rung in enumerate(exercise.ladder) if rung.load is None)
        yield (
            (*path, "ladder", without),
            f'rung "{exercise.ladder[without].rung}" has no load, but others do; give all a load, or none',
        )
    last = 0.0
    for index, rung in given:
        load = rung.load or 0.0
        if load <= last:
            yield (
                (*path, "ladder", index, "load"),
                f'load of "{rung.rung}" is {load:g}, after {last:g}; loads must rise, easiest rung first',
            )
        last = load


@unless_invalid
def _back_in(program: Program, exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    if exercise.back_in is None and resolve(program, exercise).reentry is True:
        yield (
            (*path, "back_in"),
            f'"back_in" is missing in exercise "{harmless(str(path[-1]))}"; '
            "say how to get back in after failure, or write reentry = false",
        )


# ---- function tests

_ONLY_FOR: Mapping[str, tuple[str, ...]] = {
    "variant": ("chair-stand-30", "five-stands"),
    "seat_cm": ("chair-stand-30", "five-stands", "up-and-go"),
    "lane_m": ("timed-walk",),
    "pace": ("timed-walk",),
    "start": ("timed-walk",),
    "aid": ("timed-walk", "up-and-go"),
}
"""The protocols that a key of a test belongs to."""


@unless_invalid
def _test_rules(program: Program) -> Iterator[Finding]:
    for key, test in program.tests.items():
        path: KeyPath = ("tests", key)
        yield from _id(key, "a test", path)
        yield from test_rules(test, path)


def test_rules(test: FunctionTest, path: KeyPath) -> Iterator[Finding]:
    """Yield every rule between the values of one function test that it breaks."""
    for rule in (_only_for, _variant, _lane, _aid):
        yield from rule(test, path)


@unless_invalid
def _only_for(test: FunctionTest, path: KeyPath) -> Iterator[Finding]:
    for key, protocols in _ONLY_FOR.items():
        if getattr(test, key) is not None and test.protocol not in protocols:
            others = " or ".join(f'"{each}"' for each in protocols)
            yield (*path, key), f"{key} is only for protocol = {others}; leave it out"


@unless_invalid
def _variant(test: FunctionTest, path: KeyPath) -> Iterator[Finding]:
    if test.protocol == "chair-stand-30" and test.variant is None:
        yield (
            path,
            f'"variant" is missing in test "{harmless(str(path[-1]))}"; '
            'write variant = "crossed" or, if you need the armrests, variant = "hands"',
        )
    elif test.protocol == "five-stands" and test.variant == "hands":
        yield (
            (*path, "variant"),
            'five stands are done with arms crossed; with hands, use protocol = "chair-stand-30"',
        )


@unless_invalid
def _lane(test: FunctionTest, path: KeyPath) -> Iterator[Finding]:
    if test.protocol == "timed-walk" and test.lane_m is None:
        yield (
            path,
            f'"lane_m" is missing in test "{harmless(str(path[-1]))}"; '
            "give the metres between the two lines, such as lane_m = 6.0",
        )


@unless_invalid
def _aid(test: FunctionTest, path: KeyPath) -> Iterator[Finding]:
    if test.aid is not None and re.search(r"\b(arm|helper|hand)\b", test.aid.lower()):
        yield (
            (*path, "aid"),
            f'aid is "{harmless(test.aid)}"; a walk can\'t be timed while someone holds you; '
            'name the aid, such as aid = "one stick"',
        )


# ---- scripts and their steps


@unless_invalid
def _script_rules(program: Program) -> Iterator[Finding]:
    for index, script in enumerate(program.scripts):
        path: KeyPath = ("scripts", index)
        yield from _weeks(script, path)
        yield from _step_rules(program, script, path)


@unless_invalid
def _weeks(script: Script, path: KeyPath) -> Iterator[Finding]:
    weeks = script.weeks
    if weeks is not None and list(weeks) != sorted(set(weeks)):
        yield (*path, "weeks"), "weeks must rise, each week once, such as [1, 2, 3, 4]"
    if weeks is not None and script.every_weeks is not None:
        yield (
            (*path, "every_weeks"),
            "a script with every_weeks is due by itself; leave out either weeks or every_weeks",
        )


@unless_invalid
def _step_rules(program: Program, script: Script, path: KeyPath) -> Iterator[Finding]:
    is_rested = True
    for index, step in enumerate(script.steps):
        where = (*path, "steps", index)
        if isinstance(step, ExerciseStep):
            is_rested = False
            yield from _step(program, step, where)
        elif isinstance(step, TrialStep):
            yield from _test_step(program, step, where)
            if not is_rested:
                yield (*where, "test"), "a test is done rested; put it before the exercises of this script"


@unless_invalid
def _step(program: Program, step: ExerciseStep, path: KeyPath) -> Iterator[Finding]:
    exercise = program.exercises.get(step.exercise)
    if exercise is None:
        yield (
            (*path, "exercise"),
            f'there is no exercise "{harmless(step.exercise)}" in this file'
            f"{_meant(program.exercises, step.exercise)}",
        )
        return
    if fault := next(_id(step.exercise, "an exercise", (*path, "exercise")), None):
        yield fault
        return
    yield from _fit(resolve(program, exercise, step), step.given(), path)
    if step.side_rest_s is not None and exercise.sides == "both":
        yield (*path, "side_rest_s"), f'"{step.exercise}" is one set for both sides; leave side_rest_s out'
    if step.reentry is True and exercise.back_in is None and not resolve(program, exercise).reentry:
        yield (
            (*path, "reentry"),
            f'exercise "{step.exercise}" has no back_in; give it one, or write reentry = false here',
        )


@unless_invalid
def _test_step(program: Program, step: TrialStep, path: KeyPath) -> Iterator[Finding]:
    if step.test not in program.tests:
        yield (
            (*path, "test"),
            f'there is no test "{harmless(step.test)}" in this file{_meant(program.tests, step.test)}',
        )


def _meant(tables: Mapping[str, Exercise] | Mapping[str, FunctionTest], name: str) -> str:
    """Return the end of a message: the id of the table of this name, else the nearest id."""
    for key, table in tables.items():
        if table is not INVALID and table.name is not INVALID and table.name == name:
            return f'; did you mean "{key}"?'
    return did_you_mean(name, tables)
