"""What decides in a session: pure functions of its state, its timeline and the time.

What a tap does, what the menu offers and does, and what time brings next. A decision is an event, numbered as
the next one of the session; the engine applies it.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf
from typing import Any

from holdtimer.program.timeline import Easy, Part, PlannedSet, Timeline
from holdtimer.session import events as ev
from holdtimer.session.debounce import LINE_S, NEW_SCREEN_S, ROUNDS, still_after
from holdtimer.session.events import round_time
from holdtimer.session.schedule import schedule_of
from holdtimer.session.state import LATE_TAP_S, Phase, Session, SetState

SETTLED_IN_S = 2.0  # from here on a tap in a count-in says "not ready"
SILENCE_S = 900.0  # with no tap for this long, the session is left


def part_of(session: Session, timeline: Timeline) -> Part | None:
    """Return the part that is running or comes next, at the rung chosen for it; None after the last."""
    if session.part >= len(timeline.parts):
        return None
    part = timeline.parts[session.part]
    if not isinstance(part, PlannedSet):
        return part
    chosen = session.rungs.get(part.set)
    return part.at_rung(chosen) if chosen in [rung.name for rung in part.ladder] else part


def event(session: Session, kind: type[ev.AnyEvent], t: float, /, **fields: Any) -> ev.AnyEvent:
    """Return an event at session time `t` (s), numbered as the next one."""
    return kind(n=session.n + 1, t=round_time(t), **fields)


def place(each: SetState | PlannedSet, t: float = 0.0) -> dict[str, Any]:
    """Return the fields that name a set and the moment `t` of its window; 0 before it is open."""
    opened = each.opened_t if isinstance(each, SetState) else None
    at = 0.0 if isinstance(each, PlannedSet) else max(0.0, round_time(t - (opened or 0.0)))
    return {"set": each.set, "exercise": each.exercise, "side": each.side, "at": at}


# -- what a tap does -------------------------------------------------------------------------------------


class Tap(StrEnum):
    """What a tap can do."""

    BEGIN = "begin"
    READY = "ready"
    NOT_READY = "not-ready"
    FAILURE = "failure"
    RE_ENTRY = "re-entry"
    LATE = "late"
    CONFIRM = "confirm"
    CHOOSE = "choose"
    NOT_YET = "not-yet"
    NOTHING = "nothing"


def tap_meaning(session: Session, now: float, parts: int, back_in_guard_s: float = 0.0) -> Tap:
    """Return what a tap at `now` (s) would do, in a script of so many parts."""
    if session.left or session.stopped or session.phase is Phase.CLOSED:
        return Tap.NOTHING
    if late_tap_set(session, now) is not None:
        return Tap.LATE
    match session.phase:
        case Phase.READY:
            return Tap.NOTHING if session.is_ready else Tap.BEGIN
        case Phase.COUNT_IN:
            return Tap.NOT_READY if round_time(now - session.since) >= SETTLED_IN_S else Tap.NOTHING
        case Phase.WINDOW if session.open_set is not None:
            if session.open_set.working:
                return Tap.FAILURE
            if not session.open_set.reentry:
                return Tap.NOTHING
            since = place(session.open_set, now)["at"] - session.open_set.stamps[-1].at
            return Tap.NOT_YET if round_time(since) < back_in_guard_s else Tap.RE_ENTRY
        case Phase.REST:
            if session.asking is not None:
                return Tap.CONFIRM
            return Tap.NOTHING if session.is_ready or session.part >= parts else Tap.READY
    return Tap.NOTHING


def tap(
    session: Session, parts: int, at: float, handled: float, back_in_guard_s: float
) -> ev.AnyEvent | ev.DropReason:
    """Return the event that a tap at `at` brings, or why it is dropped. `handled` is now."""
    ended = ended_set_at(session, at)
    current = ended or session.open_set
    does = tap_meaning(session, at, parts)
    late = late_tap_set(session, at)
    if ended is None and late is not None and does is Tap.LATE:
        where = place(late, at)
        return event(
            session, ev.LateTap, at, **where, after_s=round_time(where["at"] - (late.ended_at or 0.0))
        )
    if current is not None and (ended is not None or does in (Tap.FAILURE, Tap.RE_ENTRY)):
        return _stamp(session, current, at, handled, back_in_guard_s)
    if session.phase is not Phase.WINDOW and round_time(at - session.since) < NEW_SCREEN_S:
        return "screen"
    if does in (Tap.BEGIN, Tap.READY):
        return event(session, ev.Ready, at)
    if does is Tap.NOT_READY:
        return event(session, ev.NotReady, at)
    if does is Tap.CONFIRM and session.asking is not None:
        return event(session, ev.Confirmed, at, **place(session.asking, at))
    return "no-use"


def _stamp(
    session: Session, current: SetState, at: float, handled: float, back_in_guard_s: float
) -> ev.AnyEvent | ev.DropReason:
    where = place(current, at)
    since = round_time(where["at"] - current.stamps[-1].at) if current.stamps else 0.0
    if current.opened_t is not None and at < current.opened_t:
        return "screen"
    if since < 0 or not (current.working or current.reentry):
        return "no-use"
    if not current.working and since < back_in_guard_s:
        return "back-in"
    kind = ev.Failure if current.working else ev.ReEntry
    return event(session, kind, at, **where, late_ms=round(max(0.0, handled - at) * 1000, 3))


def late_tap_set(session: Session, at: float) -> SetState | None:
    """Return the set that a tap at `at` comes just too late for: worked to its close, within 2 s of it."""
    last = session.sets[-1] if session.sets else None
    if last is None or last.opened_t is None or last.ended_at is None or session.halted:
        return None
    after = round_time(at - last.opened_t - last.ended_at)
    is_known = last.late_tap_s is not None or last.confirmed or last.denied
    return last if last.lasted and last.working and not is_known and 0 <= after < LATE_TAP_S else None


def ended_set_at(session: Session, at: float) -> SetState | None:
    """Return the set whose window was open at `at`, closed or broken off before that tap was handled."""
    for each in session.sets:
        if each.opened_t is None or each.ended_at is None or not (each.closed or each.interrupted):
            continue
        if each.opened_t <= at < round_time(each.opened_t + each.ended_at):
            return each
    return None


def adjusts(session: Session, at: float) -> bool:
    """Whether the adjusting keys are not taps: while ready or resting, but not just after a window."""
    has_just_ended = ended_set_at(session, at) is not None or late_tap_set(session, at) is not None
    return session.phase in (Phase.READY, Phase.REST) and not has_just_ended


# -- what time brings ------------------------------------------------------------------------------------


def boundary(session: Session, timeline: Timeline, heard_at: float) -> ev.AnyEvent | None:
    """Return what time alone brings next; its `t` may lie ahead. A tap was last heard at `heard_at`."""
    part = part_of(session, timeline)
    match session.phase:
        case Phase.EASY:
            return after_easy(session, timeline, session.until)
        case Phase.COUNT_IN if isinstance(part, PlannedSet):
            return event(session, ev.WindowOpen, session.until, **target(session, part))
        case Phase.WINDOW if session.open_set is not None:
            return _in_window(session, session.open_set)
        case Phase.READY | Phase.REST:
            if part is not None and (session.is_ready or goes_on(session, part)):
                return _begin(session, part)
            if part is not None or session.asking is not None:
                return event(session, ev.Left, max(session.until, heard_at) + SILENCE_S, reason="silence")
    return None


def _in_window(session: Session, current: SetState) -> ev.AnyEvent:
    schedule = schedule_of(current)
    coming: list[tuple[float, type[ev.AnyEvent]]] = [(schedule.closes, ev.WindowClosed)]
    if schedule.final_stretch is not None and "final-stretch" not in current.marks:
        coming.append((schedule.final_stretch, ev.FinalStretch))
    if schedule.band is not None and "band" not in current.marks:
        coming.append((schedule.band, ev.Band))
    t, kind = min(reversed(coming), key=lambda each: each[0])  # of two at once, the band first
    return event(session, kind, t, **place(current, t))


def _begin(session: Session, part: Part) -> ev.AnyEvent:
    t = session.until
    if isinstance(part, Easy):
        return event(session, ev.EasyBegun, t, part=part.part, title=part.title, seconds=part.seconds)
    return event(session, ev.CountIn, t, **place(part), part=part.part, seconds=part.count_in_s)


def goes_on(session: Session, part: Part) -> bool:
    """Whether the rest ends by itself.

    Between two easy parts it does; before a set only if the program says so and a tap answered the last
    window. Never after the session was broken off or sent back to waiting.
    """
    if session.halted:
        return False
    if isinstance(part, Easy):
        return session.after_easy
    last = session.sets[-1] if session.sets else None
    return part.advance == "auto" and last is not None and last.answered


def rest(session: Session, timeline: Timeline, t: float) -> ev.AnyEvent | None:
    """Return the rest at `t` before the next part, counted from the end of the last window."""
    part, ended = part_of(session, timeline), last_ended(session)
    if part is None:
        return None
    seconds = 0.0 if ended is None else max(0.0, ended + part.rest_s - t)
    return event(session, ev.Rest, t, part=part.part, seconds=round_time(seconds))


def after_easy(session: Session, timeline: Timeline, t: float) -> ev.AnyEvent:
    """Return the rest after easy movement, done or skipped, before what follows."""
    following = timeline.parts[session.part + 1 : session.part + 2]
    seconds = following[0].rest_s if following else 0.0
    return event(session, ev.Rest, t, part=session.part + 1, seconds=seconds)


def last_ended(session: Session) -> float | None:
    """Return when the last window ended (session time, s); None before the first."""
    ends = [each.opened_t + (each.ended_at or 0.0) for each in session.sets if each.opened_t is not None]
    return round_time(max(ends)) if ends else None


def target(session: Session, part: PlannedSet) -> dict[str, Any]:
    """Return the fields that say what the next attempt at a set is to be."""
    return vars(part.target(session.attempts.get(part.set, 0) + 1))


# -- the menu --------------------------------------------------------------------------------------------


class Choice(StrEnum):
    """What a line of the menu does."""

    SYMPTOM = "symptom"
    STOP_SET = "stop-set"
    REDO = "redo"
    NOT_TO_THE_END = "not-to-the-end"
    TO_THE_END = "to-the-end"
    HURRY = "hurry"
    EASIER = "easier"
    HARDER = "harder"
    SKIP = "skip"
    END = "end"
    LEAVE = "leave"
    GO_ON = "go-on"
    ADVISED = "advised"
    NOT_POSSIBLE = "not-possible"
    OWN_CHOICE = "own-choice"


REASONS = (Choice.ADVISED, Choice.NOT_POSSIBLE, Choice.OWN_CHOICE, Choice.GO_ON)

_ALWAYS = (Choice.SYMPTOM, Choice.END)


def choices(session: Session, timeline: Timeline, is_scanned: bool = False) -> tuple[Choice, ...]:
    """Return the lines of the menu as the session stands, the safest first, "go on" last.

    For a single switch (`is_scanned`) also what other keys do, since there is only one.
    """
    part, current, silent = part_of(session, timeline), session.open_set, session.asking
    middle: list[Choice] = []
    if current is not None:
        middle = [Choice.STOP_SET, *([] if current.stamps else [Choice.REDO])]
    elif silent is not None or (is_scanned and session.deniable is not None):
        is_asked = is_scanned and silent is not None
        middle = [Choice.NOT_TO_THE_END, *([Choice.TO_THE_END] if is_asked else [])]
    if part is not None and session.phase is Phase.REST and silent is None:
        middle.append(Choice.HURRY)
    if part is not None or current is not None:
        middle.append(Choice.SKIP)
    if is_scanned and isinstance(part, PlannedSet) and session.phase in (Phase.READY, Phase.REST):
        middle += [Choice.EASIER] if part.rung_index > 0 else []
        middle += [Choice.HARDER] if part.rung_index + 1 < len(part.ladder) else []
    last = (Choice.END, Choice.LEAVE) if is_scanned else (Choice.END,)
    return (Choice.SYMPTOM, *middle, *last, Choice.GO_ON)


@dataclass(frozen=True, slots=True)
class Menu:
    """An open menu: its lines, the one that is marked, and since when (s) what it lies over is on screen.

    For a single switch the lines are marked in turn from `scanned_since` on. A tap chooses from then on only,
    so that nobody who taps in haste ends up at the first line. One who says there that something feels wrong
    is asked again, and then no answer is a yes: a tap too many stops nothing, and none is needed to stop.
    """

    lines: tuple[Choice, ...]
    marked: Choice
    since: float
    asks_reason_for: str | None = None  # the rung above the due one that a reason is asked for
    scanned_since: float | None = None  # its lines are marked in turn from then on, and a tap chooses
    asks_again: bool = False  # whether something really feels wrong

    def moved(self, by: int) -> "Menu":
        """Return the menu with the mark moved by so many lines, round the ends."""
        index = (self.lines.index(self.marked) + by) % len(self.lines)
        return replace(self, marked=self.lines[index])

    def at(self, since: float, lines: tuple[Choice, ...]) -> "Menu | None":
        """Return the menu over what is on screen `since` then.

        A reason is asked for, and lines are marked in turn, only where that began: never over a window. The
        mark stays where its line still does the same; a set is never skipped in place of another.
        """
        if since != self.since and (self.asks_reason_for is not None or self.scanned_since is not None):
            return None
        if self.asks_reason_for is not None or self.asks_again:
            return self
        stays = self.marked in lines and (since == self.since or self.marked in _ALWAYS)
        return replace(self, lines=lines, since=since, marked=self.marked if stays else Choice.GO_ON)

    @property
    def rounds(self) -> int:
        """How often it goes round before it goes away."""
        return 1 if self.asks_again else ROUNDS

    def listens(self, at: float) -> bool:
        """Whether a tap chooses."""
        return self.scanned_since is not None and at >= self.scanned_since

    def waiting(self, tapped: float) -> "Menu":
        """Return the menu after a tap too early; one that asks again is not put off by taps."""
        return self if self.asks_again else replace(self, scanned_since=still_after(tapped))

    def asking_again(self, at: float) -> "Menu":
        """Return the menu that asks whether something really feels wrong."""
        lines = (Choice.SYMPTOM, Choice.GO_ON)
        return Menu(lines, lines[0], self.since, scanned_since=still_after(at), asks_again=True)

    def over_at(self) -> float:
        """Return when it has gone round often enough; never, where its lines are not marked in turn."""
        if self.scanned_since is None:
            return inf
        return round_time(self.scanned_since + LINE_S * self.rounds * len(self.lines))

    def scanned(self, now: float) -> "Menu | None":
        """Return the menu with the line marked whose turn it is; None when it has gone round often enough."""
        if self.scanned_since is None:
            return self
        if now >= self.over_at():
            return None
        turn = max(0, int(round_time(now - self.scanned_since) / LINE_S))
        return replace(self, marked=self.lines[turn % len(self.lines)])


def choose(session: Session, timeline: Timeline, menu: Menu, at: float) -> ev.AnyEvent | Menu | None:
    """Return what the marked line does: an event, another menu that asks on, or nothing."""
    if menu.asks_reason_for is not None:
        is_kept = menu.marked is Choice.GO_ON
        return None if is_kept else _rung(session, timeline, menu.asks_reason_for, menu.marked.value, at)
    if menu.marked is Choice.SYMPTOM and menu.scanned_since is not None and not menu.asks_again:
        return menu.asking_again(at)
    match menu.marked:
        case Choice.EASIER | Choice.HARDER:
            by = 1 if menu.marked is Choice.HARDER else -1
            return step_rung(session, timeline, by, at, still_after(at))
        case Choice.SYMPTOM:
            return stop(session, "symptom", at)
        case Choice.END:
            return stop(session, "choice", at)
        case Choice.LEAVE:
            return event(session, ev.Left, at, reason="quit")
        case Choice.HURRY:
            return event(session, ev.Ready, at, cut=True)
        case Choice.SKIP:
            return _skip(session, timeline, at)
        case _:
            return _choose_of_set(session, menu.marked, at)


def _choose_of_set(session: Session, choice: Choice, at: float) -> ev.AnyEvent | None:
    current = session.open_set
    if choice is Choice.NOT_TO_THE_END:
        return ran_to_end(session, at, value=False)
    if choice is Choice.TO_THE_END and session.asking is not None:
        return event(session, ev.Confirmed, at, **place(session.asking, at))
    if choice is Choice.STOP_SET and current is not None:
        return event(session, ev.Stopped, at, reason="choice", scope="set", **place(current, at))
    if choice is Choice.REDO and current is not None:
        return event(session, ev.Redone, at, **place(current, at), attempt=current.attempt)
    return None


def ran_to_end(session: Session, at: float, value: bool | None) -> ev.AnyEvent | None:
    """Return the answer that the set just over in silence was not worked to the end; None asks again."""
    silent = session.deniable
    if silent is None:
        return None
    answer = {"id": f"n{session.n + 1}", "field": "ran_to_end", "value": value, "set": silent.set}
    return event(session, ev.Answer, at, **answer)


def stop(session: Session, reason: ev.StopReason, at: float) -> ev.AnyEvent:
    """Return the end of the session."""
    where = place(session.open_set, at) if session.open_set is not None else {}
    return event(session, ev.Stopped, at, reason=reason, scope="session", **where)


def _skip(session: Session, timeline: Timeline, at: float) -> ev.AnyEvent | None:
    part, current = part_of(session, timeline), session.open_set
    if isinstance(part, PlannedSet):
        where = place(current, at) if current is not None else place(part)
        return event(session, ev.Skipped, at, **target(session, part) | where)
    return None if part is None else after_easy(session, timeline, at)


def step_rung(
    session: Session, timeline: Timeline, by: int, at: float, scanned_since: float | None = None
) -> ev.AnyEvent | Menu | None:
    """Return the choice of the next rung up or down, or the menu that asks why it lies above the due one."""
    part = part_of(session, timeline)
    if not isinstance(part, PlannedSet) or not 0 <= part.rung_index + by < len(part.ladder):
        return None
    index = part.rung_index + by
    rung = part.ladder[index].name
    if index > timeline.sets[part.set - 1].rung_index:
        return Menu(REASONS, REASONS[0], session.since, rung, scanned_since)
    return _rung(session, timeline, rung, None, at)


def _rung(
    session: Session, timeline: Timeline, rung: str, reason: str | None, at: float
) -> ev.AnyEvent | None:
    part = part_of(session, timeline)
    if not isinstance(part, PlannedSet):
        return None
    due = timeline.sets[part.set - 1].rung.name
    return event(session, ev.RungChosen, at, **place(part), rung=rung, due=due, reason=reason)
