"""The menu of a running session: what can be chosen when, and where the mark stands."""

from dataclasses import dataclass, replace
from enum import StrEnum

from holdtimer.script.timeline import Part, PlannedSet
from holdtimer.session.one_switch import LINE_S, ROUNDS
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
    before = lines.index(Choice.END)
    return (*lines[:before], *rungs, Choice.END, Choice.LEAVE, Choice.GO_ON)


@dataclass(frozen=True, slots=True)
class Menu:
    """An open menu: its lines, the one that is marked, and since when (s) what it lies over is on screen."""

    lines: tuple[Choice, ...]
    marked: Choice
    since: float
    asks_reason_for: str | None = None  # the rung above the due one that a reason is asked for
    scanned_since: float | None = None  # its lines are marked in turn since then, and a tap chooses

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
        if self.asks_reason_for is not None:
            return self
        stays = self.marked in lines and (since == self.since or self.marked in _ALWAYS)
        return replace(self, lines=lines, since=since, marked=self.marked if stays else Choice.GO_ON)

    def scanned(self, now: float) -> "Menu | None":
        """Return the menu with the line marked whose turn it is; None when it has gone round often enough."""
        if self.scanned_since is None:
            return self
        turn = int((now - self.scanned_since) / LINE_S)
        if turn >= ROUNDS * len(self.lines):
            return None
        return replace(self, marked=self.lines[max(0, turn) % len(self.lines)])
