"""Whether it works, over the weeks: for each exercise and side a plain sentence first, then the figures."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any, Literal

from holdtimer.program.models import Exercise, Program
from holdtimer.program.timeline import SetKey, Side
from holdtimer.progression.censored import Change, Timed, median, weekly_change
from holdtimer.progression.forecast import EXPONENT_SD, RECENT, Ladder, Trial, difference
from holdtimer.progression.history import History, Result, read_history, sides_of
from holdtimer.progression.spacing import hard_starts, kept_and_planned
from holdtimer.progression.verdicts import LONG_BREAK
from holdtimer.progression.wording import counted, day_words
from holdtimer.seconds import in_seconds
from holdtimer.session.summary import SessionSummary

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
class Item:
    """The trend of one exercise and side.

    `rung` is the present one (its name), `sets` how many results counted and `ran_to_end` how many of those
    ran to the end; `tension` is the share of the window under tension at the present rung, 0 to 1; `missing`
    says why there is no `change`.
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


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The weaker side, where the sides differ for certain, and its time in per cent of the stronger's.

    Both at the same rung or load. With `is_bound` the stronger side never failed, so that it is so much at
    most. `words` say it; None where too little is known.
    """

    exercise: str
    weaker: Literal["left", "right"] | None
    percent: float | None
    is_bound: bool
    words: str | None


@dataclass(frozen=True, slots=True)
class Trend:
    """The trend of a program: each exercise and side that has a counted result, both sides compared.

    `kept` are the hard sessions done, `planned` the fewest that the program asks for in the weeks so far;
    with a long break in them that says nothing, and `since` is the day of the first.
    """

    items: tuple[Item, ...]
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


def _item(exercise: Exercise, key: SetKey, results: Sequence[Result], now: datetime) -> Item:
    here = [each for each in results if each.rung == results[-1].rung]
    missing = _missing(results)
    change = None if missing else weekly_change(_timed(exercise, results)[LEARNING:])
    if change is None and missing is None:
        missing = "failures too close together in time, or at too many rungs, to show a change"
    who = "both sides" if key[1] == "both" else key[1]
    return Item(
        exercise=key[0],
        side=key[1],
        rung=exercise.ladder[results[-1].rung].rung,
        sets=len(results),
        ran_to_end=sum(each.ran_to_end for each in results),
        sentence=f"{who}: {_sentence(change, missing)}{_climbed(results, now)}",
        typical=typical([each for each in here if here[-1].at - each.at <= LATELY]),
        tension=min(
            1.0, sum(each.done.tension_s for each in here) / sum(each.done.window_s for each in here)
        ),
        change=change,
        missing=missing,
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
    """Return how far up or down the ladder the present rung is from the first one."""
    rungs = results[-1].rung - results[0].rung
    if not rungs:
        return ""
    return f"; {_rungs(abs(rungs))} {'up' if rungs > 0 else 'down'} since {day_words(results[0].at, now)}"


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
    unknown = SideBySide(name, None, None, is_bound=False, words=None)
    now = max(each.at for each in (*left, *right))
    left, right = ([each for each in side if now - each.at <= RECENT] for side in (left, right))
    if not left or not right or all(each.failed_s is None for each in (*left, *right)):
        return unknown
    known = difference(Ladder.of(exercise), _trials(left, now), _trials(right, now))
    if known.low <= 0 <= known.high:
        if min(len(left), len(right)) < _LEAST_A_SIDE:
            return unknown
        return SideBySide(name, None, None, False, "no difference larger than your usual ups and downs")
    weaker: Literal["left", "right"] = "left" if known.low > 0 else "right"
    low, high = (left, right) if weaker == "left" else (right, left)
    other = "right" if weaker == "left" else "left"
    rung, is_bound = low[-1].rung, all(each.failed_s is None for each in high)
    seconds = dict(zip(("left", "right"), known.middles_s(rung), strict=True))
    longest = max(each.done.window_s for each in high)
    beyond = seconds[other] > longest
    words = (
        f"{weaker} is weaker: at {exercise.ladder[rung].rung}, {weaker} {in_seconds(seconds[weaker])}, "
        f"{other} {f'over {in_seconds(longest)}' if beyond else in_seconds(seconds[other])}"
    )
    if ahead := high[-1].rung - rung:
        words += f"; {other} now works {_rungs(abs(ahead))} {'higher' if ahead > 0 else 'lower'}"
    percent = 100 * seconds[weaker] / seconds[other]
    return SideBySide(name, weaker, percent, is_bound, words)


def _trials(results: Sequence[Result], now: datetime) -> list[Trial]:
    return [
        Trial(each.rung, (each.at - now) / _WEEK, each.lasted_s, each.failed_s is not None)
        for each in results
    ]


# ---- as JSON


def trend_to_json(trend: Trend) -> dict[str, Any]:
    """Return the content of `trend --json`; seconds to the millisecond, per cent to four decimals."""
    return {
        "format": 1,
        "items": [_item_to_json(each) for each in trend.items],
        "sides": [_sides_to_json(each) for each in trend.sides],
        "kept": {"sessions": trend.kept, "planned": trend.planned},
    }


def _item_to_json(item: Item) -> dict[str, Any]:
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
