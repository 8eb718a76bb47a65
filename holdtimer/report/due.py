"""What is due next, as a table and as the JSON document of `next --json`."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any

from holdtimer.program.compiling import compile_script
from holdtimer.program.models import Program
from holdtimer.program.timeline import PlannedSet, SetKey
from holdtimer.progression.due import Due, DueSet
from holdtimer.progression.history import Result
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.pages import PageText
from holdtimer.report.table import (
    Axis,
    Block,
    Column,
    Drawing,
    Glyphs,
    Row,
    Table,
    Words,
    drawn_column,
    expectation,
)
from holdtimer.report.text import is_by_rule, reason_words, script_title, set_name, verdict_word
from holdtimer.text import at_least, clock, counted, in_seconds, sentence

NOTHING_DUE_JSON: dict[str, Any] = {
    "format": 1,
    "program": None,
    "script": None,
    "week": None,
    "ready": False,
    "hold": None,
    "earliest_start": None,
    "done_last_7_days": 0,
    "sets": [],
}


def due_page(due: Due, program: Program, person: str, tests_too: Sequence[str] = ()) -> PageText:
    """Return the page of what is due now for a person: a tap begins it."""
    *others, last = (words.text for words in _around(due, program))
    table = replace(_table(due, program), legend=None, explained="") if due.sets else None
    tests = [each.name for each in due.tests]
    lines = (f"{person}, {last}", *others, *tests, *_remarks(due, tests_too))
    return PageText(script_title(program, due.script), lines, "begin", table=table)


def due_blocks(due: Due, program: Program, tests_too: Sequence[str] = ()) -> Iterator[Block]:
    """Yield what is due and from when, each set in a row, and the rule that decides what comes after it.

    `tests_too` are function tests of other programs that are due too.
    """
    if due.hold is not None:
        yield Words(sentence(due.when), "alarm")
    else:
        yield Words(f"{script_title(program, due.script)}: {due.when}.", "strong")
    yield from _around(due, program)
    if due.sets:
        yield Words("")
        yield _table(due, program)
    if due.tests:
        yield Words("")
        yield from (Words(", ".join((each.name, *each.conditions()))) for each in due.tests)
    yield from map(Words, _remarks(due, tests_too))
    if due.sets and due.hold is None:
        yield Words("")
        yield Words(_rule(due, program))


def _rested(due: Due) -> str:
    """Return what makes the results of tests comparable: rested, and at the same time of day."""
    if due.tested is None:
        return "Function tests: rested, before any hard set. The first time is practice."
    at = f"{due.tested.astimezone(due.spacing.now.tzinfo):%H:%M}"
    return f"Function tests: rested, before any hard set, and like last time at about {at}."


def _remarks(due: Due, tests_too: Sequence[str]) -> Iterator[str]:
    """Yield what else is to be known; of tests of other programs only where one is rested."""
    yield from (f"{each}." for each in due.new_series)
    if due.hold is None and due.spacing.ready:
        yield from (f"Function tests are due, before any hard set: {each}." for each in tests_too)
    yield from (f"left out: {each}" for each in due.left_out)


def _around(due: Due, program: Program) -> Iterator[Words]:
    """Yield what is to be known before it begins."""
    if due.hold is not None:
        yield Words("Not today. `holdtimer run` asks what must be so before you go on.")
    warning = due.warning
    if warning:
        yield Words(sentence(warning))
    if due.easy_day:
        yield Words(f"Until then, if you like: {script_title(program, due.easy_day)}.")
    if shared := _shared_reason(due):
        yield Words(sentence(shared))
    done = due.spacing.done_last_7_days
    if due.tests and due.tests_from is None and due.hold is None:
        yield Words(_rested(due))
    is_said = warning and due.spacing.capped
    lately = f", {counted(done, 'hard session')} in the last 7 days" if done and not is_said else ""
    what = f": {script_title(program, due.script)}" if due.hold is not None else ""
    yield Words(f"{program.title}{what}, week {due.week}{lately}")


def _table(due: Due, program: Program) -> Table:
    planned = _planned(due, program)
    axis_s = max(each.window_s for each in planned.values())
    bands = {at for each in planned.values() for at in each.band_s}
    columns = (
        Column(is_name=True),
        Column("last", is_right=True),
        Column("next"),
        drawn_column(axis_s, bands),
        Column("expected"),
    )
    return Table(
        columns,
        tuple(_row(each, due, program, planned, axis_s) for each in due.sets),
        _legend,
        _explained(due),
    )


def _legend(glyphs: Glyphs) -> str:
    return f"{glyphs.middle} expected, {glyphs.likely} on most days."


def _explained(due: Due) -> str:
    """Return what the brackets behind an expected time are."""
    has_any = due.hold is None and any(each.outlook.expected_s for each in due.sets)
    return "In brackets: on most days; + means at least." if has_any else ""


def _planned(due: Due, program: Program) -> dict[SetKey, PlannedSet]:
    """Return each exercise and side that is due as it is planned, its first set."""
    found: dict[SetKey, PlannedSet] = {}
    for each in compile_script(program, due.script, due.rungs, due.first_sides).sets:
        found.setdefault((each.exercise, each.side), each)
    return found


def _row(each: DueSet, due: Due, program: Program, planned: dict[SetKey, PlannedSet], axis_s: float) -> Row:
    name = set_name(program.exercises[each.exercise].name, each.side, each.rung)
    if due.hold is not None:  # why has been said once
        return Row((name, "", "", "", ""))
    verdict, expected = each.outlook.verdict, each.outlook.expected_s
    target = planned[each.exercise, each.side]
    drawing: Drawing | str = ""
    if expected is not None and not verdict.paused:
        drawing = partial(_expected, expected, target, axis_s)
    return Row(
        cells=(
            name,
            _last(verdict, each.outlook.last),
            verdict_word(verdict),
            drawing,
            "" if expected is None or verdict.paused else expected_words(expected, target.window_s),
        ),
        notes=(Words(why),) if (why := _why(verdict, _shared_reason(due))) else (),
        strong=frozenset({2} if verdict.word != "same" or verdict.paused else ()),
    )


def _expected(
    expected: tuple[float, float, float], target: PlannedSet, axis_s: float, width: int, glyphs: Glyphs
) -> str:
    return expectation(expected, target.window_s, target.band_s, Axis(axis_s, width), glyphs)


def _last(verdict: Verdict, last: Result | None) -> str:
    """Return the last result that counts, and the one before where the verdict rests on both."""
    if verdict.reason == "early again":
        times = [clock(each.lasted_s) for each in verdict.evidence]
        return f"{', '.join(times[:-1])}, {in_seconds(verdict.evidence[-1].lasted_s)}"
    if last is None or not last.counted:
        return ""
    return "to end" if last.failed_s is None else in_seconds(last.failed_s)


_SAID_AHEAD = ("paused", "pain", "soon after pain", "undone", "forecast")  # what changes others is the rule


def _shared_reason(due: Due) -> str:
    """Return the reason that all sets have, which is named once; nothing where they differ."""
    reasons = {_reason(each.outlook.verdict)[0] for each in due.sets}
    return reasons.pop() if due.hold is None and len(reasons) == 1 and len(due.sets) > 1 else ""


def _why(verdict: Verdict, shared: str) -> str:
    """Return the reason of a verdict that neither the rule nor all others have, and what would change it."""
    reason, more = _reason(verdict)
    said = [each for each in (reason if reason != shared else "", more) if each]
    ahead = verdict.would_change if verdict.reason in _SAID_AHEAD else ""
    return " ".join(sentence(each) for each in ("; ".join(said), ahead) if each)


def _reason(verdict: Verdict) -> tuple[str, str]:
    """Return why, and what follows from the ends of the ladder; nothing where it is as the rule has it."""
    if verdict.reason == "first time" or is_by_rule(verdict):
        return "", ""
    reason, _, more = reason_words(verdict, has_result=False).partition("; ")
    return reason, more


def _rule(due: Due, program: Program) -> str:
    """Return how the next verdict is come to, with the seconds where they are the same for all sets."""
    planned = _planned(due, program).values()
    bands = {each.band_s for each in planned}
    after = "" if all(each.band_s[1] >= each.window_s for each in planned) else ", or after it"
    inside, early = "in the band", "before it, or once before half of its start"
    if len(bands) == 1:
        ((low, high),) = bands
        inside = f"in the band, {clock(low)}-{in_seconds(high)}"
        early = f"before {in_seconds(low)}, or once before {in_seconds(low / 2)}"
    return f"Failure {inside}: the same again. To the end{after}: harder. Twice in a row {early}: easier."


def expected_words(expected_s: tuple[float, float, float], window_s: float) -> str:
    """Return when failure is expected (s: from, middle, to); a window ends whatever could come after it."""
    low, middle, high = expected_s
    if low >= window_s:
        return "to end"
    if middle >= window_s:
        return at_least(low)
    return f"{in_seconds(middle)} ({clock(low)}{f'-{clock(high)}' if high < window_s else '+'})"


# ---- as JSON


def due_to_json(due: Due) -> dict[str, Any]:
    """Return the content of `next --json`; seconds to the hundredth, times to the second that has begun."""
    return {
        "format": 1,
        "program": due.program,
        "script": due.script,
        "week": due.week,
        "ready": due.ready,
        "hold": due.hold,
        "earliest_start": _to_the_second(due.earliest_start),
        "done_last_7_days": due.spacing.done_last_7_days,
        "sets": [_set_to_json(each) for each in due.sets],
    }


def _set_to_json(due: DueSet) -> dict[str, Any]:
    verdict, expected = due.outlook.verdict, due.outlook.expected_s
    return {
        "exercise": due.exercise,
        "side": due.side,
        "rung": due.rung,
        "verdict": verdict.word,
        "paused": verdict.paused,
        "because": verdict.because,
        "expected_s": None if expected is None else [round(each, 2) for each in expected],
        "evidence": [_evidence_to_json(each) for each in verdict.evidence],
    }


def _evidence_to_json(result: Result) -> dict[str, Any]:
    return {
        "session": result.session,
        "first_failure_s": result.failed_s,
        "ran_to_end": result.done.ran_to_end,
        "counted": result.counted,
    }


def _to_the_second(moment: datetime | None) -> str | None:
    """Return a time in ISO 8601, never earlier than it is."""
    if moment is None:
        return None
    part = timedelta(microseconds=(-moment.microsecond) % 1_000_000)
    return (moment.astimezone(UTC) + part).astimezone(moment.tzinfo).isoformat(timespec="seconds")
