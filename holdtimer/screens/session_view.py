"""What the session screen shows, as plain data worked out from the state of the engine. No widgets here."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

from holdtimer.screens.view import View
from holdtimer.screens.waiting_view import PLAYED, waiting_view
from holdtimer.screens.window_view import LastFailures, window_view
from holdtimer.script.timeline import Part, PlannedSet
from holdtimer.session.engine import Engine
from holdtimer.session.state import Phase, Session
from holdtimer.session.taps import Tap
from holdtimer.session.words import REHEARSAL, TAP_WORDS

Kept = Literal["saved", "written", "noted"]  # on the disk, in a file, in memory only

DROPPED_SHOWN_S = 1.5
_DROPPED = {
    "guard": "too soon: not a tap",
    "held": "key held: not a tap",
    "screen": "too soon: not a tap",
    "back-in": "too soon: not back in",
    "no-use": "a tap does nothing",
    "gap": "it stood still: no tap",
}


def view(
    engine: Engine,
    now: float,
    last: LastFailures,
    remarks: tuple[str, ...] = (),
    kept: Kept = "saved",
    player: str = PLAYED,
) -> View:
    """Return what is to be seen at session time `now` (s).

    `remarks` are told out of the windows only; `kept` is what has become of all that happened so far;
    `player` is the name of the one that is to be heard.
    """
    session, part, meaning = engine.session, engine.part(), engine.tap_meaning(now)
    current = session.open_set
    if session.phase is Phase.WINDOW and current is not None and isinstance(part, PlannedSet):
        shown = window_view(current, part, now, session.until, last)
        calm: tuple[str, ...] = ()
    else:
        shown = waiting_view(session, engine.timeline, part, meaning, now, last, player)
        calm = (*_silence(session), *remarks)
    return replace(
        shown,
        places=tuple(_places(shown, engine, part, kept)),
        tap=_tap_words(session, meaning),
        tap_counts=meaning not in (Tap.NOTHING, Tap.NOT_YET),
        alarm=_alarm(engine, session, now),
        notices=(*_notices(engine, session, now, kept), *calm),
    )


def _places(shown: View, engine: Engine, part: Part | None, kept: Kept) -> Iterator[str]:
    yield from shown.places
    if engine.session.is_rehearsal:
        # beside what is left of a window there is room for one word
        yield REHEARSAL.partition(",")[0] if shown.places else REHEARSAL
    if isinstance(part, PlannedSet):
        yield f"set {part.set} of {len(engine.timeline.sets)}"
    if engine.session.silent:
        yield "no sound"
    if kept == "saved":
        yield "saved"


def _silence(session: Session) -> tuple[str, ...]:
    return (f"no sound: {session.silent}",) if session.silent else ()


def _tap_words(session: Session, meaning: Tap) -> str:
    """Return what a tap does; where it does nothing, what happens without one."""
    if meaning is Tap.NOTHING and not (session.left or session.stopped):
        if session.phase is Phase.WINDOW:
            return "this set is over"
        if session.phase is Phase.EASY or session.is_ready:
            return "it goes on by itself"
    return TAP_WORDS[meaning]


def _alarm(engine: Engine, session: Session, now: float) -> str:
    dropped = engine.dropped
    if dropped is not None and 0 <= now - dropped.last < DROPPED_SHOWN_S:
        return _DROPPED[dropped.reason]
    return "" if session.focused else "keys don't reach me"


def _notices(engine: Engine, session: Session, now: float, kept: Kept) -> Iterator[str]:
    """Yield what is wrong, the most pressing first."""
    if engine.takes_back(now):
        yield "Backspace once more takes the last stamp back"
    if not session.focused:
        yield "click into this window, then keys count again"
    if session.log_trouble:
        yield f"not saved yet: {session.log_trouble}"
    elif kept == "noted":
        yield "noted, not yet saved"
