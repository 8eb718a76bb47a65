"""`check` and `schema`: what is in a program file, and warnings about what is allowed but unwise."""

import math
import sys
from argparse import Namespace
from collections.abc import Iterator
from itertools import pairwise

from holdtimer.cli.output import print_lines
from holdtimer.errors import ExitCode, KeyPath
from holdtimer.program.compiling import compile_script, easier_test
from holdtimer.program.endurance import widest_step
from holdtimer.program.loading import Loaded, find, load
from holdtimer.program.models import (
    Exercise,
    ExerciseStep,
    Program,
    TrialStep,
    resolve,
    schema_text,
)
from holdtimer.program.timeline import Easy, PlannedTest, Timeline
from holdtimer.program.toml import Lines
from holdtimer.text import counted, in_seconds, sanitize, two_times, whole_seconds


def check(args: Namespace) -> int:
    """Print the timeline of a program; ProgramError with every fault where it has any."""
    loaded = load(find(args.program))
    print_lines(describe(loaded.program))
    for warning in warnings(loaded):
        print(sanitize(warning), file=sys.stderr)
    return ExitCode.DONE


def schema(_: Namespace) -> int:
    """Print the JSON Schema of program files."""
    print(schema_text(), end="")
    return ExitCode.DONE


def describe(program: Program) -> list[str]:
    """Return a program in lines: each script at its start rungs, with its shortest times."""
    low, high = program.spacing.per_week
    spacing = f"{low} to {high} hard sessions in 7 days, {program.spacing.recovery_h:g} h apart"
    lines = [f"{program.title} ({program.id})", *([program.about] if program.about else []), spacing]
    for script in program.scripts:
        weeks = f", weeks {', '.join(map(str, script.weeks))}" if script.weeks else ""
        if script.every_weeks:
            weeks = f", every {script.every_weeks} weeks"
        lines += [
            "",
            f"Script {script.id}: {script.title}{weeks}",
            *_timeline(compile_script(program, script.id)),
        ]
    return lines


def _timeline(timeline: Timeline) -> Iterator[str]:
    clock = 0.0
    for part in timeline.parts:
        clock += part.least_s
        if isinstance(part, Easy):
            yield f"  {_clock(clock - part.seconds):>6}  easy: {part.title}, {in_seconds(part.seconds)}"
            continue
        if isinstance(part, PlannedTest):
            trials = (f"{part.trials} trials",) if part.trials > 1 else ()
            about = " . ".join((part.name, *part.conditions(), *trials))
            yield f"  {_clock(clock - part.least_s + part.rest_s):>6}  test {part.number}: {about}"
            continue
        side = "" if part.side == "both" else f", {part.side}"
        band = two_times(part.band_s[0], "to", part.band_s[1])
        about = f"{part.name}{side} . {part.rung.name} . {in_seconds(part.window_s)}, band {band}"
        yield f"  {_clock(clock - part.window_s):>6}  set {part.set}: {about}"
    counts = ((len(timeline.tests), "test"), (len(timeline.sets), "set"))
    kinds = [counted(number, what) for number, what in counts if number]
    kind = " and ".join(kinds) or "easy day"
    yield f"  {_clock(clock):>6}  end: {kind}, at least {_clock(clock)}"
    yield "  you need:" if timeline.needs else "  you need: nothing"
    yield from (f"    {need}" for need in timeline.needs)


def _clock(seconds: float) -> str:
    whole = whole_seconds(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


# ---- warnings


def warnings(loaded: Loaded) -> list[str]:
    """Return `path:line: warning: ...` for what is allowed but unwise, sorted by line."""
    found = list(_unwise(loaded.program))
    if not found:
        return []
    lines = Lines(loaded.text)
    placed = sorted((lines.of(path), message) for path, message in found)
    return [f"{loaded.name}:{line}: warning: {message}" for line, message in placed]


def _unwise(program: Program) -> Iterator[tuple[KeyPath, str]]:
    used = {
        step.exercise for script in program.scripts for step in script.steps if isinstance(step, ExerciseStep)
    }
    for key, exercise in program.exercises.items():
        yield from _wide_steps(program, key, exercise)
        if key not in used:
            yield (
                ("exercises", key),
                f'no script uses exercise "{key}"; add it to one, or take it out',
            )
    yield from _tests(program)
    yield from _tight_spacing(program)


def _tests(program: Program) -> Iterator[tuple[KeyPath, str]]:
    steps = (step for script in program.scripts for step in script.steps)
    used = {step.test for step in steps if isinstance(step, TrialStep)}
    used |= {easier_test(program, program.tests[key]) or key for key in used}
    for key, test in program.tests.items():
        if key not in used:
            yield ("tests", key), f'no script uses test "{key}"; add it to one, or take it out'
        if test.seat_cm is None and test.protocol in ("chair-stand-30", "five-stands"):
            yield (
                ("tests", key),
                f'test "{key}" has no seat_cm; measure the seat, since another chair is another test',
            )


def _wide_steps(program: Program, key: str, exercise: Exercise) -> Iterator[tuple[KeyPath, str]]:
    low, high = resolve(program, exercise).band_s
    widest = widest_step((low, high), exercise.joint)
    for index, (below, above) in enumerate(pairwise(exercise.ladder), start=1):
        if below.load is None or above.load is None or above.load / below.load <= widest * (1 + 1e-9):
            continue
        yield (
            ("exercises", key, "ladder", index),
            f'from "{below.rung}" to "{above.rung}" the load rises {above.load / below.load - 1:.0%}, '
            f"more than the band allows ({widest - 1:.0%}); "
            f"put a rung with load {math.sqrt(below.load * above.load):.3g} between them",
        )


def _tight_spacing(program: Program) -> Iterator[tuple[KeyPath, str]]:
    least, _ = program.spacing.per_week
    hours = program.spacing.recovery_h
    if least * hours > 7 * 24:
        yield (
            ("spacing", "per_week"),
            f"{least} sessions in 7 days leave no room for {hours:g} h of recovery between them",
        )
