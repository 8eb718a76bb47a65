"""One physical press, one tap: what tells a meant press from a repeat, a tremor and a stuck key.

A terminal sends no key-up. A held key repeats after 0.25-0.66 s and then every 25-40 ms; a tremor of
2.5-5 Hz hits again within 0.4 s.
"""

from dataclasses import dataclass
from typing import Literal

from holdtimer.session.events import exact

REPEAT_S = 0.1  # faster than this is a machine's repeat, not a hand
HELD_S = 1.0  # a repeat that lasts this long is a held key
FORGET_S = 10.0

Doubt = Literal["guard", "held"]


@dataclass(frozen=True, slots=True)
class Heard:
    """A press, judged by its own key `alone` and `among` all keys; None where it counts.

    `held_since` is when its key went down, None where it is not held.
    """

    alone: Doubt | None
    among: Doubt | None
    held_since: float | None = None


@dataclass(slots=True)
class _Train:
    """The presses of one key: the last, since when they repeat without a pause, and whether it is held."""

    last: float
    repeating_since: float
    began: float
    held: bool = False


class Presses:
    """Judges presses in the order they are heard. Times in seconds, of any steady clock."""

    def __init__(self, guard_s: float) -> None:
        self.guard_s = exact(guard_s)
        self._trains: dict[str, _Train] = {}

    def hear(self, key: str, at: float) -> Heard:
        """Hear a press and judge it; whether it counts or not, it guards against those after it."""
        self._trains = {name: train for name, train in self._trains.items() if at - train.last < FORGET_S}
        others = [train for name, train in self._trains.items() if name != key and not train.held]
        near = any(abs(exact(at - other.last)) < self.guard_s for other in others)
        alone = self._alone(key, at)
        train = self._trains[key]
        return Heard(alone, alone or ("guard" if near else None), train.began if train.held else None)

    def held(self, now: float) -> bool:
        """Whether a key is being held down now."""
        return any(train.held and exact(now - train.last) < self.guard_s for train in self._trains.values())

    def _alone(self, key: str, at: float) -> Doubt | None:
        train = self._trains.get(key)
        gap = abs(exact(at - train.last)) if train else self.guard_s
        if train is None or gap >= self.guard_s:
            last = max(at, train.last) if train else at
            self._trains[key] = _Train(last, last, last)
            return None
        if gap >= REPEAT_S:
            train.repeating_since = at
        train.last = max(at, train.last)
        train.held = train.held or exact(train.last - train.repeating_since) >= HELD_S
        return "held" if train.held else "guard"
