"""What the person does: taps, the menu, another rung, an off day, taking a stamp back."""

from dataclasses import dataclass

from holdtimer.session import events as ev
from holdtimer.session.chooser import Chooser
from holdtimer.session.clockwork import Clockwork, last_ended
from holdtimer.session.debounce import Heard, OneSwitch, Presses, TakeBack, still_after
from holdtimer.session.dropped import Drops
from holdtimer.session.menu import Choice, Menu, choices, scanned_choices
from holdtimer.session.recorder import Recorder, within
from holdtimer.session.rules import NEW_SCREEN_S, Tap, goes_on, late_tap_set, tap_meaning
from holdtimer.session.state import Phase, SetState

NOT_TAPS = frozenset({"escape", "backspace", "question_mark", "up", "down"})
ADJUSTING = frozenset({"plus", "minus", "o"})  # not taps while ready or resting


@dataclass(frozen=True, slots=True)
class Settings:
    """What differs from person to person. Seconds."""

    guard_s: float = 0.8
    back_in_guard_s: float = 2.0
    not_taps: frozenset[str] = frozenset()  # keys that mean nothing at all


class Hand:
    """Turns keys, by name and time, into events."""

    def __init__(self, recorder: Recorder, clockwork: Clockwork, settings: Settings) -> None:
        self.settings = settings
        self.presses = Presses(settings.guard_s)
        self.take_back = TakeBack(settings.guard_s)
        self.drops = Drops(recorder, settings.guard_s)
        self._recorder = recorder
        self._clockwork = clockwork
        self._menu: Menu | None = None
        self._one_switch = OneSwitch()
        self._chooser = Chooser(recorder, clockwork)

    @property
    def menu(self) -> Menu | None:
        """The open menu as things stand now."""
        session, menu = self._recorder.session, self._menu
        return menu and menu.at(session.since, self._lines(menu.scanned_since is not None))

    def close_menu(self, at: float) -> None:
        """Lay the menu away; where it asked again whether something feels wrong, no answer means yes."""
        menu, self._menu = self._menu, None
        if menu is not None and menu.asks_again and self._recorder.is_live:
            self._chooser.stop_session("symptom", min(at, menu.over_at()))

    def press(self, key: str, at: float, handled: float) -> None:
        """Take one key."""
        heard = self.presses.hear(key, at)
        if self.is_scanning:
            self._choose_scanned(key, at, heard)
        elif not self._scans(key, at, heard) and not self._is_control(key, at, heard.alone is None):
            self._tap(at, handled, heard.among)

    def ignore(self, key: str, at: float, reason: ev.DropReason) -> None:
        """Hear a key that cannot count."""
        self.presses.hear(key, at)
        self.drops.add(reason, at)

    def settle(self, now: float, key: str | None = None) -> None:
        """Let what waits for more keys happen when none came, or `key` did."""
        menu = self.menu and self.menu.scanned(now)
        if menu is None:
            self.close_menu(now)
        self._menu = menu
        at = self.take_back.due(now, key)
        current = self._recorder.session.open_set
        if at is not None and current is not None and current.stamps:
            self._recorder.emit(ev.TakenBack, at, **within(current, at), of=current.stamps[-1].n)

    # -- one switch --------------------------------------------------------------------------------------

    @property
    def is_scanning(self) -> bool:
        """Whether the lines of the menu are marked in turn."""
        menu = self.menu
        return menu is not None and menu.scanned_since is not None

    def _scans(self, key: str, at: float, heard: Heard) -> bool:
        """Open the menu that reads itself out when a single switch asks for it; nothing goes on meanwhile."""
        session = self._recorder.session
        if session.phase is Phase.WINDOW or self._ended_set_pressed_in(at) is not None:
            self._one_switch.forget()
            return False
        held_since = heard.held_since if self._may_ask(heard.held_since) else None
        is_tap = heard.among is None and not self._belongs_to_others(key, at)
        if key in NOT_TAPS or not self._one_switch.asks(at, is_tap, held_since):
            return False
        part = self._recorder.part()
        moves = session.is_ready or (part is not None and goes_on(session, part))
        if session.phase is Phase.COUNT_IN or (session.phase is Phase.REST and moves):
            self._recorder.emit(ev.NotReady, at)
        self._recorder.hear(at)
        self._open_scan(at)
        return True

    def _belongs_to_others(self, key: str, at: float) -> bool:
        """Whether a key chooses in a menu or sets something: whoever has it has more than one switch."""
        return (key == "enter" and self._menu is not None) or (key in ADJUSTING and self._adjusts(at))

    def _may_ask(self, held_since: float | None) -> bool:
        """Whether a key held since then can ask: not one leant on in a window or a count-in."""
        session = self._recorder.session
        ended = last_ended(session)
        if held_since is None or (session.phase is Phase.COUNT_IN and held_since > session.since):
            return False
        return ended is None or held_since >= ended

    def _open_scan(self, at: float) -> None:
        lines = self._lines(is_scanned=True)
        self._menu = Menu(lines, lines[0], self._recorder.session.since, scanned_since=still_after(at))

    def _lines(self, is_scanned: bool) -> tuple[Choice, ...]:
        recorder = self._recorder
        if is_scanned:
            return scanned_choices(recorder.session, recorder.part(), recorder.parts)
        return choices(recorder.session, recorder.parts)

    def _choose_scanned(self, key: str, at: float, heard: Heard) -> None:
        menu = self.menu
        if key == "escape":
            self._menu = None
        elif key in NOT_TAPS or menu is None:
            return
        elif heard.among is not None:
            self.drops.add(heard.among, at)
        elif not menu.listens(at):
            self.drops.add("screen", at)
            self._menu = menu.waiting(at)
        else:
            self._menu = None
            self._choose(menu, at)

    # -- keys that are not taps --------------------------------------------------------------------------

    def _is_control(self, key: str, at: float, is_meant: bool) -> bool:
        """Handle a key that is not a tap as things stand; False when it is one."""
        current, menu = self._recorder.session.open_set, self.menu
        if key == "backspace":
            self.take_back.press(at, can=current is not None and bool(current.stamps))
        elif key == "escape":
            self._menu = self._turned(menu) if is_meant else menu
        elif menu is not None and key in ("up", "down"):
            self._menu = menu.moved(-1 if key == "up" else 1)
        elif menu is not None and key == "enter":
            if is_meant:
                self._menu = None
                self._choose(menu, at)
        elif key in ADJUSTING and self._adjusts(at):
            if is_meant:
                self._menu = None
                self._adjust(key, at)
        else:
            return key == "question_mark"
        return True

    def _turned(self, menu: Menu | None) -> Menu | None:
        """Return the menu opened when it was closed, and closed when it was open."""
        lines = self._lines(is_scanned=False)
        return Menu(lines, lines[0], self._recorder.session.since) if menu is None else None

    def _adjusts(self, at: float) -> bool:
        """Whether the adjusting keys are no taps: while ready or resting, but not just after a window."""
        session = self._recorder.session
        is_still = self._ended_set_pressed_in(at) is not None or late_tap_set(session, at) is not None
        return session.phase in (Phase.READY, Phase.REST) and not is_still

    def _adjust(self, key: str, at: float) -> None:
        recorder = self._recorder
        at = recorder.hear(at)
        if key == "o":
            recorder.emit(ev.OffDay, at, value=not recorder.session.off_day)
        else:
            self._menu = self._chooser.step_rung(1 if key == "plus" else -1, at)

    # -- taps --------------------------------------------------------------------------------------------

    def _tap(self, at: float, handled: float, doubt: ev.DropReason | None) -> None:
        """Take a tap; one that counts lays the menu away."""
        if doubt is not None:
            self.drops.add(doubt, at)
            return
        self._menu = None
        self.drops.flush(at, is_over=True)
        self._recorder.hear(at)
        ended = self._ended_set_pressed_in(at)
        if ended is not None:
            self._stamp(ended, at, handled)
        else:
            self._act(at, handled)

    def _ended_set_pressed_in(self, at: float) -> SetState | None:
        """Return the set whose window had been closed or broken off before a tap in it was handled."""
        for each in self._recorder.session.sets:
            if each.opened_t is None or each.ended_at is None or not (each.closed or each.interrupted):
                continue
            if each.opened_t <= at < ev.round_time(each.opened_t + each.ended_at):
                return each
        return None

    def _act(self, at: float, handled: float) -> None:
        session, emit = self._recorder.session, self._recorder.emit
        meaning = tap_meaning(session, at, self._recorder.parts)
        is_new = session.phase is not Phase.WINDOW and ev.round_time(at - session.since) < NEW_SCREEN_S
        if meaning is Tap.LATE:
            self._late_tap(at)
        elif meaning in (Tap.FAILURE, Tap.RE_ENTRY) and session.open_set:
            self._stamp(session.open_set, at, handled)
        elif is_new:
            self.drops.add("screen", at)
        elif meaning in (Tap.BEGIN, Tap.READY):
            emit(ev.Ready, at)
        elif meaning is Tap.NOT_READY:
            emit(ev.NotReady, at)
        elif meaning is Tap.CONFIRM and session.asking:
            emit(ev.Confirmed, at, **within(session.asking, at))
        else:
            self.drops.add("no-use", at)

    def _stamp(self, current: SetState, at: float, handled: float) -> None:
        fields = within(current, at)
        since = ev.round_time(fields["at"] - current.stamps[-1].at) if current.stamps else 0.0
        if current.opened_t is not None and at < current.opened_t:
            self.drops.add("screen", at)
        elif since < 0 or not (current.working or current.reentry):
            self.drops.add("no-use", at)
        elif not current.working and since < self.settings.back_in_guard_s:
            self.drops.add("back-in", at)
        else:
            self.take_back.forget()
            kind = ev.Failure if current.working else ev.ReEntry
            self._recorder.emit(kind, at, **fields, late_ms=round(max(0.0, handled - at) * 1000, 3))

    def _late_tap(self, at: float) -> None:
        late = late_tap_set(self._recorder.session, at)
        if late is not None:
            where = within(late, at)
            after = ev.round_time(where["at"] - (late.ended_at or 0.0))
            self._recorder.emit(ev.LateTap, at, **where, after_s=after)

    def _choose(self, menu: Menu, at: float) -> None:
        """Do what is marked, not before what was heard already; it may ask on with another menu."""
        self._menu = self._chooser.choose(menu, self._recorder.hear(at))
