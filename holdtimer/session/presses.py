"""One physical press, one tap: what tells a meant press from a repeat, a tremor and a stuck key.

A terminal sends no key-up. A held key repeats after 0.25-0.66 s and then every 25-40 ms; a tremor of
2.5-5 Hz hits again within 0.4 s.
"""

from dataclasses import dataclass
from typing import Literal

REPEAT_S = 0.1  # faster than this is a machine's repeat, not a hand
HELD_S = 1.0  # a repeat that lasts this long is a held key
FORGET_S = 10.0

Doubt = Literal["guard", "held"]


@dataclass(slots=True)
class _Train:
    """The presses of one key: the last, and since when they repeat without a pause."""

    last: float
    repeating_since: float

    def is_held(self) -> bool:
        return self.last - self.repeating_since >= HELD_S


class Presses:
    """Judges presses in the order they are heard. Times in seconds, of any steady clock."""

    def __init__(self, guard_s: float) -> None:
        self.guard_s = guard_s
        self._trains: dict[str, _Train] = {}

    def judge(self, key: str, at: float) -> Doubt | None:
        """Return why this press does not count, or None when it does; it was heard either way."""
        self._forget(at)
        train = self._trains.get(key)
        others = [other.last for name, other in self._trains.items() if name != key and not other.is_held()]
        if train is None:
            self._trains[key] = _Train(at, at)
        else:
            gap = at - train.last
            if gap >= REPEAT_S:
                train.repeating_since = at
            train.last = at
            if train.is_held():
                return "held"
            if gap < self.guard_s:
                return "guard"
        if any(at - last < self.guard_s for last in others):
            return "guard"
        return None

    def held(self, now: float) -> bool:
        """Whether a key is being held down now."""
        return any(t.is_held() and now - t.last < self.guard_s for t in self._trains.values())

    def _forget(self, at: float) -> None:
        self._trains = {key: train for key, train in self._trains.items() if at - train.last < FORGET_S}
