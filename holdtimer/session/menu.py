"""The menu of a session: what it offers as things stand, which line is marked, and what choosing it does.

Pure, like the rules: a choice is an event, numbered as the next one of the session, or another menu.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf

from holdtimer.program.timeline import PlannedSet, PlannedTest, Timeline
from holdtimer.session import events as ev
from holdtimer.session import trials
from holdtimer.session.debounce import still_after
from holdtimer.session.events import round_time
from holdtimer.session.rules import part_of, place, ran_to_end, skip, stop
from holdtimer.session.state import Phase, Session, event

LINE_S = 3.0  # how long each line is marked for a single switch
ROUNDS = 3  # after so many rounds with no tap it goes away


class Choice(StrEnum):
    """What a line of the menu does."""

    SYMPTOM = "symptom"
    STOP_SET = "stop-set"
    STOP_TEST = "stop-test"
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
    is_at_line = isinstance(part, PlannedTest) and part.begins_with_key and session.is_cleared
    if part is not None and session.phase is Phase.REST and silent is None and not is_at_line:
        middle.append(Choice.HURRY)
    if session.open_trial is not None:
        middle.append(Choice.STOP_TEST)
    elif part is not None or current is not None:
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


def opened(session: Session, timeline: Timeline, scanned_since: float | None = None) -> Menu:
    """Return the menu just opened; for a single switch its lines are marked from `scanned_since` on."""
    lines = choices(session, timeline, is_scanned=scanned_since is not None)
    return Menu(lines, lines[0], session.since, scanned_since=scanned_since)


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
            return skip(session, timeline, at)
        case Choice.STOP_TEST:
            part = part_of(session, timeline)
            return trials.put_off(session, part, "stopped", at) if isinstance(part, PlannedTest) else None
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
