"""Whether it works, over the weeks: for each exercise and side a plain sentence first, then the figures."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from holdtimer.program.endurance import exponent
from holdtimer.program.models import Exercise, Program
from holdtimer.program.timeline import Side
from holdtimer.progression.change import Change, Timed, weekly_change
from holdtimer.progression.history import History, Key, Result, read_history, sides_of
from holdtimer.progression.outlook import loads_of
from holdtimer.progression.sides import SideBySide, Typical, at_rung, side_by_side, typical
from holdtimer.progression.spacing import hard_starts, kept_and_planned
from holdtimer.progression.verdicts import LONG_BREAK
from holdtimer.progression.wording import counted, day_words
from holdtimer.session.summary import SessionSummary

LEAST_RESULTS = 6
LEAST_FAILURES = 3
LEAST_TIME = timedelta(weeks=3)

_CERTAIN = 0.05  # chance alone would show as much once in twenty times
_PROBABLE = 0.4  # as much in this direction once in five
_WEEK = timedelta(weeks=1)


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
class Trend:
    """The trend of a program: each exercise and side that has a counted result, both sides compared.

    `kept` are the hard sessions done, `planned` those the program wanted at least in the whole weeks so far;
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
    history = read_history(program, past, now)
    results = {key: _counted(history, key) for key in _keys(program)}
    kept, planned = kept_and_planned(program, history.own, now)
    return Trend(
        items=tuple(_item(program.exercises[key[0]], key, found) for key, found in results.items() if found),
        sides=tuple(
            side_by_side(
                name,
                results[name, "left"],
                results[name, "right"],
                loads_of(exercise),
                exponent(exercise.joint),
            )
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


def side_words(sides: SideBySide) -> str | None:
    """Return in words how the weaker side does against the stronger; None where it can't be told."""
    if sides.percent is None:
        return None
    if sides.weaker is None:
        return "left and right are equal"
    other = "right" if sides.weaker == "left" else "left"
    most = "at most " if sides.is_bound else ""
    return f"{sides.weaker} lasts {most}{sides.percent:.0f} % as long as {other}"


def _keys(program: Program) -> list[Key]:
    return [(name, side) for name, exercise in program.exercises.items() for side in sides_of(exercise)]


def _counted(history: History, key: Key) -> tuple[Result, ...]:
    return tuple(each for each in history.of(key) if each.counted)


def _item(exercise: Exercise, key: Key, results: Sequence[Result]) -> Item:
    here = at_rung(results, results[-1].rung)
    missing = _missing(results)
    change = None if missing else weekly_change(_timed(exercise, results))
    if change is None and missing is None:
        missing = "failures too close together in time, or at too many rungs, to tell a change"
    return Item(
        exercise=key[0],
        side=key[1],
        rung=exercise.ladder[results[-1].rung].rung,
        sets=len(results),
        ran_to_end=sum(each.ran_to_end for each in results),
        sentence=f"{'both sides' if key[1] == 'both' else key[1]}: {_sentence(change, missing)}",
        typical=typical(here),
        tension=min(
            1.0, sum(each.done.tension_s for each in here) / sum(each.done.window_s for each in here)
        ),
        change=change,
        missing=missing,
    )


def _missing(results: Sequence[Result]) -> str | None:
    """Return in words what is missing before a change can be told."""
    failures = sum(not each.ran_to_end for each in results)
    lacking = LEAST_TIME - (results[-1].at - results[0].at)
    wanted = []
    if len(results) < LEAST_RESULTS:
        wanted.append(counted(LEAST_RESULTS - len(results), "more result"))
    if failures < LEAST_FAILURES:
        wanted.append(counted(LEAST_FAILURES - failures, "more failure"))
    if lacking > timedelta():
        wanted.append(counted(math.ceil(lacking / timedelta(days=1)), "more day"))
    return f"needs {' and '.join(wanted)}" if wanted else None


def _timed(exercise: Exercise, results: Sequence[Result]) -> list[Timed]:
    """Return results for the fit: the load as an offset where it is known, else the rung as a group."""
    loads, k, first = loads_of(exercise), exponent(exercise.joint), results[0].at
    return [
        Timed(
            week=(each.at - first) / _WEEK,
            seconds=each.lasted_s,
            failed=each.failed_s is not None,
            offset=k * math.log(loads[each.rung]) if loads else 0.0,
            group=0 if loads else each.rung,
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
    return "no change that could be told from day to day"


# ---- as JSON


def trend_to_json(trend: Trend) -> dict[str, Any]:
    """Return what `trend --json` tells; seconds to the millisecond, per cent to four decimals."""
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
