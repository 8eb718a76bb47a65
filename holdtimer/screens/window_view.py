"""What is seen while a work window is open: in work, and out of work."""

from collections.abc import Mapping
from math import floor

from holdtimer.report.words import clock, countdown
from holdtimer.screens.ruler import RulerData
from holdtimer.screens.view import Line, View
from holdtimer.script.timeline import PlannedSet, Side
from holdtimer.session.state import SetState

LastFailures = Mapping[tuple[str, Side], float]  # last time's first failure (s), by exercise and side

WAY_OUT_S = 8.0  # after the pushing the way out stands this long before the way back in
TOO_LATE_S = 5.0  # so shortly before the end nobody is led back in
REMINDER_S = 15.0  # each line of the form stands this long
RULER_STEP_S = 0.25  # the ruler moves on in these steps


def window_view(current: SetState, part: PlannedSet, now: float, until: float, last: LastFailures) -> View:
    """Return what is seen at session time `now` of a window that closes at `until` (s)."""
    passed = min(max(0.0, now - (current.opened_t or 0.0)), current.window_s)
    return _work(current, part, passed, last) if current.working else _out(current, part, passed, until - now)


def _work(current: SetState, part: PlannedSet, passed: float, last: LastFailures) -> View:
    side = "" if part.side == "both" else part.side
    return View(
        state="work",
        heading=f"{part.name} · {current.rung}",
        places=(to_the_end(current.window_s - passed),),
        digits=clock(passed),
        widest=_widest(current),
        beside=(side,) if side else (),
        beside_at="left" if side == "left" else "right",
        lines=(Line(part.failure, "Failure"), *_reminder(part, passed)),
        ruler=_ruler(current, passed, last),
        way_out=part.way_out,
    )


def _reminder(part: PlannedSet, passed: float) -> tuple[Line, ...]:
    """Return one of the form's lines, a while each."""
    at = int(passed // REMINDER_S) % max(1, len(part.form))
    return tuple(Line(text, "Form") for text in part.form[at : at + 1])


def _out(current: SetState, part: PlannedSet, passed: float, left: float) -> View:
    since = passed - current.stamps[-1].at
    back_in = part.back_in if current.reentry else None
    is_back_in = back_in is not None and since >= part.push_s + WAY_OUT_S and left > TOO_LATE_S
    return View(
        state="out",
        heading=f"Way out: {part.way_out}" if is_back_in else f"{part.name} · {current.rung}",
        places=(to_the_end(left),),
        digits=clock(passed),
        widest=_widest(current),
        beside=("back in", "when ready") if is_back_in else _what_to_do(since, part.push_s),
        headline=back_in if is_back_in and back_in else part.way_out,
        lines=() if is_back_in else _after_failure(back_in),
        ruler=_ruler(current, passed, {}),
        way_out=part.way_out,
    )


def _what_to_do(since: float, push_s: float) -> tuple[str, ...]:
    return ("keep pushing", f"for {push_s:g} s") if since < push_s else ("ease off", "breathe")


def _after_failure(back_in: str | None) -> tuple[Line, ...]:
    return (Line(back_in, "Back in when ready"),) if back_in else (Line("This set is over."),)


def to_the_end(left: float) -> str:
    """Return the time to the end of a window in words."""
    return f"{countdown(left)} to the end" if left > 99 else f"{countdown(left)} s to the end"


def _widest(current: SetState) -> str:
    return "00" if current.window_s < 100 else "0:00" if current.window_s < 600 else "00:00"


def _ruler(current: SetState, passed: float, last: LastFailures) -> RulerData:
    return RulerData(
        window_s=current.window_s,
        band_s=current.band_s,
        final_s=current.final_s,
        now_s=floor(passed / RULER_STEP_S) * RULER_STEP_S,
        stamps=tuple((stamp.at, stamp.kind) for stamp in current.stamps),
        last_first_failure_s=last.get((current.exercise, current.side)),
    )
