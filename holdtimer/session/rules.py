"""What a tap means now, and what time brings next: pure functions of the state."""

from dataclasses import dataclass
from enum import Enum, StrEnum, auto

from holdtimer.program.timeline import Easy, Part
from holdtimer.session.events import round_time
from holdtimer.session.state import LATE_TAP_S, Phase, Session, SetState

NEW_SCREEN_S = 1.5  # a new screen outside a window takes no tap for this long
SETTLED_IN_S = 2.0  # from here on a tap in a count-in means "not ready"


class Tap(StrEnum):
    """The meanings of a tap."""

    BEGIN = "begin"
    READY = "ready"
    NOT_READY = "not-ready"
    FAILURE = "failure"
    RE_ENTRY = "re-entry"
    LATE = "late"
    CONFIRM = "confirm"
    CHOOSE = "choose"
    NOT_YET = "not-yet"
    NOTHING = "nothing"


def tap_meaning(session: Session, now: float, parts: int) -> Tap:
    """Return what a tap at `now` (s) would do, in a script of so many parts."""
    if session.left or session.stopped or session.phase is Phase.CLOSED:
        return Tap.NOTHING
    if late_tap_set(session, now) is not None:
        return Tap.LATE
    match session.phase:
        case Phase.READY:
            return Tap.NOTHING if session.is_ready else Tap.BEGIN
        case Phase.COUNT_IN:
            return Tap.NOT_READY if round_time(now - session.since) >= SETTLED_IN_S else Tap.NOTHING
        case Phase.WINDOW:
            return _in_window(session)
        case Phase.REST:
            return _in_rest(session, parts)
    return Tap.NOTHING


def late_tap_set(session: Session, at: float) -> SetState | None:
    """Return the set that a tap at `at` comes just too late for: worked to its close, within 2 s of it."""
    last = session.sets[-1] if session.sets else None
    if last is None or last.opened_t is None or last.ended_at is None or session.halted:
        return None
    after = round_time(at - last.opened_t - last.ended_at)
    is_told = last.late_tap_s is not None or last.confirmed or last.denied
    return last if last.lasted and last.working and not is_told and 0 <= after < LATE_TAP_S else None


def _in_window(session: Session) -> Tap:
    current = session.open_set
    if current is None:
        return Tap.NOTHING
    if current.working:
        return Tap.FAILURE
    return Tap.RE_ENTRY if current.reentry else Tap.NOTHING


def _in_rest(session: Session, parts: int) -> Tap:
    if session.asking is not None:
        return Tap.CONFIRM
    return Tap.NOTHING if session.is_ready or session.part >= parts else Tap.READY


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
            return Boundary(round_time(max(session.until, heard_at) + SILENCE_S), Due.SILENCE)
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
    return sorted((Boundary(round_time(opened + at), what) for at, what in ahead), key=lambda each: each.due)


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
