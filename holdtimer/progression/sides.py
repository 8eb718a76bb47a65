"""The typical time of a side, and the weaker side against the stronger, at equal difficulty."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from holdtimer.progression.history import Result
from holdtimer.progression.survival import median


@dataclass(frozen=True, slots=True)
class Typical:
    """A typical time in seconds: the median, or the longest window where the median was not reached."""

    seconds: float
    is_at_least: bool


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The weaker side and its time in per cent of the stronger's, at equal rung or load.

    With `is_bound` it is so much at most. `weaker` None with 100 % means equal; without a percentage, not
    known.
    """

    exercise: str
    weaker: Literal["left", "right"] | None
    percent: float | None
    is_bound: bool


def typical(results: Sequence[Result]) -> Typical:
    """Return the typical time of results at one rung (at least one of them)."""
    middle = median((each.lasted_s, each.failed_s is not None) for each in results)
    if middle is not None:
        return Typical(middle, is_at_least=False)
    return Typical(max(each.lasted_s for each in results if each.failed_s is None), is_at_least=True)


def side_by_side(
    exercise: str,
    left: Sequence[Result],
    right: Sequence[Result],
    loads: Sequence[float],
    exponent: float,
) -> SideBySide:
    """Compare the counted results (oldest first) of two sides.

    At the present rung where it is the same for both; for holds with loads the right side's time is put at
    the left side's load by T2/T1 = (L2/L1)**exponent; else at the hardest rung both have done.
    """
    pair = _at_equal_difficulty(left, right, loads, exponent)
    if pair is None:
        return SideBySide(exercise, None, None, is_bound=False)
    one, other = pair
    if one.is_at_least and other.is_at_least:
        return SideBySide(exercise, None, None, is_bound=False)
    if one.seconds == other.seconds and not (one.is_at_least or other.is_at_least):
        return SideBySide(exercise, None, 100.0, is_bound=False)
    weaker: Literal["left", "right"] = "left" if one.seconds < other.seconds or other.is_at_least else "right"
    low, high = pair if weaker == "left" else (other, one)
    if low.is_at_least or low.seconds > high.seconds:
        return SideBySide(exercise, None, None, is_bound=False)
    return SideBySide(exercise, weaker, 100 * low.seconds / high.seconds, is_bound=high.is_at_least)


def at_rung(results: Sequence[Result], rung: int) -> list[Result]:
    """Return the results at one rung."""
    return [each for each in results if each.rung == rung]


def _at_equal_difficulty(
    left: Sequence[Result], right: Sequence[Result], loads: Sequence[float], exponent: float
) -> tuple[Typical, Typical] | None:
    if not left or not right:
        return None
    here, there = left[-1].rung, right[-1].rung
    if here != there and not loads:
        common = {each.rung for each in left} & {each.rung for each in right}
        if not common:
            return None
        here = there = max(common)
    one, other = typical(at_rung(left, here)), typical(at_rung(right, there))
    if here != there:
        factor = (loads[here] / loads[there]) ** exponent
        other = Typical(other.seconds * factor, other.is_at_least)
    return one, other
