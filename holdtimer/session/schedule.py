"""The schedule of a work window: what comes when, worked out once for engine, cues and speech."""

from dataclasses import dataclass

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
