"""What has changed over the weeks, as tables and as the JSON document of `trend --json`."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from holdtimer.program.models import Program
from holdtimer.progression.history import Result
from holdtimer.progression.trend import NO_DIFFERENCE, ExerciseTrend, SideBySide, SideTime, Trend
from holdtimer.report.function import strength_words
from holdtimer.report.table import (
    ANOTHER_RUNG,
    Bar,
    Block,
    Column,
    Glyphs,
    Row,
    Table,
    Words,
    curve,
    curve_columns,
)
from holdtimer.report.text import set_name
from holdtimer.text import at_least, counted, in_seconds, sentence

LEAST_CURVE, MOST_CURVE = 8, 40

_EXPLAINED = "Usual is the middle of the last six weeks at this rung; + means at least."


def trend_blocks(trend: Trend, program: Program) -> Iterator[Block]:
    """Yield what is certain, each exercise and side in a row, both sides compared, and the sessions kept."""
    yield Words(_certain(trend), "strong")
    yield Words(program.title)
    if trend.items:
        yield Words("")
        yield _over_the_weeks(trend, program)
    compared = [each for each in trend.sides if each.left is not None and each.right is not None]
    if compared:
        yield Words("")
        yield _side_by_side(compared, program)
        if any(each.weaker is None for each in compared):
            yield Words(f"neither: {NO_DIFFERENCE}")
    if trend.kept:
        yield Words("")
        yield Words(f"hard sessions: {_kept(trend)}")
    yield from (Words(f"left out: {each}") for each in trend.left_out)


def strength_of(trend: Trend) -> str:
    """Return what is certain of strength, for the sentence that puts it beside function tests."""
    changed = [each.said for each in trend.items if each.is_certain]
    return strength_words(changed.count("stronger"), changed.count("weaker"), len(trend.items))


def _certain(trend: Trend) -> str:
    """Return in a sentence what does not look like chance."""
    if not trend.items:
        return "No result counts yet."
    changed = [each.said for each in trend.items if each.is_certain]
    weaker = [each.weaker for each in trend.sides if each.weaker is not None]
    parts = [
        f"{changed.count(word)} of {len(trend.items)} {word}"
        for word in ("stronger", "weaker")
        if word in changed
    ]
    parts += [
        f"the {side} side weaker in {counted(weaker.count(side), 'exercise')}"
        for side in ("left", "right")
        if side in weaker
    ]
    return f"Certain: {'; '.join(parts)}." if parts else "Nothing is certain yet."


def _over_the_weeks(trend: Trend, program: Program) -> Table:
    columns = (
        Column(is_name=True),
        Column("results", rank=1, least=LEAST_CURVE, most=max(LEAST_CURVE, min(MOST_CURVE, _longest(trend)))),
        Column("usual", is_right=True),
        Column("% a week (95 %)"),
        Column("worked", is_right=True, rank=2),
        Column("sets", is_right=True, rank=3),
    )
    rows: list[Row] = []
    heading = ""
    for item in sorted(trend.items, key=_how_sure):
        rows.append(_row(item, program, "" if item.said == heading else item.said))
        heading = item.said
    return Table(columns, tuple(rows), _legend, _EXPLAINED)


def _legend(glyphs: Glyphs) -> str:
    """Return what the curve shows."""
    least, most = glyphs.levels[0], glyphs.levels[-1]
    return (
        f"Results, oldest first: {least} a third of the window or less, {most} nearly all, "
        f"{glyphs.to_end} to the end, {ANOTHER_RUNG} another rung."
    )


def _longest(trend: Trend) -> int:
    return max(curve_columns(_bars(item.results)) for item in trend.items)


def _how_sure(item: ExerciseTrend) -> tuple[int, str]:
    if item.is_certain:
        return 0, item.said
    return 3 if item.change is None else 1 if item.said.startswith("probably") else 2, item.said


def _row(item: ExerciseTrend, program: Program, heading: str) -> Row:
    bars = _bars(item.results)
    return Row(
        cells=(
            set_name(program.exercises[item.exercise].name, item.side, item.rung),
            partial(curve, bars),
            usual_words(item),
            change_words(item),
            f"{int(100 * item.tension)} %",
            str(item.sets),
        ),
        notes=(Words(sentence(item.climbed)),) if item.climbed else (),
        heading=heading,
    )


def _bars(results: Sequence[Result]) -> tuple[Bar, ...]:
    return tuple(
        Bar(None if each.failed_s is None else each.failed_s / each.done.window_s, each.rung)
        for each in results
    )


def usual_words(item: ExerciseTrend) -> str:
    """Return the typical time: "65 s", "90+ s" where it is at least so long."""
    return (at_least if item.typical.is_at_least else in_seconds)(item.typical.seconds)


def change_words(item: ExerciseTrend) -> str:
    """Return the change per week in per cent with its 95 % interval; nothing where there is none."""
    return "{} ({} to {})".format(*figures) if (figures := change_figures(item)) else ""


def change_figures(item: ExerciseTrend) -> tuple[str, ...]:
    """Return that change and both ends of its interval, each with its sign; nothing where there is none."""
    if item.change is None:
        return ()
    figures = (item.change.percent, *item.change.interval)
    return tuple(_signed(each, is_certain=item.is_certain) for each in figures)


def _signed(percent: float, *, is_certain: bool) -> str:
    """Return per cent with their sign; an interval that leaves out 0 shows it, however near it comes."""
    if abs(percent) >= 0.95:
        return f"{percent:+.0f}"
    return f"{percent:+.1g}" if abs(percent) >= 0.05 or is_certain else "0"


def _side_by_side(sides: Sequence[SideBySide], program: Program) -> Table:
    columns = (
        Column("both sides at one rung", is_name=True),
        Column("left", is_right=True),
        Column("right", is_right=True),
        Column("weaker"),
    )
    ordered = sorted(sides, key=lambda each: each.weaker is None)
    return Table(columns, tuple(_sides_row(each, program) for each in ordered))


def _sides_row(sides: SideBySide, program: Program) -> Row:
    ahead = sentence(sides.ahead_words) if sides.ahead_words else ""
    return Row(
        cells=(
            set_name(program.exercises[sides.exercise].name, "both", sides.rung or ""),
            _side_words(sides.left),
            _side_words(sides.right),
            sides.weaker or "neither",
        ),
        notes=(Words(ahead),) if ahead else (),
        strong=frozenset({3} if sides.weaker else ()),
    )


def _side_words(time: SideTime | None) -> str:
    if time is None:
        return ""
    return at_least(time.longest_s) if time.is_over else in_seconds(time.seconds)


def _kept(trend: Trend) -> str:
    if trend.since is not None:
        return f"{trend.kept} since {trend.since}"
    return f"{trend.kept} done, at least {trend.planned} planned"


# ---- as JSON


def trend_to_json(trend: Trend) -> dict[str, Any]:
    """Return the content of `trend --json`; seconds to the millisecond, per cent to four decimals."""
    return {
        "format": 1,
        "items": [_item_to_json(each) for each in trend.items],
        "sides": [_sides_to_json(each) for each in trend.sides],
        "kept": {"sessions": trend.kept, "planned": trend.planned},
    }


def _item_to_json(item: ExerciseTrend) -> dict[str, Any]:
    change = item.change
    return {
        "exercise": item.exercise,
        "side": item.side,
        "rung": item.rung,
        "sets": item.sets,
        "censored": item.ran_to_end,
        "sentence": item.sentence,
        "typical_s": round(item.typical.seconds, 3),
        "typical_is_at_least": item.typical.is_at_least,
        "change_per_week_pct": None if change is None else round(change.percent, 4),
        "change_interval_pct": None if change is None else [round(each, 4) for each in change.interval],
        "missing": item.missing,
    }


def _sides_to_json(sides: SideBySide) -> dict[str, Any]:
    percent = None if sides.percent is None else round(sides.percent, 1)
    return {
        "exercise": sides.exercise,
        "weaker": sides.weaker,
        "percent": percent,
        "bound": sides.is_bound,
    }
