"""What must hold between the values of a program file, each rule a generator of (key path, what is wrong).

A rule that touches a value which is faulty in itself stops and says nothing: see `soundness`.
"""

import re
from collections.abc import Callable, Iterable, Iterator

from holdtimer.errors import KeyPath
from holdtimer.program.lenient import UNSOUND, UnsoundValueError
from holdtimer.program.models import ID_PATTERN, Defaults, Exercise, ExerciseStep, Program, Script, resolve
from holdtimer.text import did_you_mean, harmless

Finding = tuple[KeyPath, str]


def broken_rules(program: Program) -> Iterator[Finding]:
    """Yield every rule between values that the program breaks."""
    for rule in (_per_week, _defaults_fit, _script_ids):
        yield from _quietly(rule, program)
    yield from _quietly(_exercise_rules, program)
    yield from _quietly(_script_rules, program)


def _quietly(rule: Callable[..., Iterable[Finding]], *args: object) -> Iterator[Finding]:
    try:
        yield from rule(*args)
    except UnsoundValueError:
        return


# ---- the whole program


def _per_week(program: Program) -> Iterator[Finding]:
    low, high = program.spacing.per_week
    if low > high or high == 0:
        yield (
            ("spacing", "per_week"),
            f"per_week is [{low}, {high}]; write the least, then the most sessions in 7 days, such as [1, 3]",
        )


def _defaults_fit(program: Program) -> Iterator[Finding]:
    given = program.defaults.model_fields_set
    yield from _fit(program.defaults, set(given), ("defaults",))


def _script_ids(program: Program) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, script in enumerate(program.scripts):
        if script.id in seen:
            yield (
                ("scripts", index, "id"),
                f'a script before this one has the id "{script.id}" too; each needs its own',
            )
        seen.add(script.id)


# ---- window, band and final stretch


def _fit(settings: Defaults, given: set[str], path: KeyPath) -> Iterator[Finding]:
    """Find where the resolved band and final stretch don't fit, at a key that was given on this level."""
    if given & {"band_s", "window_s"}:
        yield from _quietly(_band_fits, settings, (*path, "band_s" if "band_s" in given else "window_s"))
    if given & {"final_s", "window_s"}:
        yield from _quietly(_final_fits, settings, (*path, "final_s" if "final_s" in given else "window_s"))


def _band_fits(settings: Defaults, path: KeyPath) -> Iterator[Finding]:
    low, high = settings.band_s
    if low >= high:
        yield path, f"the band is {low:g} to {high:g} s; it must rise, such as [60, 90]"
    elif high > settings.window_s:
        yield (
            path,
            f"the band ends at {high:g} s and the window at {settings.window_s:g} s; "
            "the band must lie inside the window, so change band_s or window_s here",
        )


def _final_fits(settings: Defaults, path: KeyPath) -> Iterator[Finding]:
    if settings.final_s >= settings.window_s:
        yield (
            path,
            f"the final stretch is {settings.final_s:g} s and the window {settings.window_s:g} s; "
            "it must be shorter than the window, so change final_s or window_s here",
        )


# ---- exercises


def _exercise_rules(program: Program) -> Iterator[Finding]:
    for key, exercise in program.exercises.items():
        path: KeyPath = ("exercises", key)
        yield from _quietly(_exercise_id, key, path)
        yield from _quietly(_exercise_fits, program, exercise, path)
        for rule in (_sides, _tempo, _start, _rung_names, _loads):
            yield from _quietly(rule, exercise, path)
        yield from _quietly(_back_in, program, exercise, path)


def _exercise_id(key: str, path: KeyPath) -> Iterator[Finding]:
    if len(key) > 60 or not re.fullmatch(ID_PATTERN, key):
        yield (
            path,
            f'"{harmless(key)}" can\'t be the id of an exercise; use at most 60 letters, digits, - and _',
        )


def _exercise_fits(program: Program, exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    yield from _fit(resolve(program, exercise), set(exercise.given()), path)


def _sides(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    for key in ("first_side", "side_rest_s"):
        if getattr(exercise, key) is not None and exercise.sides == "both":
            yield (*path, key), f'{key} is only for sides = "each"; leave it out, or write sides = "each"'


def _tempo(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    if exercise.tempo is None:
        return
    seconds = sum(float(part) for part in exercise.tempo.split("-"))
    if exercise.kind != "reps":
        yield (*path, "tempo"), 'tempo is only for kind = "reps"; leave it out, or write kind = "reps"'
    elif not 1 <= seconds <= 30:
        yield (*path, "tempo"), f"tempo is {seconds:g} s a repetition; it must be from 1 to 30 s together"


def _start(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    names = [rung.rung for rung in exercise.ladder]
    if exercise.start is not None and exercise.start not in names:
        yield (
            (*path, "start"),
            f'"{harmless(exercise.start)}" is no rung of this ladder{did_you_mean(exercise.start, names)}',
        )


def _rung_names(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    seen: set[str] = set()
    for index, rung in enumerate(exercise.ladder):
        if rung is UNSOUND:
            continue
        if rung.rung in seen:
            yield (
                (*path, "ladder", index),
                f'two rungs are called "{rung.rung}"; each needs a name of its own',
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
                    f'"{old}" is the name, or a former name, of another rung; each may stand once',
                )
            former.add(old)


def _loads(exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    given = [(index, rung) for index, rung in enumerate(exercise.ladder) if rung.load is not None]
    if given and len(given) < len(exercise.ladder):
        without = next(index for index, rung in enumerate(exercise.ladder) if rung.load is None)
        yield (
            (*path, "ladder", without),
            f'rung "{exercise.ladder[without].rung}" has no load but others do; give each rung one, or none',
        )
    last = 0.0
    for index, rung in given:
        load = rung.load or 0.0
        if load <= last:
            yield (
                (*path, "ladder", index, "load"),
                f'load of "{rung.rung}" is {load:g} after {last:g}; loads must rise, easiest rung first',
            )
        last = load


def _back_in(program: Program, exercise: Exercise, path: KeyPath) -> Iterator[Finding]:
    if exercise.back_in is None and resolve(program, exercise).reentry is True:
        yield (
            (*path, "back_in"),
            f'"back_in" is missing in exercise "{harmless(str(path[-1]))}"; '
            "say how to get back in after failure, or write reentry = false",
        )


# ---- scripts and their steps


def _script_rules(program: Program) -> Iterator[Finding]:
    for index, script in enumerate(program.scripts):
        path: KeyPath = ("scripts", index)
        yield from _quietly(_weeks, script, path)
        yield from _quietly(_step_rules, program, script, path)


def _weeks(script: Script, path: KeyPath) -> Iterator[Finding]:
    weeks = script.weeks
    if weeks is not None and list(weeks) != sorted(set(weeks)):
        yield (*path, "weeks"), "weeks must rise and hold each week once, such as [1, 2, 3, 4]"


def _step_rules(program: Program, script: Script, path: KeyPath) -> Iterator[Finding]:
    for index, step in enumerate(script.steps):
        if isinstance(step, ExerciseStep):
            yield from _quietly(_step, program, step, (*path, "steps", index))


def _step(program: Program, step: ExerciseStep, path: KeyPath) -> Iterator[Finding]:
    exercise = program.exercises.get(step.exercise)
    if exercise is None:
        yield (
            (*path, "exercise"),
            f'there is no exercise "{step.exercise}" in this file'
            + did_you_mean(step.exercise, program.exercises),
        )
        return
    yield from _step_settings(program, exercise, step, path)


def _step_settings(
    program: Program, exercise: Exercise, step: ExerciseStep, path: KeyPath
) -> Iterator[Finding]:
    yield from _fit(resolve(program, exercise, step), set(step.given()), path)
    if step.side_rest_s is not None and exercise.sides == "both":
        yield (*path, "side_rest_s"), f'"{step.exercise}" has one set for both sides; leave side_rest_s out'
    if step.reentry is True and exercise.back_in is None and not resolve(program, exercise).reentry:
        yield (
            (*path, "reentry"),
            f'exercise "{step.exercise}" has no back_in; give it one, or write reentry = false here',
        )
