"""The menu of a running session: what can be chosen when, and where the mark stands."""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf

from holdtimer.program.timeline import Part, PlannedSet
from holdtimer.session.debounce import LINE_S, ROUNDS, still_after
from holdtimer.session.events import round_time
from holdtimer.session.state import Phase, Session


class Choice(StrEnum):
    """What a menu line does."""

    SYMPTOM = "symptom"
    STOP_SET = "stop-set"
    REDO = "redo"
    NOT_TO_THE_END = "not-to-the-end"
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


def choices(session: Session, parts: int) -> tuple[Choice, ...]:
    """Return the lines of the menu as the session stands, the safest first, "go on" last."""
    middle: list[Choice] = []
    current = session.open_set
    if current is not None:
        middle = [Choice.STOP_SET] + ([] if current.stamps else [Choice.REDO]) + [Choice.SKIP]
    elif session.part < parts:
        if session.asking is not None:
            middle.append(Choice.NOT_TO_THE_END)
        elif session.phase is Phase.REST:
            middle.append(Choice.HURRY)
        middle.append(Choice.SKIP)
    elif session.asking is not None:
        middle.append(Choice.NOT_TO_THE_END)
    return (Choice.SYMPTOM, *middle, Choice.END, Choice.GO_ON)


def scanned_choices(session: Session, part: Part | None, parts: int) -> tuple[Choice, ...]:
    """Return the lines for a single switch: also what other keys do, since there is only one."""
    lines = choices(session, parts)
    rungs: list[Choice] = []
    if isinstance(part, PlannedSet) and session.phase in (Phase.READY, Phase.REST):
        rungs += [Choice.EASIER] if part.rung_index > 0 else []
        rungs += [Choice.HARDER] if part.rung_index + 1 < len(part.ladder) else []
    first, middle = lines[0], lines[1 : lines.index(Choice.END)]
    if session.deniable is not None and Choice.NOT_TO_THE_END not in middle:
        middle = (Choice.NOT_TO_THE_END, *middle)
    return (first, *middle, *rungs, Choice.END, Choice.LEAVE, Choice.GO_ON)


@dataclass(frozen=True, slots=True)
class Menu:
    """An open menu: its lines, the one that is marked, and since when (s) what it lies over is on screen.

    For a single switch the lines are marked in turn from `scanned_since` on. A tap chooses from then on only,
    so that nobody who taps in haste ends up at the first line. One who says there that something feels wrong
    is asked again, and then no answer means yes: a tap too many stops nothing, and none is needed to stop.
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

        A reason is asked for, and lines are marked in turn, only where that began: never over a window.

        The mark stays where its line still means the same; a set is never skipped in place of another.
        """
        if since != self.since and (self.asks_reason_for is not None or self.scanned_since is not None):
            return None
        if self.asks_reason_for is not None or self.asks_again:
            return self
        stays = self.marked in lines and (since == self.since or self.marked in _ALWAYS)
        return replace(self, lines=lines, since=since, marked=self.marked if stays else Choice.GO_ON)

    # -- for a single switch -----------------------------------------------------------------------------

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
