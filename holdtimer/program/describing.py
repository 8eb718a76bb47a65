"""What `check` prints of a program without faults, and warnings about what is allowed but unwise."""

import math
from collections.abc import Iterator
from itertools import pairwise

from holdtimer.errors import KeyPath
from holdtimer.program.compiling import compile_script
from holdtimer.program.endurance import widest_step
from holdtimer.program.loading import Loaded
from holdtimer.program.models import Exercise, ExerciseStep, Program, resolve
from holdtimer.program.timeline import Easy, Part, PlannedSet, Timeline


def describe(program: Program) -> list[str]:
    """Return the lines that tell a program: each script at its start rungs, with times at their least."""
    low, high = program.spacing.per_week
    spacing = f"{low} to {high} hard sessions in 7 days, {program.spacing.recovery_h:g} h apart"
    lines = [f"{program.title} ({program.id})", *([program.about] if program.about else []), spacing]
    for script in program.scripts:
        weeks = f", weeks {_weeks(script.weeks)}" if script.weeks else ""
        lines += [
            "",
            f"Script {script.id}: {script.title}{weeks}",
            *_timeline(compile_script(program, script.id)),
        ]
    return lines


def least_seconds(part: Part) -> float:
    """Return how long a part lasts at least: its rest, then its count-in and window, or its easy movement."""
    own = part.seconds if isinstance(part, Easy) else part.count_in_s + part.window_s
    return part.rest_s + own


def total_seconds(timeline: Timeline) -> float:
    """Return how long a session lasts at least, from the first tap to the end of the last part."""
    return sum(least_seconds(part) for part in timeline.parts)


def needed(timeline: Timeline) -> tuple[str, ...]:
    """Return all that must be within reach in a session, each once, in the order it is needed."""
    return tuple(dict.fromkeys(need for part in timeline.parts for need in part.needs))


def _timeline(timeline: Timeline) -> Iterator[str]:
    clock = 0.0
    for part in timeline.parts:
        clock += least_seconds(part)
        own = part.seconds if isinstance(part, Easy) else part.window_s
        yield f"  {_clock(clock - own):>6}  {_easy(part) if isinstance(part, Easy) else _set(part)}"
    count = len(timeline.sets)
    kind = "easy day" if count == 0 else f"{count} set" + ("s" if count > 1 else "")
    yield f"  {_clock(clock):>6}  end: {kind}, {_clock(clock)} at least"
    yield "  needed:" if needed(timeline) else "  needed: nothing"
    yield from (f"    {need}" for need in needed(timeline))


def _easy(part: Easy) -> str:
    return f"easy: {part.title}, {part.seconds:g} s"


def _set(part: PlannedSet) -> str:
    side = "" if part.side == "both" else f", {part.side}"
    low, high = part.band_s
    return (
        f"set {part.set}: {part.name}{side} . {part.rung.name} . {part.window_s:g} s, band {low:g}-{high:g} s"
    )


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def _weeks(weeks: tuple[int, ...]) -> str:
    return ", ".join(str(week) for week in weeks)


# ---- warnings


def warnings(loaded: Loaded) -> list[str]:
    """Return `path:line: warning: ...` for what is allowed but unwise, sorted by line."""
    found = list(_unwise(loaded.program))
    if not found:
        return []
    from holdtimer.program.toml import Lines  # brings the parser: only when there is a line to find

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
            yield ("exercises", key), f'no script uses exercise "{key}"'
    yield from _tight_spacing(program)


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
            f"put a rung with load {math.sqrt(below.load * above.load):.3g} between",
        )


def _tight_spacing(program: Program) -> Iterator[tuple[KeyPath, str]]:
    least, _ = program.spacing.per_week
    hours = program.spacing.recovery_h
    if least * hours > 7 * 24:
        yield (
            ("spacing", "per_week"),
            f"{least} sessions in 7 days can't be kept with {hours:g} h of recovery between them",
        )
