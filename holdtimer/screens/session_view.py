"""What the session screen shows, as plain data worked out from the state of the engine. No widgets here."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from holdtimer.report.words import TAP_WORDS, clock, countdown
from holdtimer.screens.ruler import RulerData
from holdtimer.script.timeline import Easy, Part, PlannedSet, Side
from holdtimer.session.engine import Engine
from holdtimer.session.state import Phase, Session, SetState
from holdtimer.session.taps import Tap

LastFailures = Mapping[tuple[str, Side], float]  # last time's first failure (s), by exercise and side
Tone = Literal["work", "out", "wait"]

DROPPED_SHOWN_S = 1.5
_DROPPED = {
    "guard": "too soon after the last key: not a tap",
    "held": "a key is held down: not a tap",
    "screen": "too soon: not a tap yet",
    "back-in": "too soon to be back in: not a tap",
    "no-use": "a tap does nothing now",
    "gap": "not a tap: the program had stood still",
}


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the session screen."""

    tone: Tone
    heading: str
    place: str  # where in the session: "set 2 of 5"
    digits: str  # empty where no clock runs
    headline: str  # the largest text after the digits
    lines: tuple[str, ...]
    remaining: str
    ruler: RulerData | None = None
    tap: str = ""
    tap_counts: bool = False
    notices: tuple[str, ...] = ()


def view(engine: Engine, now: float, last: LastFailures, troubles: tuple[str, ...] = ()) -> View:
    """Return what is to be seen at session time `now` (s); `troubles` are what the state does not know of."""
    session, part = engine.session, engine.part()
    current = session.open_set
    meaning = engine.tap_meaning(now)
    if session.phase is Phase.WINDOW and current is not None and isinstance(part, PlannedSet):
        shown = _window(engine, session, current, part, now, last)
    else:
        shown = _waiting(engine, session, part, now, last)
    return replace(
        shown,
        tap=TAP_WORDS[meaning],
        tap_counts=meaning is not Tap.NOTHING,
        notices=(*troubles, *_notices(engine, session, now)),
    )


def _notices(engine: Engine, session: Session, now: float) -> tuple[str, ...]:
    said = []
    if session.log_trouble:
        said.append(f"not saved yet: {session.log_trouble}")
    if not session.focused:
        said.append("keys do not reach me: click into this window")
    if session.silent:
        said.append(f"no sound: {session.silent}")
    if engine.takes_back(now):
        said.append("Backspace once more takes the last stamp back")
    dropped = engine.dropped
    if dropped is not None and 0 <= now - dropped.last < DROPPED_SHOWN_S:
        said.append(_DROPPED[dropped.reason])
    return tuple(said)


def _title(part: Part | None) -> str:
    if part is None:
        return ""
    if isinstance(part, Easy):
        return part.title
    return part.name if part.side == "both" else f"{part.name}, {part.side}"


def _place(engine: Engine, part: Part | None) -> str:
    if isinstance(part, PlannedSet):
        return f"set {part.set} of {len(engine.timeline.sets)}"
    return "easy" if part is not None else ""


def _window(
    engine: Engine, session: Session, current: SetState, part: PlannedSet, now: float, last: LastFailures
) -> View:
    passed = max(0.0, now - (current.opened_t or 0.0))
    left = max(0.0, session.until - now)
    side = "" if part.side == "both" else f" · {part.side}"
    return View(
        tone="work" if current.working else "out",
        heading=f"{part.name}{side} · {current.rung}",
        place=_place(engine, part),
        digits=clock(min(passed, current.window_s)),
        headline=_headline_in_window(current, part),
        lines=_lines_in_window(current, part, passed),
        remaining=f"{countdown(left)} s to the end" if left < 100 else f"{countdown(left)} to the end",
        ruler=_ruler(current, passed, last),
    )


def _headline_in_window(current: SetState, part: PlannedSet) -> str:
    if not current.working:
        return part.way_out
    return "Last stretch" if current.marks and "final-stretch" in current.marks else ""


def _lines_in_window(current: SetState, part: PlannedSet, passed: float) -> tuple[str, ...]:
    if current.working:
        return (*part.form[:3], f"Failure: {part.failure}")
    since = passed - current.stamps[-1].at
    if not current.reentry:
        return ("Let go and breathe. This set is over.",)
    push = f"Keep pushing {part.push_s:g} s, then let go." if since < part.push_s else "Let go. Breathe."
    return (push, f"Back in when ready: {part.back_in}" if part.back_in else "Back in when ready.")


def _ruler(current: SetState, passed: float, last: LastFailures) -> RulerData:
    return RulerData(
        window_s=current.window_s,
        band_s=current.band_s,
        final_s=current.final_s,
        now_s=passed,
        stamps=tuple((stamp.at, stamp.kind) for stamp in current.stamps),
        last_first_failure_s=last.get((current.exercise, current.side)),
    )


def _waiting(engine: Engine, session: Session, part: Part | None, now: float, last: LastFailures) -> View:
    left = session.until - now
    return View(
        tone="wait",
        heading=_heading(engine, session, part),
        place=_place(engine, part),
        digits=countdown(left) if session.phase in _COUNTING and left > 0 else "",
        headline=_headline(session, part),
        lines=_lines(session, part, last),
        remaining=_remaining(session, part, left),
    )


_COUNTING = (Phase.EASY, Phase.COUNT_IN, Phase.REST)


def _heading(engine: Engine, session: Session, part: Part | None) -> str:
    timeline = engine.timeline
    match session.phase:
        case Phase.READY:
            off = " · off day" if session.off_day else ""
            return f"{timeline.program_title} · {timeline.script_title}{off}"
        case Phase.COUNT_IN if isinstance(part, PlannedSet):
            return f"Get into position · {part.rung.name}"
        case Phase.EASY:
            return "Easy movement"
        case _ if session.asking is not None:
            return "A question"
        case _ if part is None:
            return "The last set is done"
    return "Rest, then" if session.until > session.since else "Next"


def _headline(session: Session, part: Part | None) -> str:
    if session.asking is not None:
        return "Worked to the end?"
    return _title(part) if part is not None else "Done"


def _remaining(session: Session, part: Part | None, left: float) -> str:
    if session.phase is Phase.COUNT_IN:
        return "until the window opens"
    if session.phase is Phase.EASY:
        return "then on to the next"
    if session.phase is Phase.REST and part is not None:
        if left > 0:
            return "ready: it goes on after the rest" if session.is_ready else "of rest left"
        return "rest is over"
    return ""


def _lines(session: Session, part: Part | None, last: LastFailures) -> tuple[str, ...]:
    if session.asking is not None:
        return (
            "No failure was stamped in the last window.",
            "A tap says that you worked to its end. Esc has: I did not work to the end.",
        )
    if part is None:
        return ("The session is being closed.",)
    if session.phase is Phase.COUNT_IN:
        return part.setup
    needs = (f"Needed: {', '.join(part.needs)}",) if part.needs else ()
    if isinstance(part, Easy):
        return (f"{part.seconds:g} s", *part.setup, *needs)
    return (*_rung_lines(part, last), *part.setup, *needs)


def _rung_lines(part: PlannedSet, last: LastFailures) -> tuple[str, ...]:
    how = f": {part.rung.how}" if part.rung.how else ""
    failed = last.get((part.exercise, part.side))
    before = (f"Last time failed at {clock(failed)}",) if failed is not None else ()
    return (f"{part.rung.name}{how}", *before)
