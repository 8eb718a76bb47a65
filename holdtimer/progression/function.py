"""What the results of a function test say: changed by more than the test's own error, or not.

Only days of one series are compared. The first time ever is practice; off days are kept and left out. Two
points are judged by the error of measurement, a change seen once must be seen again, and from five days on an
order that chance hardly brings counts too. Never a cause, never praise, never a diagnosis.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import combinations, pairwise, takewhile
from math import ceil, log, pi, sqrt
from operator import attrgetter
from statistics import mean, median

from holdtimer.program.timeline import PlannedTest, Series
from holdtimer.progression.measurement import Error, Group, error_of, in_percent, noticed_change, widened
from holdtimer.session.summary import SessionSummary, end_of_day
from holdtimer.text import tenths_passed

TREND_FROM = 5  # days: four in perfect order still come by chance once in twelve times
TREND_DAYS = 60  # no more than the latest so many
PRACTICE = "practice: the first time"  # why a result does not count
JUDGED = 2  # the latest days may show a change, so a person's own error comes from those before
_CERTAIN = 0.05
_WEEK = timedelta(weeks=1)
_GRAIN = 1e-9  # what floating point may lack


@dataclass(frozen=True, slots=True)
class FunctionDay:
    """The result of one day of a test, in the unit of its series; no `value` for "not able"."""

    session: str
    started: datetime
    test: str
    series: Series
    value: float | None
    off_day: bool = False
    date_only: bool = False

    @property
    def order(self) -> datetime:
        """Where it stands among the others: where only its date is known, at the end of it."""
        return end_of_day(self.started) if self.date_only else self.started


def function_days(past: Iterable[SessionSummary]) -> Iterator[FunctionDay]:
    """Yield the results of tests that were done in earnest, numbers and not being able."""
    for session in past:
        for each in session.tests:
            if session.rehearsal or session.started is None or each.series is None:
                continue
            if each.value is not None or not each.able:
                when = session.session, session.started
                yield FunctionDay(
                    *when, each.test, each.series, each.value, each.is_off_day, session.date_only
                )


class State(StrEnum):
    """What can be said of a series."""

    TOO_FEW = "too-few"
    NO_CHANGE = "no-change"
    NOTICEABLE = "noticeable"  # below what the test sees, yet a size that people notice
    ONCE = "once"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class FunctionTrend:
    """What a series says as of its last day. Values in the unit of the series.

    `all_days` are in order of time, with the one that was `practice` and those that do not count; `days` were
    compared; `limit` is what a difference from `base` to `latest` had to exceed; `agree` is how
    many days agree on a change; `slope` is per week and `chance` how often no trend looks like it; `own` is
    how many times the published error their own days waver by, where that is more.
    """

    series: Series
    state: State
    error: Error
    days: int
    all_days: tuple[FunctionDay, ...] = ()
    practice: FunctionDay | None = None
    base: float | None = None
    latest: float | None = None
    limit: float | None = None
    agree: int = 0
    slope: float | None = None
    chance: float | None = None
    own: float = 1.0

    @property
    def is_worse(self) -> bool:
        """Whether it went from better to worse: fewer stands, slower, more seconds."""
        if self.base is None or self.latest is None:
            return False
        return self.latest > self.base if self.series.unit == "s" else self.latest < self.base

    @property
    def change_percent(self) -> float | None:
        """The change in per cent of what it began from."""
        if self.base is None or self.latest is None or not self.base:
            return None
        return in_percent(self.latest - self.base, self.base)

    @property
    def sentence(self) -> str:
        """Return what is said of it, in plain words and no more than it shows."""
        if self.state is State.TOO_FEW or self.base is None or self.latest is None or self.limit is None:
            return "Not enough test days to compare."
        if self.state is State.ONCE:
            return (
                "Larger than the test's own error, seen once. The next test day will show whether it stays."
            )
        if self.state is State.NOTICEABLE:
            return (
                "Smaller than this test can separate from chance, yet a size that people do notice. "
                "More test days will show."
            )
        if self.state is State.NO_CHANGE:
            size = size_words(self.series, self.limit)
            return f"No change that this test can see. It would take about {size}."
        ends = (self.base, self.latest)
        if self.agree > JUDGED and self.series.unit == "stands":  # the ends of a line: whole stands
            ends = (round(self.base), round(self.latest))
        span = f"{shown(self.series, ends[0])} to {with_unit(self.series, ends[1])}"
        agree = "Two" if self.agree == 2 else str(self.agree)
        more = " If this is new for you, tell the person who treats you." if self.is_worse else ""
        return (
            f"Your {what_words(self.series)} changed by more than the test's own error: {span}. "
            f"{agree} test days agree.{more}"
        )


def _first_times(days: Iterable[FunctionDay]) -> dict[tuple[str, str | None], FunctionDay]:
    """Return the first result ever of each protocol and variant."""
    found: dict[tuple[str, str | None], FunctionDay] = {}
    for day in sorted(days, key=attrgetter("order")):
        if day.value is not None:
            found.setdefault((day.series.protocol, day.series.variant), day)
    return found


def practised(past: Iterable[SessionSummary]) -> Mapping[str, frozenset[str]]:
    """Return the tests that were done for the first time ever, by session. `past` are those of one person."""
    found: dict[str, frozenset[str]] = {}
    for day in _first_times(function_days(past)).values():
        found[day.session] = found.get(day.session, frozenset()) | {day.test}
    return found


def with_practice(session: SessionSummary, practised: Mapping[str, frozenset[str]]) -> SessionSummary:
    """Return a session whose tests do not count that were practice."""
    first = practised.get(session.session, frozenset())
    if not first:
        return session
    tests = (
        replace(each, counted=False, counted_because=PRACTICE)
        if each.counted and each.test in first
        else each
        for each in session.tests
    )
    return replace(session, tests=tuple(tests))


def new_series(tests: Iterable[PlannedTest], past: Iterable[SessionSummary]) -> Iterator[str]:
    """Yield which tests will begin a new series, and what is different from the one before."""
    days = sorted(function_days(past), key=attrgetter("order"))
    for test in tests:
        series = Series(**Series.facts(test))
        same_kind = [
            each.series
            for each in days
            if (each.series.protocol, each.series.variant) == (series.protocol, series.variant)
        ]
        if same_kind and series not in same_kind:
            old = set(same_kind[-1].conditions())
            what = ", ".join(each for each in series.conditions() if each not in old) or "you press yourself"
            yield f"{test.name}: {what}, a new series: not compared with before"


def function_trends(days: Iterable[FunctionDay], group: Group) -> tuple[FunctionTrend, ...]:
    """Return what each series says, the one tested last at the end. `days` are those of one person.

    The first time ever that a test is done, on whatever chair or lane, is practice.
    """
    series: dict[Series, list[FunctionDay]] = {}
    days = tuple(days)
    learned = _first_times(days)
    for day in sorted(days, key=attrgetter("order")):
        series.setdefault(day.series, []).append(day)
    found = [
        _read(each, learned.get((each.protocol, each.variant)), own, group) for each, own in series.items()
    ]
    return tuple(sorted(found, key=lambda trend: trend.all_days[-1].order))


def _read(
    series: Series, practice: FunctionDay | None, days: Sequence[FunctionDay], group: Group
) -> FunctionTrend:
    counted = [each for each in days if each is not practice and not each.off_day and each.value is not None]
    values = [each.value for each in counted if each.value is not None]
    error, widen = error_of(series, group), 1.0
    trend = FunctionTrend(series, State.TOO_FEW, error, len(values))
    if len(values) >= 2:
        widen = _own_error(error, _unchanged(error, values))
        trend = _compared(series, error, values, widen)
    if len(values) >= TREND_FROM:
        weeks = [(each.order - counted[0].order) / _WEEK for each in counted]
        trend = _with_trend(trend, weeks[-TREND_DAYS:], values[-TREND_DAYS:], widen)
    own_practice = practice if practice in days else None
    return replace(trend, all_days=tuple(days), practice=own_practice, own=widen)


def _is_beyond(error: Error, base: float, now: float, widen: float) -> bool:
    return abs(now - base) > error.limit(base, now, widen) + _GRAIN


def _first_days(error: Error, values: Sequence[float], widen: float) -> int:
    """Return how many days all others are compared with: two, and three where those two differ."""
    if len(values) > 3 and _is_beyond(error, values[0], values[1], widen):
        return 3
    return min(2, len(values) - 1)


def _unchanged(error: Error, values: Sequence[float]) -> Sequence[float]:
    """Return the days before the latest ones that may show a change: two, or as many as agree on one."""
    k = _first_days(error, values, 1.0)
    base, latest = mean(values[:k]), values[-1]

    def agrees(value: float) -> bool:
        is_same_way = (value - base) * (latest - base) > 0
        return is_same_way and _is_beyond(error, base, value, widened(k, 1))

    agree = sum(1 for _ in takewhile(agrees, reversed(values[k:])))
    return values[: -max(JUDGED, agree)]


def _compared(series: Series, error: Error, values: Sequence[float], widen: float) -> FunctionTrend:
    """Compare the latest day with the first ones, and the day before with them too."""
    k = _first_days(error, values, widen)
    base, latest, widen = mean(values[:k]), values[-1], widen * widened(k, 1)
    limit = error.limit(base, latest, widen)
    found = FunctionTrend(series, State.NO_CHANGE, error, len(values), base=base, latest=latest, limit=limit)
    if not _is_beyond(error, base, latest, widen):
        noticed = noticed_change(series, base)
        is_noticed = noticed is not None and abs(latest - base) >= noticed - _GRAIN
        return replace(found, state=State.NOTICEABLE) if is_noticed else found
    before = values[-2]
    is_same_way = (before - base) * (latest - base) > 0
    if len(values) < k + 2 or not is_same_way or not _is_beyond(error, base, before, widen):
        return replace(found, state=State.ONCE)
    return replace(found, state=State.CHANGED, latest=(before + latest) / 2, agree=2)


def _with_trend(
    trend: FunctionTrend, weeks: Sequence[float], values: Sequence[float], widen: float
) -> FunctionTrend:
    """Add the slope and its chance. A trend that the day before showed too is a change.

    Asked after every test day, one that shows once comes by chance to more than one person in twenty.
    """
    trend = replace(trend, slope=theil_sen(weeks, values), chance=chance(values))
    if trend.state is State.CHANGED:
        return trend
    before = _line(trend.error, weeks[:-1], values[:-1], widen)
    line = _line(trend.error, weeks, values, widen)
    if before is None or line is None:
        return trend
    first, last = line
    limit = trend.error.limit(first, last, widen)
    if abs(values[-1] - last) > limit:
        return trend  # the last day does not fit: the next will show whether it stays
    return replace(trend, state=State.CHANGED, base=first, latest=last, limit=limit, agree=len(values))


def _line(
    error: Error, weeks: Sequence[float], values: Sequence[float], widen: float
) -> tuple[float, float] | None:
    """Return where the line through some days begins and ends: their slope at its median height.

    None where there is no more in their order than chance, or no more in their slope than the error.
    """
    if len(values) < TREND_FROM or chance(values) > _CERTAIN:
        return None
    slope, middle = theil_sen(weeks, values), median(values)
    over_span = slope * (weeks[-1] - weeks[0])
    if abs(over_span) <= error.limit(middle - over_span / 2, middle + over_span / 2, widen) + _GRAIN:
        return None
    height = median(value - slope * week for week, value in zip(weeks, values, strict=True))
    return height + slope * weeks[0], height + slope * weeks[-1]


def _own_error(error: Error, values: Sequence[float]) -> float:
    """Return what the published error is to be multiplied by: a person's own counts where it is larger.

    It comes from the differences of days in a row, which a slow change hardly enlarges: two values of a
    normal distribution lie 2/sqrt(pi) standard deviations apart in the mean.
    """
    if len(values) < 2:
        return 1.0
    scaled = [log(value) for value in values] if error.is_logarithmic and min(values) > 0 else values
    apart = mean(abs(after - before) for before, after in pairwise(scaled))
    return max(1.0, apart * sqrt(pi) / 2 / error.standard(values[0]))


# ---- in words

_WHAT = {
    "chair-stand-30": "count of chair stands",
    "five-stands": "time for five stands",
    "up-and-go": "up-and-go time",
}


def what_words(series: Series) -> str:
    """Return what a series measures: "walk time"."""
    return _WHAT.get(series.protocol) or ("walk time" if series.unit == "s" else "walking speed")


def shown(series: Series, value: float) -> str:
    """Return a result as it is shown: stands, tenths of a second that have passed, hundredths of m/s."""
    if series.unit == "stands":
        return f"{value:g}" if value == int(value) else f"{value:.1f}"
    return tenths_passed(value) if series.unit == "s" else f"{value:.2f}"


def with_unit(series: Series, value: float) -> str:
    """Return a result with its unit: "9 stands", "6.5 s", "1.02 m/s"."""
    unit = "stand" if series.unit == "stands" and value == 1 else series.unit
    return f"{shown(series, value)} {unit}"


def size_words(series: Series, limit: float) -> str:
    """Return how large a change it takes; of stands, the next whole one."""
    return with_unit(series, ceil(limit - _GRAIN) if series.unit == "stands" else limit)


# ---- the slope of a few points, and whether there is one
#
# Sen PK. J Am Stat Assoc 1968;63:1379-1389. Kendall MG. Rank correlation methods (the counting of orders).
# Exact and by hand: libraries give the normal approximation for few points, 0.462 where it is 0.483.


def theil_sen(x: Sequence[float], y: Sequence[float]) -> float:
    """Return the median of the slopes of all pairs with an x of their own; 0 where all share one."""
    pairs = combinations(zip(x, y, strict=True), 2)
    return median([(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairs if a[0] != b[0]] or [0.0])


def score(y: Sequence[float]) -> int:
    """Return Kendall's S: how many pairs rise, less how many fall."""
    return sum((b > a) - (b < a) for a, b in combinations(y, 2))


def chance(y: Sequence[float]) -> float:
    """Return how likely a score at least as far from 0 is where the order means nothing, counted exactly.

    Equal values are counted as equal: all orders of these very values are as likely as each other.
    """
    ties = list(Counter(y).values())
    pairs = len(y) * (len(y) - 1) // 2 - sum(n * (n - 1) // 2 for n in ties)
    found, orders = abs(score(y)), _orders(len(y), ties)
    as_far = sum(count for falls, count in enumerate(orders) if abs(pairs - 2 * falls) >= found)
    return as_far / sum(orders)


def _orders(n: int, ties: Sequence[int]) -> list[int]:
    """Return how many orders of the values have 0, 1, 2 ... falling pairs.

    These are the coefficients of a Gaussian multinomial: the product of (1 - q^i) for i up to n, divided by
    the same for each group of equal values.
    """
    counts = [1]
    for power in range(1, n + 1):
        counts = [a - b for a, b in zip([*counts, *[0] * power], [*[0] * power, *counts], strict=True)]
    for tie in ties:
        for power in range(1, tie + 1):
            for at in range(power, len(counts)):
                counts[at] += counts[at - power]
            counts = counts[: len(counts) - power]
    return counts
