"""One moment of the session screen, as plain data."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from holdtimer.screens.fit import Line
from holdtimer.screens.ruler import RulerData

State = Literal["ready", "easy", "count-in", "work", "out", "rest", "waits", "asks", "done"]


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the session screen.

    `beside` are large words beside the digits, or above the headline where no clock runs; `lines` come in the
    order in which they matter, the last give way first. `way_out` stays on screen under a menu.
    """

    state: State
    heading: str
    # time to the end, where in the session, whether it is saved; as far as they fit
    places: tuple[str, ...] = ()
    digits: str = ""  # empty where no clock runs
    widest: str = "00"  # the widest the digits will get, so that they keep their size
    beside: tuple[str, ...] = ()
    beside_at: Literal["left", "right"] = "right"
    headline: str = ""  # the largest text after the digits
    lines: tuple[Line, ...] = ()
    ruler: RulerData | None = None
    way_out: str = ""
    tap: str = ""
    tap_counts: bool = False
    no: str = ""  # what Backspace answers, where a question is asked
    alarm: str = ""  # what must be seen at once: a press that was not heard, a lost keyboard
    noted: str = ""  # what a key that counted is acknowledged with, where the tap bar has other words
    notices: tuple[str, ...] = ()

    def place(self, heading: str, columns: int) -> str:
        """Return as many of the places as have room beside a heading."""
        for count in range(len(self.places), 0, -1):
            place = " · ".join(self.places[:count])
            if len(heading) + 2 + len(place) <= columns:
                return place
        return ""


def labelled(label: str, texts: Sequence[str]) -> tuple[Line, ...]:
    """Return lines of which the first bears the label."""
    return tuple(Line(text, "" if at else label) for at, text in enumerate(texts))
