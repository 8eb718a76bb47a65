"""The trials of function tests: what each protocol asks before, what a key does, and what came of it."""

from collections.abc import Iterable

STAND_S = 30.0  # a chair stand test lasts this long, its end belongs to it


def stands(marks: Iterable[float], is_half_up: bool = False) -> int:
    """Return how many stands were marked within the 30 s; one more than half-way up at the end counts.

    CDC STEADI 30-second chair stand sheet, 2017.
    """
    return sum(at <= STAND_S for at in marks) + is_half_up


def speed(metres: float, seconds: float) -> float:
    """Return metres per second."""
    return metres / seconds
