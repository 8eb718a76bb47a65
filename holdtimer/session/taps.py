"""What a tap will do now: the one thing the screen always says."""

from enum import StrEnum

from holdtimer.session.events import exact
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
            return Tap.NOT_READY if exact(now - session.since) >= SETTLED_IN_S else Tap.NOTHING
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
    after = exact(at - last.opened_t - last.ended_at)
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
