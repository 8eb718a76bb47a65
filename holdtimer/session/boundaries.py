"""What comes next by the clock alone, and when it is due."""

from dataclasses import dataclass
from enum import Enum, auto

from holdtimer.script.timeline import Easy, Part
from holdtimer.session.events import exact
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
            return window_boundaries(session.open_set)[0]
        case Phase.READY | Phase.REST:
            if part is not None and (session.is_ready or goes_on(session, part)):
                return Boundary(session.until, Due.NEXT_PART)
            if part is None and session.asking is None:
                return None
            return Boundary(exact(max(session.until, heard_at) + SILENCE_S), Due.SILENCE)
    return None


def window_boundaries(current: SetState) -> list[Boundary]:
    """Return what the open window of a set still brings, in order of time."""
    marks = {"band": (current.band_s[0], Due.BAND)}
    marks["final-stretch"] = (current.window_s - current.final_s, Due.FINAL_STRETCH)
    ahead = [
        mark for name, mark in marks.items() if name not in current.marks and mark[0] < current.closes_at
    ]
    ahead.append((current.closes_at, Due.WINDOW_CLOSES))
    opened = current.opened_t or 0.0
    return sorted((Boundary(exact(opened + at), what) for at, what in ahead), key=lambda each: each.due)


def goes_on(session: Session, part: Part) -> bool:
    """Whether the rest ends by itself.

    Between two easy parts it does; before a set only where the program says so and a tap answered the last
    window. Never after the session was broken off or sent back to waiting.
    """
    if session.halted:
        return False
    if isinstance(part, Easy):
        return session.after_easy
    last = session.sets[-1] if session.sets else None
    return part.advance == "auto" and last is not None and last.answered
