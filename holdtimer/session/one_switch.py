"""A single switch is enough: five taps in a row, or a key held down, ask for a menu that reads itself out."""

from holdtimer.session.events import exact

TAPS = 5
WITHIN_S = 10.0
HELD_S = 3.0
STILL_S = WITHIN_S / (TAPS - 1)  # taps of one run lie closer together than this
LINE_S = 3.0  # how long each line of the menu is marked
ROUNDS = 3  # after so many rounds with no tap it goes away


def still_after(tapped: float) -> float:
    """Return when whoever taps on and on would have tapped again: a tap from then on is meant."""
    return exact(tapped + STILL_S)


class OneSwitch:
    """Listens to presses outside windows. Times in seconds, of any steady clock."""

    def __init__(self) -> None:
        self._taps: list[float] = []
        self._asked_by_hold = False

    def asks(self, at: float, counts: bool, held_since: float | None) -> bool:
        """Hear a press: whether it `counts` as a tap, since when its key is held; return whether it asks."""
        if held_since is None:
            self._asked_by_hold = False
        elif exact(at - held_since) >= HELD_S and not self._asked_by_hold:
            self._asked_by_hold = True
            self._taps.clear()
            return True
        if counts:
            self._taps = [*(tap for tap in self._taps if exact(at - tap) < WITHIN_S), at]
        if len(self._taps) < TAPS:
            return False
        self._taps.clear()
        return True

    def forget(self) -> None:
        """Forget the taps so far: they meant something else."""
        self._taps.clear()
