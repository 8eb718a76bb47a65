"""Backspace, twice within 3 s, takes a stamp back; a Backspace held down takes nothing back."""

from holdtimer.session.presses import REPEAT_S

WITHIN_S = 3.0
SURE_AFTER_S = 0.15  # a held key's third press comes well before this


class TakeBack:
    """Listens to Backspace. Times in seconds, of any steady clock."""

    def __init__(self) -> None:
        self._last: float | None = None
        self._first: float | None = None
        self._second: float | None = None

    def press(self, at: float, can: bool) -> None:
        """Hear one press; `can` tells whether there is a stamp to take back."""
        repeats = self._last is not None and at - self._last < REPEAT_S
        self._last = at
        if repeats or not can:
            self._first = self._second = None
        elif self._first is None or at - self._first > WITHIN_S:
            self._first, self._second = at, None
        else:
            self._second = at

    def waits(self, now: float) -> bool:
        """Whether a second press would take the stamp back."""
        return self._first is not None and self._second is None and now - self._first <= WITHIN_S

    def due(self, now: float) -> float | None:
        """Return when the stamp was taken back, once it is sure that the key was not held down."""
        if self._second is None or now - self._second < SURE_AFTER_S:
            return None
        at, self._first, self._second = self._second, None, None
        return at
