"""The engine: it is handed times and keys, has the rules decide, and applies the events that come of it.

It never reads a clock, a file or a key. A boundary carries its own time, not that of the tick that noticed
it. It is settled once every key pressed before it is known to have been handed in, or `SETTLE_S` later, so
that a key pressed before it and handled after it still belongs where it was pressed.
"""

from dataclasses import dataclass
from typing import Any, Literal

from holdtimer.program.timeline import Part, Timeline
from holdtimer.session import events as ev
from holdtimer.session import menu as menus
from holdtimer.session import rules, trials
from holdtimer.session.debounce import (
    ADJUSTING,
    MENU_KEYS,
    NOT_TAPS,
    TAPS_WITHIN_S,
    Heard,
    KeyTrial,
    OneSwitch,
    Presses,
    Settings,
    TakeBack,
    Train,
    Trains,
    still_after,
)
from holdtimer.session.fold import step
from holdtimer.session.menu import Menu
from holdtimer.session.rules import SETTLE_S
from holdtimer.session.state import Phase, Session, Tap
from holdtimer.session.state import event as event_of

DEAF_AFTER_GAP_S = 0.3
MENU_KEYS_S = 1.5  # so long after an Escape that did not count, the keys of the menu were meant for it


@dataclass(slots=True)
class _Unfolded:
    """What the events do not hold: the keys of late, and what is open on screen. It ends with the process."""

    presses: Presses
    take_back: TakeBack
    one_switch: OneSwitch
    trains: Trains
    trial: KeyTrial
    heard_at: float  # when the person was last heard of
    menu: Menu | None = None
    deaf: tuple[float, float] = (0.0, 0.0)  # keys between these times are dropped
    escape_refused_at: float = float("-inf")  # when an Escape did not count and the menu stayed shut
    said_yes: ev.Confirmed | ev.Asked | None = None  # to what a tap said yes last
    acknowledged: ev.Acknowledged | None = None


class Engine:
    """Runs one session along a timeline, from its beginning or from the `past` state.

    Where it `tries_key`, the first tap at ready only shows that the key is heard, and leaves no event.
    Each method takes times in seconds since the session opened and returns the events that came of it,
    already part of `session`.
    """

    def __init__(
        self,
        timeline: Timeline,
        settings: Settings | None = None,
        past: Session | None = None,
        *,
        tries_key: bool = False,
    ) -> None:
        self.timeline = timeline
        self.session = past or Session()
        self.settings = settings or Settings()
        guard_s = self.settings.guard_s
        self._more = _Unfolded(
            Presses(guard_s),
            TakeBack(guard_s),
            OneSwitch(),
            Trains(guard_s),
            KeyTrial(tries_key),
            self.session.t,
        )
        self._new: list[ev.AnyEvent] = []

    # -- what can be asked -------------------------------------------------------------------------------

    @property
    def menu(self) -> Menu | None:
        """The open menu as things stand now."""
        menu = self._more.menu
        if menu is None:
            return None
        lines = menus.choices(self.session, self.timeline, is_scanned=menu.scanned_since is not None)
        return menu.at(self.session.since, lines)

    @property
    def is_scanning(self) -> bool:
        """Whether the lines of the menu are marked in turn, and a tap chooses."""
        menu = self.menu
        return menu is not None and menu.scanned_since is not None

    @property
    def dropped(self) -> Train | None:
        """The latest presses that did not count."""
        return self._more.trains.latest

    @property
    def acknowledged(self) -> ev.Acknowledged | None:
        """What the latest key that counted brought, where that is to be acknowledged."""
        return self._more.acknowledged

    def part(self) -> Part | None:
        """Return the part that is running or comes next, at the rung chosen for it."""
        return rules.part_of(self.session, self.timeline)

    def tap_meaning(self, now: float) -> Tap:
        """Return what a tap at `now` would do."""
        menu = self.menu
        if menu is not None and menu.scanned_since is not None:
            return Tap.CHOOSE if menu.listens(now) else Tap.NOT_YET
        if self.tries_key:
            return Tap.TRY
        return rules.tap_meaning(self.session, now, self.part(), self.settings.back_in_guard_s)

    @property
    def tries_key(self) -> bool:
        """Whether a tap only tries the key."""
        return self._more.trial.is_waiting and self._is_at_ready

    @property
    def tried_at(self) -> float | None:
        """When the key was tried; None where it wasn't."""
        return self._more.trial.tried_at

    @property
    def _is_at_ready(self) -> bool:
        return self._is_live and self.session.phase is Phase.READY and not self.session.is_ready

    def takes_back(self, now: float) -> bool:
        """Whether one more Backspace takes the last stamp back."""
        return self.session.open_set is not None and self._more.take_back.waits(now)

    def next_boundary(self) -> float | None:
        """Return when time alone brings something next; None if it never does."""
        boundary = self._boundary()
        return None if boundary is None else boundary.t

    def is_over(self, now: float) -> bool:
        """Whether nothing is left to do but to close the session."""
        session = self.session
        if session.phase is Phase.CLOSED or session.left:
            return False
        if session.stopped:
            return True
        is_done = session.part >= len(self.timeline.parts) and session.phase is Phase.REST
        is_waiting = self.is_scanning or session.asking is not None or now < rules.last_tap_until(session)
        return is_done and not is_waiting

    @property
    def _is_live(self) -> bool:
        """Whether anything can still happen in this session."""
        session = self.session
        return session.phase not in (Phase.NEW, Phase.CLOSED) and not session.left and not session.stopped

    # -- what can happen ---------------------------------------------------------------------------------

    def record(self, kind: type[ev.AnyEvent], t: float, /, **fields: Any) -> list[ev.AnyEvent]:
        """Add an event that the world outside decides: opened, anchor, silent, log-trouble."""
        self._emit(kind, t, **fields)
        return self._take()

    def tick(self, now: float, read_until: float | None = None) -> list[ev.AnyEvent]:
        """Let time pass. Every key pressed by `read_until` was handed in; None where that is not known."""
        if self._is_live:
            self._settle_keys(now)
            settled = now - SETTLE_S
            if read_until is not None and not self._more.take_back.is_unsure:
                settled = max(settled, min(read_until, now))
            self._settle_boundaries(settled)
            self._log_train(self._more.trains.end_if_silent(now))
        return self._take()

    def press(self, key: str, at: float, handled: float | None = None) -> list[ev.AnyEvent]:
        """Take a key by its name, pressed at `at` and handled at `handled`."""
        if not self._is_live or key in self.settings.not_taps:
            return []
        at = ev.round_time(max(at, 0.0))
        self._settle(at, key)
        if self._more.deaf[0] < at < self._more.deaf[1]:
            self._more.presses.hear(key, at)
            self._drop("gap", at)
        elif self._is_live:
            self._press(key, at, at if handled is None else handled)
            self._settle_boundaries(at)
        return self._take()

    def focus(self, has: bool, at: float) -> list[ev.AnyEvent]:
        """Take note that the terminal has gained or lost the keyboard."""
        if self._is_live and has != self.session.focused:
            self._settle(at)
            self._emit(ev.Focus, at, has=has)
        return self._take()

    def gap(self, alive_at: float, now: float, seconds: float) -> list[ev.AnyEvent]:
        """Take note that nothing ran between `alive_at` and `now`: `seconds` by a clock that never stops."""
        alive_at = max(alive_at, self.session.alive_t)
        now = max(now, alive_at)
        self._settle(alive_at)
        self._close_menu(alive_at)
        if self._is_live:
            self._emit(ev.Gap, now, seconds=round(max(seconds, 0.0), 3))
            self._interrupt("gap", alive_at, now)
            self._more.deaf = (alive_at, now + DEAF_AFTER_GAP_S)
            self._hear(now)
        return self._take()

    def leave(self, reason: ev.LeaveReason, now: float) -> list[ev.AnyEvent]:
        """Leave the session; it can be resumed, unless it is being asked whether something feels wrong."""
        self._settle(now)
        self._close_menu(now)
        if self._is_live:
            self._log_train(self._more.trains.end())
            self._emit(ev.Left, now, reason=reason)
        return self._take()

    def resume(self, now: float) -> list[ev.AnyEvent]:
        """Resume a session that was left or killed: an open window is over, and a tap goes on."""
        if self.session.phase is not Phase.CLOSED:
            last_known, now = self.session.alive_t, max(now, self.session.t)
            self._emit(ev.Resumed, now)
            self._interrupt("left", last_known, now)
            self._close_menu(now)
            self._hear(now)
        return self._take()

    def close(self, now: float, reason: str) -> list[ev.AnyEvent]:
        """Close the session for good."""
        if self.session.phase is not Phase.CLOSED:
            last_known, now = self.session.alive_t, max(now, self.session.t)
            self._log_train(self._more.trains.end())
            self._interrupt("left", last_known, now)
            self._emit(ev.Closed, now, reason=reason)
        return self._take()

    # -- events ------------------------------------------------------------------------------------------

    def _emit(self, kind: type[ev.AnyEvent], t: float, /, **fields: Any) -> None:
        self._apply(event_of(self.session, kind, t, **fields))

    def _apply(self, event: ev.AnyEvent | None) -> None:
        """Fold an event, and what follows it at once: a rest after each set that is over."""
        if event is None:
            return
        self.session = step(self.session, event)
        self._new.append(event)
        if ev.is_acknowledged(event):
            self._more.acknowledged = event
        self._apply(rules.following(self.session, self.timeline, event))

    def _take(self) -> list[ev.AnyEvent]:
        """Hand out the events since the last call."""
        new, self._new = self._new, []
        return new

    def _hear(self, at: float) -> float:
        """Note that the person was heard of; return when, never before what was heard already."""
        self._more.heard_at = max(self._more.heard_at, at)
        return self._more.heard_at

    def _drop(self, reason: ev.DropReason, at: float) -> None:
        self._log_train(self._more.trains.add(reason, at))

    def _log_train(self, train: Train | None) -> None:
        if train is not None:
            since = ev.round_time(train.since)
            self._emit(ev.Dropped, train.last, reason=train.reason, count=train.count, since=since)

    # -- time --------------------------------------------------------------------------------------------

    def _boundary(self) -> ev.AnyEvent | None:
        return rules.boundary(self.session, self.timeline, self._more.heard_at) if self._is_live else None

    def _settle(self, until: float, key: str | None = None) -> None:
        """Let everything happen that time brings by then, before `key` is taken."""
        if self._is_live:
            self._settle_keys(until, key)
            self._settle_boundaries(until)

    def _settle_boundaries(self, until: float) -> None:
        while (boundary := self._boundary()) is not None and boundary.t <= until:
            self._apply(boundary)

    def _settle_keys(self, now: float, key: str | None = None) -> None:
        """Let what waits for more keys happen when none came, or `key` did."""
        menu = self.menu and self.menu.scanned(now)
        if menu is None:
            self._close_menu(now)
        self._more.menu = menu
        at = self._more.take_back.taken_back(now, key)
        current = self.session.open_set
        if at is not None and current is not None and current.stamps:
            self._emit(ev.TakenBack, at, **rules.place(current, at), of=current.stamps[-1].n)

    def _interrupt(self, why: Literal["gap", "left"], last_known: float, now: float) -> None:
        """End an open window or trial that was broken off; it is known to have run until `last_known`."""
        self._apply(rules.interrupted(self.session, why, last_known, now))

    # -- keys --------------------------------------------------------------------------------------------

    def _press(self, key: str, at: float, handled: float) -> None:
        self._more.presses.guard_s = rules.guard_s(self.session, self.settings.guard_s)
        heard = self._more.presses.hear(key, at)
        if self.is_scanning:
            self._press_scanned(key, at, heard)
        elif not self._opens_scan(key, at, heard) and not self._is_control(key, at, heard.alone is None):
            self._tap(at, handled, heard.among)

    def _tap(self, at: float, handled: float, doubt: ev.DropReason | None) -> None:
        """Take a tap; one that counts closes the menu."""
        if doubt is not None:
            self._drop(doubt, at)
            return
        self._more.menu = None
        self._log_train(self._more.trains.end())
        self._hear(at)
        if self._is_at_ready and (heard := self._more.trial.hear(at, self.session.since)) is not None:
            if heard == "screen":
                self._drop(heard, at)
            return
        back_in_guard_s = self.settings.back_in_guard_s
        found = rules.tap(self.session, self.part(), at, handled, back_in_guard_s)
        if isinstance(found, str):
            self._drop(found, at)
            return
        if isinstance(found, (ev.Failure, ev.ReEntry)):
            self._more.take_back.forget()
        elif isinstance(found, (ev.Confirmed, ev.Asked)):
            self._more.said_yes = found
        self._apply(found)

    def _is_control(self, key: str, at: float, is_meant: bool) -> bool:
        """Handle a key that is not a tap as things stand; False if it is one."""
        current, menu, more = self.session.open_set, self.menu, self._more
        if key == "backspace":
            more.take_back.press(at, can=current is not None and bool(current.stamps))
            if is_meant:
                self._deny(at)
        elif key == "escape":
            self._escape(at, menu, is_meant)
        elif menu is not None and key in ("up", "down"):
            more.menu = menu.moved(-1 if key == "up" else 1)
        elif menu is not None and key == "enter":
            if is_meant:
                self._choose(menu, at)
        elif key in MENU_KEYS and at - more.escape_refused_at < MENU_KEYS_S:
            self._drop("guard", at)
        elif key in ADJUSTING and rules.adjusts(self.session, at):
            if is_meant:
                self._adjust(key, at)
        else:
            return key == "question_mark"
        return True

    def _escape(self, at: float, menu: Menu | None, is_meant: bool) -> None:
        """Turn the menu. Where one too soon leaves it shut, that is seen, and what follows is no tap."""
        if is_meant:
            self._more.menu = menus.opened(self.session, self.timeline) if menu is None else None
        elif menu is None:
            self._more.escape_refused_at = at
            self._drop("guard", at)

    def _deny(self, at: float) -> None:
        """Take a no to what is asked; not before it can have been read."""
        found = rules.no(self.session, at)
        if isinstance(found, str):
            self._drop(found, at)
        elif found is not None:
            self._hear(at)
            self._apply(found)

    def _adjust(self, key: str, at: float) -> None:
        self._more.menu = None
        at = self._hear(at)
        if key == "o":
            self._emit(ev.OffDay, at, value=not self.session.off_day)
        else:
            by = 1 if key == "plus" else -1
            self._apply_or_ask(menus.step_rung(self.session, self.timeline, by, at))

    # -- the menu ----------------------------------------------------------------------------------------

    def _close_menu(self, at: float) -> None:
        """Close the menu; one that asks again whether something feels wrong takes no answer for a yes."""
        menu, self._more.menu = self._more.menu, None
        if menu is not None and menu.asks_again and self._is_live:
            self._apply(rules.stop(self.session, "symptom", min(at, menu.over_at())))

    def _choose(self, menu: Menu, at: float) -> None:
        """Do what is marked, not before what was heard already; it may ask on with another menu."""
        self._more.menu = None
        self._apply_or_ask(menus.choose(self.session, self.timeline, menu, self._hear(at)))

    def _apply_or_ask(self, found: ev.AnyEvent | Menu | None) -> None:
        if isinstance(found, Menu):
            self._more.menu = found
        else:
            self._apply(found)

    # -- one switch --------------------------------------------------------------------------------------

    def _opens_scan(self, key: str, at: float, heard: Heard) -> bool:
        """Open the menu that reads itself out when a single switch asks for it; nothing goes on meanwhile."""
        session, one_switch = self.session, self._more.one_switch
        if rules.is_stamping(session, at):
            one_switch.forget()
            return False
        # a key that chooses in a menu or sets something shows that there is more than one switch
        chooses = key == "enter" and self._more.menu is not None
        sets = key in ADJUSTING and rules.adjusts(session, at)
        is_other = chooses or sets or session.phase is Phase.ASKED  # whose answers come one after the other
        held_since = rules.may_ask_since(session, heard.held_since)
        if key in NOT_TAPS or not one_switch.asks(at, heard.among is None and not is_other, held_since):
            return False
        if rules.is_on_the_way(session, self.timeline):
            self._emit(ev.NotReady, at)
        yes = self._more.said_yes  # it may have begun the taps that ask for the menu, or the holding
        if isinstance(yes, ev.Confirmed) and at - yes.t < TAPS_WITHIN_S:
            self._apply(rules.ran_to_end(self.session, at, value=None))
        if isinstance(yes, ev.Asked) and held_since is not None and yes.t >= held_since:
            self._apply(trials.put_again(self.session, yes, at))
        self._hear(at)
        self._more.menu = menus.opened(self.session, self.timeline, scanned_since=still_after(at))
        return True

    def _press_scanned(self, key: str, at: float, heard: Heard) -> None:
        menu = self.menu
        if key == "escape":
            self._more.menu = None
        elif key in NOT_TAPS or menu is None:
            return
        elif heard.among is not None:
            self._drop(heard.among, at)
        elif not menu.listens(at):
            self._drop("screen", at)
            self._more.menu = menu.waiting(at)
        else:
            self._choose(menu, at)
