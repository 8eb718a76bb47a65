"""The trend over the weeks, in words: the plain sentence first, then the figures."""

from collections.abc import Iterator

from holdtimer.progression.trend import Item, Trend, side_words
from holdtimer.progression.wording import counted
from holdtimer.report.words import clock
from holdtimer.script.models import Program


def trend_lines(trend: Trend, program: Program) -> Iterator[str]:
    """Yield the trend of each exercise and side, how the sides compare, and the sessions kept."""
    yield program.title
    if not trend.items:
        yield "no result counts yet"
    for item in trend.items:
        yield ""
        yield from _item_lines(item, program)
    compared = [(each.exercise, words) for each in trend.sides if (words := side_words(each)) is not None]
    if compared:
        yield ""
    for exercise, words in compared:
        yield f"{program.exercises[exercise].name}: {words}"
    if trend.kept:
        yield ""
        yield f"hard sessions: {_kept(trend)}"
    yield from (f"left out: {each}" for each in trend.left_out)


def _kept(trend: Trend) -> str:
    if trend.since is not None:
        return f"{trend.kept} since {trend.since}"
    return f"{trend.kept} done, {trend.planned} planned at least"


def _item_lines(item: Item, program: Program) -> Iterator[str]:
    side = "" if item.side == "both" else f", {item.side}"
    yield f"{program.exercises[item.exercise].name}{side}, {item.rung}"
    yield f"  {item.sentence}"
    least = "at least " if item.typical.is_at_least else ""
    yield f"  typical time here: {least}{clock(item.typical.seconds)}{_unit(item.typical.seconds)}"
    if item.change is not None:
        change, low, high = (_signed(each) for each in (item.change.percent, *item.change.interval))
        yield f"  change a week: {change} % (95 %: {low} to {high} %)"
    yield f"  under tension {100 * item.tension:.0f} % of the window"
    yield f"  {counted(item.sets, 'result')}, {item.ran_to_end} ran to the end"


def _unit(seconds: float) -> str:
    return " s" if seconds < 100 else ""


def _signed(percent: float) -> str:
    """Return whole per cent with their sign; 0 has none."""
    whole = round(percent)
    return f"{whole:+d}" if whole else "0"
