"""What a saying is: its words, its time, and how much it matters."""

from dataclasses import dataclass
from enum import IntEnum

from holdtimer.session.events import exact
from holdtimer.sound.phrases import Pieces

ANSWERED_WITHIN_S = 6.0
MARKED_WITHIN_S = 3.0
HINTED_WITHIN_S = 8.0


class Weight(IntEnum):
    """Which saying goes first where there is not room for all."""

    WAY_OUT = 0  # how to get out safely, after a failure
    COUNTED = 1  # on its second, or not at all
    ANSWER = 2  # what a tap did, and what to do now
    MARK = 3  # how far it is
    TOLD = 4  # what comes next
    HINT = 5  # what a tap does now


@dataclass(frozen=True, slots=True)
class Saying:
    """Something to say from session time `at` (s) on, not begun after `until`.

    `ways` are the wordings, best first: the first that the voice has and that there is room for is said. One
    that `breaks` ends what is being said when it becomes due.
    """

    at: float
    weight: Weight
    ways: tuple[Pieces, ...]
    until: float
    breaks: bool = False


def answer(at: float, *ways: Pieces, within: float = ANSWERED_WITHIN_S, breaks: bool = True) -> Saying:
    """Return what a tap at `at` is answered with."""
    return Saying(at, Weight.ANSWER, ways, exact(at + within), breaks)


def mark(at: float, *ways: Pieces, within: float = MARKED_WITHIN_S) -> Saying:
    """Return what tells how far it is at `at`."""
    return Saying(exact(at), Weight.MARK, ways, exact(at + within))


def hint(at: float, words: str, until: float) -> Saying:
    """Return what tells from `at` on what a tap does; not begun after `until`."""
    return Saying(exact(at), Weight.HINT, ((words,),), until)
