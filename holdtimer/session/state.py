"""What the events of a session add up to: the state on screen, in the review and after a crash."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Literal, TypeVar

from holdtimer.program.timeline import Series, Target
from holdtimer.session.events import (
    Anchor,
    Answer,
    AnyEvent,
    Asked,
    Opened,
    PaperResult,
    StopReason,
    TrialResult,
    TrialVoid,
    round_time,
)
from holdtimer.session.trial_events import TrialEnd

LATE_TAP_S = 2.0  # a tap this soon after the close of a window still worked is a late tap
OVER_AFTER_S = 3.0  # where failure ends the set: the time left to take a slip back


class Phase(StrEnum):
    """Where a session stands."""

    NEW = "new"
    READY = "ready"
    EASY = "easy"
    COUNT_IN = "count-in"
    WINDOW = "window"
    REST = "rest"
    ASKED = "asked"  # a question before a test is put
    TRIAL = "trial"
    COUNTED = "counted"  # a trial is over, and the person says the result
    CLOSED = "closed"


class Tap(StrEnum):
    """What a tap can do."""

    TRY = "try"
    BEGIN = "begin"
    READY = "ready"
    NOT_READY = "not-ready"
    FAILURE = "failure"
    RE_ENTRY = "re-entry"
    LATE = "late"
    CONFIRM = "confirm"
    TRUE = "true"  # from here on in function tests
    IN_PLACE = "in-place"
    START = "start"
    STAND = "stand"
    SEATED = "seated"
    ACROSS = "across"
    TAKE = "take"
    CHOOSE = "choose"
    NOT_YET = "not-yet"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Stamp:
    """One stamp that stands: the number of its event, what it is, and when in the window (s).

    `added_by` is the id of the answer that added it, where one did.
    """

    n: int
    kind: Literal["failure", "re-entry"]
    at: float
    estimated: bool = False
    added_by: str | None = None


@dataclass(frozen=True, kw_only=True)
class SetState(Target):
    """One set: what it was to be, and what happened in it. Seconds are since its window opened."""

    opened_t: float | None = None  # session time; None for a set skipped before it began
    stamps: tuple[Stamp, ...] = ()
    marks: frozenset[str] = frozenset()
    ended_at: float | None = None
    closed: bool = False  # it lasted to the close of its window
    late_tap_s: float | None = None
    confirmed: bool = False
    denied: bool = False
    slip_denied: bool = False
    interrupted: bool = False
    skipped: bool = False
    stopped: StopReason | None = None
    unfocused: bool = False
    has_gaps: bool = False  # lines of its record are lost
    effort: int | None = None
    form_broke: bool | None = None
    pain: bool | None = None
    note: str | None = None
    paper: PaperResult | None = None

    @property
    def begun(self) -> bool:
        """Whether its window was opened; on paper a set that was left out has no time under tension."""
        if self.paper is not None:
            return not self.skipped or self.paper.tension_s is not None
        return self.opened_t is not None

    @property
    def is_open(self) -> bool:
        """Whether its window is open."""
        return self.opened_t is not None and self.ended_at is None

    @property
    def working(self) -> bool:
        """Whether the person is in work by the stamps so far."""
        return not self.stamps or self.stamps[-1].kind == "re-entry"

    @property
    def first_failure_s(self) -> float | None:
        """The result of the set, where there is one."""
        return next((stamp.at for stamp in self.stamps if stamp.kind == "failure"), None)

    @property
    def closes_at(self) -> float:
        """When the window closes: its end, or soon after a failure that ends the set."""
        failure = self.first_failure_s
        if self.reentry or failure is None:
            return self.window_s
        return min(self.window_s, round_time(failure + max(self.push_s, OVER_AFTER_S)))

    @property
    def lasted(self) -> bool:
        """Whether it went on for its whole window, to the millisecond."""
        return self.closed and self.ended_at is not None and self.ended_at > self.window_s - 0.001

    @property
    def answered(self) -> bool:
        """Whether a tap said how it went."""
        return bool(self.stamps) or self.late_tap_s is not None or self.confirmed or self.denied

    @property
    def asks(self) -> bool:
        """Whether it closed in silence and still waits to hear if it was worked to the end."""
        broken = self.unfocused or self.interrupted or self.skipped or self.has_gaps
        return self.lasted and not (self.answered or broken)


@dataclass(frozen=True, kw_only=True)
class TrialState(Series):
    """One trial of a function test: what it was, and what happened in it. Seconds since it began."""

    test: str
    trial: int
    opened_t: float
    length_s: float  # after which it ends by itself
    planned: int  # how many trials the test has
    off_day: bool  # as said before it; said after, it does not count
    marks: tuple[float, ...] = ()
    ended_at: float | None = None
    ended_by: TrialEnd | None = None
    result: TrialResult | None = None
    void: TrialVoid | None = None

    @property
    def is_settled(self) -> bool:
        """Whether its result is known."""
        return self.result is not None or self.void is not None


@dataclass(frozen=True)
class Session:
    """The state of a session after some of its events."""

    n: int = -1
    t: float = 0.0
    alive_t: float = 0.0  # when it was last known to run; what only follows a break does not count
    opened: Opened | None = None
    phase: Phase = Phase.NEW
    since: float = 0.0  # when the phase began
    until: float = 0.0  # when its clock runs out
    part: int = 0  # index of the part that is running, or comes next
    is_ready: bool = False
    halted: bool = False  # broken off or sent back to waiting: nothing starts by itself
    after_easy: bool = False  # the rest follows easy movement
    sets: tuple[SetState, ...] = ()
    attempts: Mapping[int, int] = field(default_factory=dict)  # attempts redone, by set
    rungs: Mapping[int, str] = field(default_factory=dict)  # rung chosen for a set, by its number
    trials: tuple[TrialState, ...] = ()
    asked: tuple[Asked, ...] = ()  # the questions before the coming test that were answered
    question: Asked | None = None  # the one that is put
    lasting: frozenset[str] = frozenset()  # questions whose yes holds for the session
    is_cleared: bool = False  # all questions of the coming trial are answered
    instead: frozenset[int] = frozenset()  # parts in whose place the easier test is done
    refusal: Asked | None = None  # the no that has just been said to a question, until the next is put
    is_unfit: bool = False  # somebody said no to what all tests of the day need
    put_off: tuple[TrialVoid, ...] = ()  # tests that had no trial
    off_day: bool = False
    focused: bool = True
    silent: str | None = None
    log_trouble: str | None = None
    stopped: StopReason | None = None  # the session as a whole
    left: str | None = None
    finished: str | None = None
    answers: tuple[Answer, ...] = ()
    anchors: tuple[Anchor, ...] = ()
    has_gaps: bool = False  # lines of its record are lost

    @property
    def is_rehearsal(self) -> bool:
        """Whether it runs at another speed than real time; it is kept separate and never counts."""
        return self.opened is not None and self.opened.speed != 1

    @property
    def open_set(self) -> SetState | None:
        """The set whose window is open."""
        last = self.sets[-1] if self.sets else None
        return last if self.phase is Phase.WINDOW and last is not None and last.is_open else None

    @property
    def open_trial(self) -> TrialState | None:
        """The trial that runs, or whose result is not said yet."""
        last = self.trials[-1] if self.trials else None
        return None if last is None or last.is_settled else last

    @property
    def asking(self) -> SetState | None:
        """The set just over that closed in silence, while the question is open."""
        last = self.sets[-1] if self.sets else None
        return last if self.phase is Phase.REST and last is not None and last.asks else None

    @property
    def deniable(self) -> SetState | None:
        """The set just over in silence that can be said not to have been worked to the end.

        Also after a tap said that it was: that tap may have been the first of those that ask for the menu.
        """
        last = self.sets[-1] if self.sets else None
        is_said = last is not None and last.confirmed and not (last.denied or last.has_gaps)
        is_open = last is not None and (last.asks or is_said)
        return last if self.phase is Phase.REST and is_open else None

    @property
    def begun(self) -> bool:
        """Whether anything of the script was begun."""
        return self.phase not in (Phase.NEW, Phase.READY) or bool(self.sets)


State = TypeVar("State", Session, SetState, TrialState)


def replace_fast(state: State, **fields: Any) -> State:
    """Return a state with some fields changed, as `dataclasses.replace` does; TypeError for one it has not.

    It takes a tenth of the time, and years of sessions are folded at every start.
    """
    known = state.__dict__
    values = known | fields
    if len(values) != len(known):
        raise TypeError(f"no such field: {', '.join(fields.keys() - known.keys())}")
    new = object.__new__(type(state))
    object.__setattr__(new, "__dict__", values)
    return new


def event(session: Session, kind: type[AnyEvent], t: float, /, **fields: Any) -> AnyEvent:
    """Return an event at session time `t` (s), numbered as the next one."""
    return kind(n=session.n + 1, t=round_time(t), **fields)


def last_ended(session: Session) -> float | None:
    """Return when the last window or trial ended (session time, s); None before the first."""
    ends = [each.opened_t + (each.ended_at or 0.0) for each in session.sets if each.opened_t is not None]
    ends += [each.opened_t + (each.ended_at or 0.0) for each in session.trials]
    return round_time(max(ends)) if ends else None
