"""The engine: the one place that decides. It is handed times and keys, and returns events.

It never reads a clock, a file or a key. Boundaries carry the time they were due, not the time of the tick
that noticed them, and are settled only `SETTLE_S` later, so that a key pressed before one and handled after
it still belongs where it was pressed.
"""

from typing import Any

from holdtimer.program.timeline import Part, Timeline
from holdtimer.session import events as ev
from holdtimer.session.clockwork import Clockwork
from holdtimer.session.debounce import HELD_FOR_MENU_S
from holdtimer.session.dropped import Train
from holdtimer.session.hand import Hand, Settings
from holdtimer.session.menu import Menu
from holdtimer.session.recorder import Recorder
from holdtimer.session.rules import Tap, tap_meaning
from holdtimer.session.state import LATE_TAP_S, Phase, Session

SETTLE_S = 0.25
DEAF_AFTER_GAP_S = 0.3


class Engine:
    """Leads one session along a timeline, from its beginning or from its `past` events.

    Each method takes times in seconds since the session opened and returns the events that came of it,
    already part of `session`.
    """

    def __init__(
        self,
        timeline: Timeline,
        settings: Settings | None = None,
        past: list[ev.AnyEvent] | None = None,
    ) -> None:
        self._recorder = Recorder(timeline, past or [])
        self._clockwork = Clockwork(self._recorder)
        self._hand = Hand(self._recorder, self._clockwork, settings or Settings())
        self._deaf = (0.0, 0.0)

    # -- what can be asked -------------------------------------------------------------------------------

    @property
    def timeline(self) -> Timeline:
        """The script this session follows."""
        return self._recorder.timeline

    @property
    def session(self) -> Session:
        """The state after all events so far."""
        return self._recorder.session

    @property
    def menu(self) -> Menu | None:
        """The open menu."""
        return self._hand.menu

    @property
    def is_scanning(self) -> bool:
        """Whether the lines of the menu are marked in turn, and a tap chooses."""
        return self._hand.is_scanning

    @property
    def dropped(self) -> Train | None:
        """The latest presses that did not count."""
        return self._hand.drops.latest

    def part(self) -> Part | None:
        """Return the part that is running or comes next, at the rung chosen for it."""
        return self._recorder.part()

    def tap_meaning(self, now: float) -> Tap:
        """Return what a tap at `now` would do."""
        menu = self.menu
        if menu is not None and menu.scanned_since is not None:
            return Tap.CHOOSE if menu.listens(now) else Tap.NOT_YET
        return tap_meaning(self.session, now, self._recorder.parts)

    def takes_back(self, now: float) -> bool:
        """Whether one more Backspace takes the last stamp back."""
        return self._hand.take_back.waits(now)

    def is_key_held(self, now: float) -> bool:
        """Whether a key is being held down."""
        return self._hand.presses.held(now)

    def is_over(self, now: float) -> bool:
        """Whether nothing is left to do but to close the session."""
        session = self.session
        if session.phase is Phase.CLOSED or session.left:
            return False
        if session.stopped:
            return True
        is_done = session.phase is Phase.REST and self.part() is None and session.asking is None
        return is_done and not self.is_scanning and now >= self._closes_at()

    def _closes_at(self) -> float:
        """Return when nothing more can be said of the last window.

        Not before a late tap can come, nor before the key that said "worked to the end" can have been held
        down for the menu.
        """
        session = self.session
        silent = session.deniable
        held_until = (
            session.until + HELD_FOR_MENU_S + SETTLE_S if silent is not None and silent.confirmed else 0.0
        )
        return max(session.since + LATE_TAP_S + SETTLE_S, held_until)

    # -- what can happen ---------------------------------------------------------------------------------

    def record(self, kind: type[ev.AnyEvent], t: float, /, **fields: Any) -> list[ev.AnyEvent]:
        """Add an event that the world outside decides: opened, anchor, silent, log-trouble."""
        self._recorder.emit(kind, t, **fields)
        return self._recorder.take()

    def tick(self, now: float) -> list[ev.AnyEvent]:
        """Let time pass."""
        if self._recorder.is_live:
            self._hand.settle(now)
            self._clockwork.settle(now - SETTLE_S)
            self._hand.drops.flush(now)
        return self._recorder.take()

    def press(self, key: str, at: float, handled: float | None = None) -> list[ev.AnyEvent]:
        """Take a key by its name, pressed at `at` and handled at `handled`."""
        if not self._recorder.is_live or key in self._hand.settings.not_taps:
            return []
        at = ev.round_time(max(at, 0.0))
        self._settle(at, key)
        if self._deaf[0] < at < self._deaf[1]:
            self._hand.ignore(key, at, "gap")
        elif self._recorder.is_live:
            self._hand.press(key, at, at if handled is None else handled)
            self._clockwork.settle(at)
        return self._recorder.take()

    def focus(self, has: bool, at: float) -> list[ev.AnyEvent]:
        """Take note that the terminal has gained or lost the keyboard."""
        if self._recorder.is_live and has != self.session.focused:
            self._settle(at)
            self._recorder.emit(ev.Focus, at, has=has)
        return self._recorder.take()

    def gap(self, alive_at: float, now: float, seconds: float) -> list[ev.AnyEvent]:
        """Take note that nothing ran between `alive_at` and `now`: `seconds` by a clock that never stops."""
        alive_at = max(alive_at, self.session.alive_t)
        now = max(now, alive_at)
        self._settle(alive_at)
        self._hand.close_menu(alive_at)
        if self._recorder.is_live:
            self._recorder.emit(ev.Gap, now, seconds=round(max(seconds, 0.0), 3))
            self._clockwork.interrupt("gap", alive_at, now)
            self._deaf = (alive_at, now + DEAF_AFTER_GAP_S)
            self._recorder.hear(now)
        return self._recorder.take()

    def leave(self, reason: ev.LeaveReason, now: float) -> list[ev.AnyEvent]:
        """Leave the session; it can be resumed."""
        self._settle(now)
        if self._recorder.is_live:
            self._hand.drops.flush(now, is_over=True)
            self._recorder.emit(ev.Left, now, reason=reason)
        return self._recorder.take()

    def resume(self, now: float) -> list[ev.AnyEvent]:
        """Go on with a session that was left or killed: an open window is over, and a tap goes on."""
        if self.session.phase is not Phase.CLOSED:
            last_known, now = self.session.alive_t, max(now, self.session.t)
            self._recorder.emit(ev.Resumed, now)
            self._clockwork.interrupt("left", last_known, now)
            self._hand.close_menu(now)
            self._recorder.hear(now)
        return self._recorder.take()

    def close(self, now: float, reason: str) -> list[ev.AnyEvent]:
        """Close the session for good."""
        if self.session.phase is not Phase.CLOSED:
            last_known, now = self.session.alive_t, max(now, self.session.t)
            self._hand.drops.flush(now, is_over=True)
            self._clockwork.interrupt("left", last_known, now)
            self._recorder.emit(ev.Closed, now, reason=reason)
        return self._recorder.take()

    def _settle(self, until: float, key: str | None = None) -> None:
        """Let all that was due by then happen, before `key` is taken."""
        if self._recorder.is_live:
            self._hand.settle(until, key)
            self._clockwork.settle(until)
