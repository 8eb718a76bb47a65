"""What comes next by the clock alone, and when it is due."""

from dataclasses import dataclass
from enum import Enum, auto

from holdtimer.script.timeline import Part, PlannedSet
from holdtimer.session.state import Phase, Session, SetState

SILENCE_S = 900.0  # with no tap for this long, the session leaves


class Due(Enum):
    """What the clock brings."""

    NEXT_PART = auto()
    EASY_OVER = auto()
    WINDOW_OPENS = auto()
    BAND = auto()
    FINAL_STRETCH = auto()
    WINDOW_CLOSES = auto()
    SILENCE = auto()


@dataclass(frozen=True, slots=True)
class Boundary:
    """A change that time alone brings, and the session time (s) it is due at."""

    due: float
    what: Due


def next_boundary(session: Session, part: Part | None, heard_at: float) -> Boundary | None:
    """Return the next boundary; `part` runs or comes next, the last tap was heard at `heard_at`."""
    match session.phase:
        case Phase.EASY:
            return Boundary(session.until, Due.EASY_OVER)
        case Phase.COUNT_IN:
            return Boundary(session.until, Due.WINDOW_OPENS)
        case Phase.WINDOW if session.open_set:
            return min(window_boundaries(session.open_set), key=lambda each: each.due)
        case Phase.READY | Phase.REST:
            if part is not None and (session.is_ready or goes_on(session, part)):
                return Boundary(session.until, Due.NEXT_PART)
            if part is None and session.asking is None:
                return None
            return Boundary(max(session.until, heard_at) + SILENCE_S, Due.SILENCE)
    return None


def window_boundaries(current: SetState) -> list[Boundary]:
    """Return what the open window of a set still brings, in order of time."""
    opened = current.opened_t or 0.0
    ahead = [Boundary(opened + current.closes_at, Due.WINDOW_CLOSES)]
    final = current.window_s - current.final_s
    if "final-stretch" not in current.marks and final < current.closes_at:
        ahead.insert(0, Boundary(opened + final, Due.FINAL_STRETCH))
    if "band" not in current.marks and current.band_s[0] < current.closes_at:
        ahead.insert(0, Boundary(opened + current.band_s[0], Due.BAND))
    return sorted(ahead, key=lambda each: each.due)


def goes_on(session: Session, part: Part) -> bool:
    """Whether the rest ends by itself: only where the program says so and a tap answered the last window."""
    last = session.sets[-1] if session.sets else None
    is_auto = isinstance(part, PlannedSet) and part.advance == "auto"
    return is_auto and last is not None and last.answered and not last.interrupted
