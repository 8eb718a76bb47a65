"""What the person does: taps, the menu, another rung, an off day, taking a stamp back."""

from dataclasses import dataclass

from holdtimer.script.timeline import PlannedSet
from holdtimer.session import events as ev
from holdtimer.session.clockwork import Clockwork
from holdtimer.session.dropped import Drops
from holdtimer.session.menu import REASONS, Choice, Menu, choices
from holdtimer.session.presses import Presses
from holdtimer.session.recorder import Recorder, before, within
from holdtimer.session.state import Phase, SetState
from holdtimer.session.takeback import TakeBack
from holdtimer.session.taps import NEW_SCREEN_S, Tap, late_tap_set, tap_meaning

ADJUSTING = frozenset({"plus", "minus", "o"})  # not taps while ready or resting


@dataclass(frozen=True, slots=True)
class Settings:
    """What differs from person to person. Seconds."""

    guard_s: float = 0.8
    back_in_guard_s: float = 2.0


class Hand:
    """Turns keys, by name and time, into events."""

    def __init__(self, recorder: Recorder, clockwork: Clockwork, settings: Settings) -> None:
        self.settings = settings
        self.presses = Presses(settings.guard_s)
        self.take_back = TakeBack()
        self.drops = Drops(recorder, settings.guard_s)
        self._controls = Presses(settings.guard_s)
        self._recorder = recorder
        self._clockwork = clockwork
        self._menu: Menu | None = None

    @property
    def menu(self) -> Menu | None:
        """The open menu, its lines as they are now."""
        if self._menu is None or self._menu.asks_reason_for:
            return self._menu
        return self._menu.with_lines(choices(self._recorder.session, self._recorder.parts))

    def close_menu(self) -> None:
        """Lay the menu away."""
        self._menu = None

    def press(self, key: str, at: float, handled: float) -> None:
        """Take one key."""
        if not self._is_control(key, at):
            self._tap(key, at, handled)

    def settle(self, now: float) -> None:
        """Let what waits for more keys happen when none came."""
        at = self.take_back.due(now)
        current = self._recorder.session.open_set
        if at is not None and current is not None and current.stamps:
            self._recorder.emit(ev.TakenBack, at, **within(current, at), of=current.stamps[-1].n)

    # -- keys that are not taps --------------------------------------------------------------------------

    def _is_control(self, key: str, at: float) -> bool:
        """Handle a key that is not a tap as things stand; False when it is one."""
        session = self._recorder.session
        if key == "question_mark":
            return True
        if key == "escape":
            self._escape(at)
            return True
        if key == "backspace":
            self.take_back.press(at, can=session.open_set is not None and bool(session.open_set.stamps))
            return True
        if self._menu is not None:
            return self._in_menu(key, at)
        if key in ADJUSTING and session.phase in (Phase.READY, Phase.REST):
            if self._controls.judge(key, at) is None:
                self._adjust(key, at)
            return True
        return False

    def _escape(self, at: float) -> None:
        if self._controls.judge("escape", at) is not None:
            return
        if self._menu is None:
            lines = choices(self._recorder.session, self._recorder.parts)
            self._menu = Menu(lines, lines[0])
        else:
            self._menu = None

    def _in_menu(self, key: str, at: float) -> bool:
        """Take a key while the menu is open; any but the menu's own closes it and is a tap."""
        menu = self.menu
        if menu is not None and key in ("up", "down"):
            self._menu = menu.moved(-1 if key == "up" else 1)
            return True
        if menu is not None and key == "enter":
            if self.presses.judge(key, at) is None:
                self._menu = None
                self._choose(menu, at)
            return True
        self._menu = None
        return False

    def _adjust(self, key: str, at: float) -> None:
        recorder = self._recorder
        recorder.heard_at = at
        part = recorder.part()
        if key == "o":
            recorder.emit(ev.OffDay, at, value=not recorder.session.off_day)
        elif isinstance(part, PlannedSet):
            index = part.rung_index + (1 if key == "plus" else -1)
            if 0 <= index < len(part.ladder):
                self._want_rung(part, index, at)

    def _want_rung(self, part: PlannedSet, index: int, at: float) -> None:
        rung = part.ladder[index].name
        if index > self._recorder.timeline.sets[part.set - 1].rung_index:
            self._menu = Menu(REASONS, REASONS[0], asks_reason_for=rung)
        else:
            self._choose_rung(rung, None, at)

    def _choose_rung(self, rung: str, reason: str | None, at: float) -> None:
        part = self._recorder.part()
        if isinstance(part, PlannedSet):
            due = self._recorder.timeline.sets[part.set - 1].rung.name
            self._recorder.emit(ev.RungChosen, at, **before(part), rung=rung, due=due, reason=reason)

    # -- taps --------------------------------------------------------------------------------------------

    def _tap(self, key: str, at: float, handled: float) -> None:
        doubt = self.presses.judge(key, at)
        if doubt is not None:
            self.drops.add(doubt, at)
            return
        self.drops.flush(at, is_over=True)
        self._recorder.heard_at = max(self._recorder.heard_at, at)
        closed = self._closed_set_pressed_in(at)
        if closed is not None:
            self._stamp(closed, at, handled)
        else:
            self._act(at, handled)

    def _closed_set_pressed_in(self, at: float) -> SetState | None:
        """Return the set whose window was closed before a tap in it was handled."""
        last = self._recorder.session.sets[-1] if self._recorder.session.sets else None
        if last is None or last.opened_t is None or last.ended_at is None or not last.closed:
            return None
        return last if last.opened_t <= at < last.opened_t + last.ended_at else None

    def _act(self, at: float, handled: float) -> None:
        session, emit = self._recorder.session, self._recorder.emit
        meaning = tap_meaning(session, at, self._recorder.parts)
        is_new = session.phase is not Phase.WINDOW and at - session.since < NEW_SCREEN_S
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
        late_ms = round(max(0.0, handled - at) * 1000, 3)
        if current.opened_t is not None and at < current.opened_t:
            self.drops.add("screen", at)
        elif current.working:
            self._recorder.emit(ev.Failure, at, **fields, late_ms=late_ms)
        elif not current.reentry:
            self.drops.add("no-use", at)
        elif fields["at"] - current.stamps[-1].at < self.settings.back_in_guard_s:
            self.drops.add("back-in", at)
        else:
            self._recorder.emit(ev.ReEntry, at, **fields, late_ms=late_ms)

    def _late_tap(self, at: float) -> None:
        late = late_tap_set(self._recorder.session, at)
        if late is not None:
            where = within(late, at)
            after = round(where["at"] - (late.ended_at or 0.0), 4)
            self._recorder.emit(ev.LateTap, at, **where, after_s=after)

    # -- the menu's choices ------------------------------------------------------------------------------

    def _choose(self, menu: Menu, at: float) -> None:
        self._recorder.heard_at = at
        if menu.asks_reason_for is not None:
            if menu.marked is not Choice.GO_ON:
                self._choose_rung(menu.asks_reason_for, menu.marked.value, at)
            return
        match menu.marked:
            case Choice.SYMPTOM:
                self._stop_session("symptom", at)
            case Choice.END:
                self._stop_session("choice", at)
            case Choice.SKIP:
                self._skip(at)
            case Choice.HURRY:
                self._recorder.emit(ev.Ready, at, cut=True)
            case Choice.NOT_TO_THE_END:
                self._deny(at)
            case Choice.STOP_SET | Choice.REDO:
                self._break_off(menu.marked, at)

    def _stop_session(self, reason: ev.StopReason, at: float) -> None:
        current = self._recorder.session.open_set
        where = within(current, at) if current else {}
        self._recorder.emit(ev.Stopped, at, reason=reason, scope="session", **where)

    def _break_off(self, choice: Choice, at: float) -> None:
        current = self._recorder.session.open_set
        if current is None:
            return
        if choice is Choice.REDO:
            self._recorder.emit(ev.Redone, at, **within(current, at), attempt=current.attempt)
        else:
            self._recorder.emit(ev.Stopped, at, reason="choice", scope="set", **within(current, at))
            self._clockwork.rest(at)

    def _deny(self, at: float) -> None:
        asking, n = self._recorder.session.asking, self._recorder.session.n + 1
        if asking is not None:
            said = {"field": "ran_to_end", "value": False, "set": asking.number}
            self._recorder.emit(ev.Answer, at, id=f"n{n}", **said)

    def _skip(self, at: float) -> None:
        recorder = self._recorder
        session, part = recorder.session, recorder.part()
        remaining = max(0.0, session.until - at) if session.phase is Phase.REST else 0.0
        current = session.open_set
        if isinstance(part, PlannedSet):
            where = within(current, at) if current else before(part)
            recorder.emit(ev.Skipped, at, **recorder.target(part) | where)
            self._clockwork.rest(at, None if current else remaining)
        elif part is not None:
            recorder.emit(ev.Rest, at, part=part.part + 1, seconds=round(remaining, 4))
