"""Whether it works, over the weeks: for each exercise and side a plain sentence first, then the figures."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

from holdtimer.program.models import Exercise, Program
from holdtimer.program.timeline import SetKey, Side
from holdtimer.progression.censored import Change, Timed, median, weekly_change
from holdtimer.progression.forecast import EXPONENT_SD, RECENT, Ladder, TimedSet, difference
from holdtimer.progression.history import History, Result, read_history, sides_of
from holdtimer.progression.spacing import hard_starts, kept_and_planned
from holdtimer.progression.verdicts import LONG_BREAK
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted, day_words, in_seconds

LEAST_RESULTS = 6
LEAST_FAILURES = 3
LEAST_TIME = timedelta(weeks=3)
LEARNING = 2  # first results of an exercise, in which one learns it: no part of the change
LATELY = timedelta(weeks=6)  # of results at the present rung that make the typical time

_CERTAIN = 0.05  # chance alone would show as much once in twenty times
_PROBABLE = 0.11  # as much in this direction about once in eighteen times
_LEAST_A_SIDE = 3  # results, before two sides are said not to differ
_WEEK = timedelta(weeks=1)
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True)
class Typical:
    """A typical time in seconds: the median, or the longest window where the median was not reached."""

    seconds: float
    is_at_least: bool


@dataclass(frozen=True, slots=True)
class ExerciseTrend:
    """The trend of one exercise and side.

    `rung` is the present one (its name), `sets` how many results counted and `ran_to_end` how many of those
    ran to the end; `tension` is the share of the window under tension at the present rung, 0 to 1; `missing`
    says why there is no `change`. `said` is what is said of the change alone, `climbed` how far the present
    rung is from the first one (nothing where it is the same); `results` are those that count, oldest first.
    """

    exercise: str
    side: Side
    rung: str
    sets: int
    ran_to_end: int
    sentence: str
    typical: Typical
    tension: float
    change: Change | None
    missing: str | None
    said: str
    climbed: str
    results: tuple[Result, ...]

    @property
    def is_certain(self) -> bool:
        """Whether chance alone would hardly show as much."""
        return self.change is not None and self.change.chance < _CERTAIN


@dataclass(frozen=True, slots=True)
class SideTime:
    """The typical seconds of one side at a rung, and the longest window they could have been seen in."""

    seconds: float
    longest_s: float

    @property
    def is_over(self) -> bool:
        """Whether no window was long enough to see it."""
        return self.seconds > self.longest_s

    @property
    def words(self) -> str:
        """The time in words."""
        return f"over {in_seconds(self.longest_s)}" if self.is_over else in_seconds(self.seconds)


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The weaker side, where the sides differ for certain, and its time in per cent of the stronger's.

    Both at the same rung or load. With `is_bound` the stronger side never failed, so that it is so much at
    most. `left` and `right` are their times at `rung` (its name), None where too little is known; the
    stronger side now works so many rungs `ahead` of it.
    """

    exercise: str
    weaker: Literal["left", "right"] | None = None
    percent: float | None = None
    is_bound: bool = False
    rung: str | None = None
    left: SideTime | None = None
    right: SideTime | None = None
    ahead: int = 0

    @property
    def words(self) -> str | None:
        """What is known of it, None where that is too little."""
        if self.left is None or self.right is None:
            return None
        if self.weaker is None:
            return NO_DIFFERENCE
        weak, strong = (self.left, self.right) if self.weaker == "left" else (self.right, self.left)
        times = f"{self.weaker} {weak.words}, {_other(self.weaker)} {strong.words}"
        ahead = f"; {self.ahead_words}" if self.ahead else ""
        return f"{self.weaker} is weaker: at {self.rung}, {times}{ahead}"

    @property
    def ahead_words(self) -> str:
        """How far ahead of the weaker side the stronger one works; nothing where it works no higher."""
        if self.weaker is None or not self.ahead:
            return ""
        higher = "higher" if self.ahead > 0 else "lower"
        return f"{_other(self.weaker)} now works {_rungs(abs(self.ahead))} {higher}"


NO_DIFFERENCE = "no difference larger than your usual ups and downs"


def _other(side: Literal["left", "right"]) -> Literal["left", "right"]:
    return "right" if side == "left" else "left"


@dataclass(frozen=True, slots=True)
class Trend:
    """The trend of a program: each exercise and side that has a counted result, both sides compared.

    `kept` are the hard sessions done, `planned` the fewest that the program asks for in the weeks so far;
    with a long break in them that says nothing, and `since` is the day of the first.
    """

    items: tuple[ExerciseTrend, ...]
    sides: tuple[SideBySide, ...]
    kept: int
    planned: int
    since: str | None
    left_out: tuple[str, ...]


def trend(program: Program, past: Iterable[SessionSummary], now: datetime) -> Trend:
    """Return the trend at `now` (aware, else ValueError) of one person's sessions, in any order."""
    if now.tzinfo is None:
        raise ValueError("a moment needs its zone")
    history = read_history(program, past)
    results = {key: _counted(history, key) for key in _keys(program)}
    kept, planned = kept_and_planned(program, history.own, now)
    return Trend(
        items=tuple(
            _item(program.exercises[key[0]], key, found, now) for key, found in results.items() if found
        ),
        sides=tuple(
            side_by_side(exercise, name, results[name, "left"], results[name, "right"])
            for name, exercise in program.exercises.items()
            if exercise.sides == "each" and (results[name, "left"] or results[name, "right"])
        ),
        kept=kept,
        planned=planned,
        since=_since(hard_starts(history.own), now),
        left_out=history.left_out,
    )


def _since(starts: Sequence[datetime], now: datetime) -> str | None:
    """Return the day of the first start in words where a long break came after any of them."""
    has_break = any(later - earlier >= LONG_BREAK for earlier, later in pairwise((*starts, now)))
    return day_words(starts[0], now) if has_break else None


def _keys(program: Program) -> list[SetKey]:
    return [(name, side) for name, exercise in program.exercises.items() for side in sides_of(exercise)]


def _counted(history: History, key: SetKey) -> tuple[Result, ...]:
    return tuple(each for each in history.of(key) if each.counted)


# ---- one exercise on one side


def _item(exercise: Exercise, key: SetKey, results: Sequence[Result], now: datetime) -> ExerciseTrend:
    here = [each for each in results if each.rung == results[-1].rung]
    missing = _missing(results)
    change = None if missing else weekly_change(_timed(exercise, results)[LEARNING:])
    if change is None and missing is None:
        missing = "failures too close together in time, or at too many rungs, to show a change"
    who = "both sides" if key[1] == "both" else key[1]
    said, climbed = _sentence(change, missing), _climbed(results, now)
    return ExerciseTrend(
        exercise=key[0],
        side=key[1],
        rung=exercise.ladder[results[-1].rung].rung,
        sets=len(results),
        ran_to_end=sum(each.ran_to_end for each in results),
        sentence=f"{who}: {said}{f'; {climbed}' if climbed else ''}",
        typical=typical([each for each in here if here[-1].at - each.at <= LATELY]),
        tension=min(
            1.0, sum(each.done.tension_s for each in here) / sum(each.done.window_s for each in here)
        ),
        change=change,
        missing=missing,
        said=said,
        climbed=climbed,
        results=tuple(results),
    )


def typical(results: Sequence[Result]) -> Typical:
    """Return the typical time of results at one rung (at least one of them)."""
    middle = median((each.lasted_s, each.failed_s is not None) for each in results)
    if middle is not None:
        return Typical(middle, is_at_least=False)
    return Typical(max(each.lasted_s for each in results if each.failed_s is None), is_at_least=True)


def _missing(results: Sequence[Result]) -> str | None:
    """Return in words what is missing before a change can be shown."""
    failures = sum(not each.ran_to_end for each in results)
    lacking = LEAST_TIME - (results[-1].at - results[0].at)
    needed = []
    if len(results) < LEAST_RESULTS:
        needed.append(counted(LEAST_RESULTS - len(results), "more result"))
    if failures < LEAST_FAILURES:
        needed.append(counted(LEAST_FAILURES - failures, "more failure"))
    if lacking > timedelta():
        needed.append(counted(math.ceil(lacking / timedelta(days=1)), "more day"))
    return f"needs {' and '.join(needed)}" if needed else None


def _timed(exercise: Exercise, results: Sequence[Result]) -> list[Timed]:
    """Return results for the fit: the load as an offset where it is known, else the rung as a group."""
    ladder, first = Ladder.of(exercise), results[0].at
    logs = [math.log(load) for load in ladder.loads] or [0.0] * ladder.rungs
    return [
        Timed(
            week=(each.at - first) / _WEEK,
            seconds=each.lasted_s,
            failed=each.failed_s is not None,
            offset=ladder.exponent * logs[each.rung],
            group=0 if ladder.loads else each.rung,
            offset_sd=EXPONENT_SD * logs[each.rung],
        )
        for each in results
    ]


def _sentence(change: Change | None, missing: str | None) -> str:
    if change is None:
        return f"too early to say: {missing}"
    direction = "stronger" if change.per_week > 0 else "weaker"
    if change.chance < _CERTAIN:
        return direction
    if change.chance < _PROBABLE:
        return f"probably {direction}, not certain"
    return "no change that stands out from day to day"


def _climbed(results: Sequence[Result], now: datetime) -> str:
    """Return how far up or down the ladder the present rung is from the first one; nothing where it is it."""
    rungs = results[-1].rung - results[0].rung
    if not rungs:
        return ""
    return f"{_rungs(abs(rungs))} {'up' if rungs > 0 else 'down'} since {day_words(results[0].at, now)}"


def _rungs(number: int) -> str:
    words = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{words} rung{'' if number == 1 else 's'}"


# ---- both sides


def side_by_side(
    exercise: Exercise, name: str, left: Sequence[Result], right: Sequence[Result]
) -> SideBySide:
    """Compare the counted results (oldest first) of two sides by one model, with a term for the side.

    One is called weaker only where the 95 % interval of that term leaves out equal.
    """
    unknown = SideBySide(name)
    now = max(each.at for each in (*left, *right))
    left, right = ([each for each in side if now - each.at <= RECENT] for side in (left, right))
    if not left or not right or all(each.failed_s is None for each in (*left, *right)):
        return unknown
    known = difference(Ladder.of(exercise), _timed_sets(left, now), _timed_sets(right, now))
    is_equal = known.low <= 0 <= known.high
    if is_equal and min(len(left), len(right)) < _LEAST_A_SIDE:
        return unknown
    weaker: Literal["left", "right"] = "left" if known.low > 0 else "right"
    low, high = (left, right) if weaker == "left" else (right, left)
    rung = min(low[-1].rung, high[-1].rung) if is_equal else low[-1].rung
    seconds = known.middles_s(rung)
    left_time, right_time = (
        SideTime(each, max(result.done.window_s for result in side))
        for each, side in zip(seconds, (left, right), strict=True)
    )
    found = SideBySide(name, None, None, False, exercise.ladder[rung].rung, left_time, right_time)
    if is_equal:
        return found
    weak_s, strong_s = seconds if weaker == "left" else seconds[::-1]
    is_bound = all(each.failed_s is None for each in high)
    ahead = high[-1].rung - rung
    return replace(found, weaker=weaker, percent=100 * weak_s / strong_s, is_bound=is_bound, ahead=ahead)


def _timed_sets(results: Sequence[Result], now: datetime) -> list[TimedSet]:
    return [
        TimedSet(each.rung, (each.at - now) / _WEEK, each.lasted_s, each.failed_s is not None)
        for each in results
    ]
