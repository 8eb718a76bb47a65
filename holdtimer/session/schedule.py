"""The schedule of a work window: what comes when, worked out once for all that follow it."""

from dataclasses import dataclass
from enum import StrEnum

from holdtimer.program.timeline import PlannedSet
from holdtimer.session.events import round_time
from holdtimer.session.state import SetState

COUNTED_DOWN = 5  # the last seconds of a window
LAST_S = 10.0
BREATHE_AT_S = (20.0, 40.0)
BREATHE_IN_BAND_S = 1.2  # after the band's own sound, which would cover it


@dataclass(frozen=True, slots=True)
class Schedule:
    """What one window brings, in session time (s), as the set stands; None for what it closes before.

    A window that a failure closes early has no countdown.
    """

    opens: float
    band: float | None
    final_stretch: float | None
    last_ten: float | None
    countdown: tuple[float, ...]
    breaths: tuple[float, ...]
    closes: float


def schedule_of(current: SetState) -> Schedule:
    """Return the schedule of a set whose window was opened."""
    opens, closes_at, window_s = current.opened_t or 0.0, current.closes_at, current.window_s

    def before_the_close(at: float) -> float | None:
        return round_time(opens + at) if at < closes_at else None

    is_whole = closes_at >= window_s
    band_s = current.band_s[0]
    breaths = (before_the_close(at) for at in (*BREATHE_AT_S, band_s + BREATHE_IN_BAND_S))
    return Schedule(
        opens=opens,
        band=before_the_close(band_s),
        final_stretch=before_the_close(window_s - current.final_s),
        last_ten=before_the_close(window_s - LAST_S) if is_whole and window_s > LAST_S else None,
        countdown=tuple(
            round_time(opens + closes_at - left) for left in range(COUNTED_DOWN, 0, -1) if is_whole
        ),
        breaths=tuple(at for at in breaths if at is not None) if current.working else (),
        closes=round_time(opens + closes_at),
    )


# -- after a failure, one order at a time ----------------------------------------------------------------

WAY_OUT_S = 8.0  # after the pushing the way out stands this long before the way back in
WAY_OUT_LEAST_S = 3.0  # where the window leaves less than this for it, the way out comes before the pushing
TOO_LATE_S = 5.0  # so shortly before the end nobody is led back in


class Order(StrEnum):
    """What there is to do after a failure."""

    PUSH = "push"
    WAY_OUT = "way-out"
    BACK_IN = "back-in"


@dataclass(frozen=True, slots=True)
class Orders:
    """When the orders after a failure follow each other: seconds of its window.

    The way out comes at `way_out`, after the pushing where there is time for both. Nobody is led back in
    from `too_late` on; `back_in` is None where nobody is at all.
    """

    failed: float
    eases_off: float
    way_out: float
    back_in: float | None
    too_late: float

    def at(self, passed: float) -> Order:
        """Return the order that stands so many seconds into the window."""
        if passed < self.way_out:
            return Order.PUSH
        leads_back = self.back_in is not None and self.back_in <= passed < self.too_late
        return Order.BACK_IN if leads_back else Order.WAY_OUT


def way_out_at(failed: float, each: SetState | PlannedSet) -> float:
    """Return when the way out is ordered after a failure, in seconds of the window."""
    eases_off = round_time(failed + each.push_s)
    has_time = each.reentry and round_time(each.window_s - eases_off) >= WAY_OUT_LEAST_S
    return eases_off if has_time else failed


def orders_of(current: SetState) -> Orders:
    """Return the orders after the last stamp of an open window, which is a failure."""
    failed, closes_at = current.stamps[-1].at, current.closes_at
    eases_off = round_time(failed + current.push_s)
    way_out = way_out_at(failed, current)
    back_in = round_time(eases_off + WAY_OUT_S)
    too_late = round_time(closes_at - TOO_LATE_S)
    leads_back = current.reentry and back_in < too_late
    return Orders(failed, eases_off, way_out, back_in if leads_back else None, too_late)
