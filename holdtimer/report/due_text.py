"""What is due, in words."""

from collections.abc import Iterator

from holdtimer.progression.due import Due, DueSet
from holdtimer.report.words import clock
from holdtimer.script.models import Program


def due_lines(due: Due, program: Program) -> Iterator[str]:
    """Yield what is due next: the script, from when, and each exercise at its rung with the reason."""
    script = next((each.title for each in program.scripts if each.id == due.script), due.script)
    yield f"{program.title}, week {due.week}: script {due.script}, {script}"
    yield due.when
    if due.hold is not None:
        yield "`holdtimer run` asks whether it has settled or was checked, and goes on after your answer"
    if due.spacing.warning and not due.is_easy:
        yield due.spacing.warning
    if due.easy_day:
        yield f"until then, if you like: the easy day, script {due.easy_day}"
    yield f"hard sessions in the last 7 days: {due.spacing.done_last_7_days}"
    for each in due.sets:
        yield ""
        yield from _set_lines(each, program)
    for left_out in due.left_out:
        yield f"left out: {left_out}"


def _set_lines(each: DueSet, program: Program) -> Iterator[str]:
    verdict = each.outlook.verdict
    side = "" if each.side == "both" else f", {each.side}"
    name = program.exercises[each.exercise].name
    yield f"{name}{side}: {'paused' if verdict.paused else each.rung}"
    yield f"  {verdict.word}, because {verdict.because}"
    if each.outlook.expected_s is not None:
        low, middle, high = (clock(seconds) for seconds in each.outlook.expected_s)
        yield f"  expected about {middle} s, most days {low} to {high} s"
    if verdict.would_change:
        yield f"  {verdict.would_change}"
