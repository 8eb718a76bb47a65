"""What a series of presses tells of a hand and a keyboard: repeats, double presses, and a guard that fits."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from holdtimer.session.presses import REPEAT_S

MEANT_S = 1.5  # presses further apart than this were meant one by one
LEAST_GUARD_S, MOST_GUARD_S = 0.7, 3.0
MARGIN_S = 0.2


@dataclass(frozen=True, slots=True)
class KeyStudy:
    """Seconds; None where nothing of the kind was seen."""

    presses: int
    repeat_delay_s: float | None  # from a key going down to its first repeat
    repeat_every_s: float | None
    doubles_s: tuple[float, ...]  # gaps between presses that followed too soon to be meant
    guard_s: float


def study(presses: Sequence[tuple[str, float]]) -> KeyStudy:
    """Return what presses, by name and time (s) in the order they came, tell together.

    Two or more repeats in a row are a held key: the gap before them is the keyboard's delay, no double press.
    """
    gaps = [(key == before, at - earlier) for (before, earlier), (key, at) in pairwise(presses)]
    delays: list[float] = []
    every: list[float] = []
    doubles: list[float] = []
    for n, (is_same, gap) in enumerate(gaps):
        is_repeat = is_same and gap < REPEAT_S
        starts_train = is_same and _is_train(gaps[n + 1 : n + 3])
        if is_repeat:
            every.append(gap)
        elif starts_train and gap < 1.0:
            delays.append(gap)
        elif gap < MEANT_S / 2:
            doubles.append(gap)
    return KeyStudy(
        presses=len(presses),
        repeat_delay_s=_middle(delays),
        repeat_every_s=_middle(every),
        doubles_s=tuple(doubles),
        guard_s=_guard([*delays, *doubles]),
    )


def _is_train(gaps: Sequence[tuple[bool, float]]) -> bool:
    return len(gaps) == 2 and all(is_same and gap < REPEAT_S for is_same, gap in gaps)


def _guard(gaps: Sequence[float]) -> float:
    """Return the shortest guard, in tenths, that no such gap comes through."""
    longest = max(gaps, default=0.0)
    return min(max(math.ceil((longest + MARGIN_S) * 10 - 1e-9) / 10, LEAST_GUARD_S), MOST_GUARD_S)


def _middle(values: Sequence[float]) -> float | None:
    return sorted(values)[len(values) // 2] if values else None
