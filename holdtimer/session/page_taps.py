"""Taps on a page of words: none before it can have been seen, and one press is one tap there too."""

from holdtimer.session.debounce import Presses
from holdtimer.session.events import round_time
from holdtimer.session.hand import Settings
from holdtimer.session.rules import NEW_SCREEN_S


class PageTaps:
    """Judges the keys that answer a page shown `since` then. Times in seconds, of any steady clock.

    A key held down, perhaps leant on by somebody who feels unwell, must not turn page after page unread.
    """

    def __init__(self, since: float) -> None:
        self._since = since
        self._presses = Presses(Settings().guard_s)

    def counts(self, key: str, at: float) -> bool:
        """Hear a press and return whether it is meant for the page."""
        heard = self._presses.hear(key, at)
        return round_time(at - self._since) >= NEW_SCREEN_S and heard.among is None
