"""Backspace, twice within 3 s, takes a stamp back; a Backspace held down takes nothing back."""

from holdtimer.session.events import exact
from holdtimer.session.presses import REPEAT_S

WITHIN_S = 3.0
SURE_AFTER_S = 0.15  # a held key's third press comes well before this


class TakeBack:
    """Listens to Backspace. Times in seconds, of any steady clock.

    A pair begins only `quiet_s` after any Backspace before it, so that a tremor takes back one stamp at most.
    """

    def __init__(self, quiet_s: float) -> None:
        self._quiet_s = quiet_s
        self._last = float("-inf")
        self._first: float | None = None
        self._second: float | None = None

    def press(self, at: float, can: bool) -> None:
        """Hear one press; `can` tells whether there is a stamp to take back."""
        gap = exact(at - self._last)
        self._last = at
        if gap < REPEAT_S or not can:
            self.forget()
        elif self._first is not None and exact(at - self._first) <= WITHIN_S:
            self._second = at
        elif gap >= self._quiet_s:
            self._first = at

    def forget(self) -> None:
        """Begin anew: what was pressed so far was about another stamp."""
        self._first = self._second = None

    def waits(self, now: float) -> bool:
        """Whether a second press would take the stamp back."""
        return self._first is not None and self._second is None and exact(now - self._first) <= WITHIN_S

    def due(self, now: float, key: str | None = None) -> float | None:
        """Return when the stamp was taken back, once it is sure that Backspace was not held down.

        Silence makes it sure, and so does any `key` at `now` that is not a repeat of it.
        """
        if self._second is None:
            return None
        passed = exact(now - self._second)
        if passed < (SURE_AFTER_S if key is None else REPEAT_S if key == "backspace" else float("-inf")):
            return None
        at = self._second
        self.forget()
        return at
