"""What the lines of the menu do, and the choice of another rung."""

from holdtimer.program.timeline import PlannedSet
from holdtimer.session import events as ev
from holdtimer.session.clockwork import Clockwork
from holdtimer.session.debounce import still_after
from holdtimer.session.menu import REASONS, Choice, Menu
from holdtimer.session.recorder import Recorder, before, within


class Chooser:
    """Turns choices into events."""

    def __init__(self, recorder: Recorder, clockwork: Clockwork) -> None:
        self._recorder = recorder
        self._clockwork = clockwork

    def choose(self, menu: Menu, at: float) -> Menu | None:
        """Do what is marked; return the menu that it asks on with, None mostly."""
        if menu.asks_reason_for is not None:
            if menu.marked is not Choice.GO_ON:
                self._choose_rung(menu.asks_reason_for, menu.marked.value, at)
            return None
        if menu.marked in (Choice.EASIER, Choice.HARDER):
            return self.step_rung(1 if menu.marked is Choice.HARDER else -1, at, still_after(at))
        if menu.marked is Choice.SYMPTOM and menu.scanned_since is not None and not menu.asks_again:
            return menu.asking_again(at)
        self._do(menu.marked, at)
        return None

    def step_rung(self, by: int, at: float, scanned_since: float | None = None) -> Menu | None:
        """Choose the next rung up or down; one above the due one asks for a reason with the menu returned."""
        part = self._recorder.part()
        if not isinstance(part, PlannedSet) or not 0 <= part.rung_index + by < len(part.ladder):
            return None
        index = part.rung_index + by
        rung = part.ladder[index].name
        if index > self._recorder.timeline.sets[part.set - 1].rung_index:
            return Menu(REASONS, REASONS[0], self._recorder.session.since, rung, scanned_since)
        self._choose_rung(rung, None, at)
        return None

    def _choose_rung(self, rung: str, reason: str | None, at: float) -> None:
        part = self._recorder.part()
        if isinstance(part, PlannedSet):
            due = self._recorder.timeline.sets[part.set - 1].rung.name
            self._recorder.emit(ev.RungChosen, at, **before(part), rung=rung, due=due, reason=reason)

    def _do(self, choice: Choice, at: float) -> None:
        match choice:
            case Choice.SYMPTOM:
                self.stop_session("symptom", at)
            case Choice.END:
                self.stop_session("choice", at)
            case Choice.LEAVE:
                self._recorder.emit(ev.Left, at, reason="quit")
            case Choice.SKIP:
                self._skip(at)
            case Choice.HURRY:
                self._recorder.emit(ev.Ready, at, cut=True)
            case Choice.NOT_TO_THE_END:
                self._deny(at)
            case Choice.STOP_SET | Choice.REDO:
                self._break_off(choice, at)

    def stop_session(self, reason: ev.StopReason, at: float) -> None:
        """End the session."""
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
        silent, n = self._recorder.session.deniable, self._recorder.session.n + 1
        if silent is not None:
            said = {"field": "ran_to_end", "value": False, "set": silent.number}
            self._recorder.emit(ev.Answer, at, id=f"n{n}", **said)

    def _skip(self, at: float) -> None:
        recorder = self._recorder
        part, current = recorder.part(), recorder.session.open_set
        if isinstance(part, PlannedSet):
            where = within(current, at) if current else before(part)
            recorder.emit(ev.Skipped, at, **recorder.target(part) | where)
            self._clockwork.rest(at)
        elif part is not None:
            self._clockwork.after_easy(at)
