"""The events a session is made of.

Times are seconds: `t` since the session opened, `at` since the window of its set opened.
"""

from typing import Annotated, Literal, TypeGuard

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from holdtimer.program.timeline import Kind, Side
from holdtimer.session.event_base import MAX_TEXT as MAX_TEXT
from holdtimer.session.event_base import BandSeconds as BandSeconds
from holdtimer.session.event_base import Count as Count
from holdtimer.session.event_base import Event as Event
from holdtimer.session.event_base import Moment as Moment
from holdtimer.session.event_base import Seconds as Seconds
from holdtimer.session.event_base import SetNumber as SetNumber
from holdtimer.session.event_base import Text as Text
from holdtimer.session.event_base import WindowSeconds as WindowSeconds
from holdtimer.session.event_base import round_time as round_time
from holdtimer.session.trial_events import Asked as Asked
from holdtimer.session.trial_events import Mark as Mark
from holdtimer.session.trial_events import TrialClosed as TrialClosed
from holdtimer.session.trial_events import TrialOpen as TrialOpen
from holdtimer.session.trial_events import TrialResult as TrialResult
from holdtimer.session.trial_events import TrialVoid as TrialVoid

DropReason = Literal["guard", "held", "screen", "back-in", "no-use", "gap"]
StopReason = Literal["choice", "symptom"]
LeaveReason = Literal["quit", "silence", "end-of-input", "terminated", "hang-up"]
AnchorReason = Literal["opening", "gap", "resume", "closing"]
AnswerField = Literal[
    "effort", "form_broke", "pain", "note", "off_day",  # what the person says of a set or of the day
    "ran_to_end", "failed_about", "moved", "slip", "added", "removed",  # corrections of what was stamped
    "undo", "released",
]  # fmt: skip


# an event of these shows that a session began; any of them may be all that is left of a damaged log
BEGUN = frozenset(
    {"ready", "count-in", "easy", "skipped", "rest", "window-open", "failure", "re-entry", "window-closed"}
    | {"asked", "trial-open", "mark", "trial-closed", "trial-result", "trial-void"}
)


class InSet(Event):
    """An event of one set; `at` is the seconds since the window opened."""

    set: SetNumber
    exercise: Text
    side: Side
    at: Seconds = 0.0


class DueRung(BaseModel):
    """The rung one exercise and side was due at when the session opened."""

    model_config = ConfigDict(frozen=True, extra="ignore", defer_build=True)

    exercise: Text
    side: Side
    rung: Text


class Opened(Event):
    """Line 0 of a log: who, what, and the program as it was; `mono_ns` is the steady clock at t = 0."""

    ev: Literal["opened"] = "opened"
    format: Literal[1] = 1
    kind: Literal["session", "answers", "paper"] = "session"
    session: Text
    about: Text | None = None  # the session that an answers file is about
    person: Text
    program: Text
    script: Text = ""
    program_text: str = ""
    rungs: tuple[DueRung, ...] = ()
    off_day: bool = False
    early_h: Seconds | None = None  # started before recovery was over: hours since the last hard session
    speed: Annotated[float, Field(gt=0, le=1000)] = 1.0
    mono_ns: int = 0
    version: Text = ""


class Anchor(Event):
    """Ties `t` to the world's clocks; no duration crosses one.

    `wall` is UTC in ISO 8601, `offset_s` local time minus UTC. Of a session on paper only the date may be
    known (`date_only`): then `wall` is the midnight it began with.
    """

    ev: Literal["anchor"] = "anchor"
    why: AnchorReason
    mono_ns: int
    boottime_ns: int | None = None
    wall: Moment
    offset_s: int = 0
    zone: Text | None = None
    boot_id: Text | None = None
    date_only: bool | None = None


class Ready(Event):
    """A tap said ready; `cut` if the rest was shortened from the menu."""

    ev: Literal["ready"] = "ready"
    cut: bool = False


class NotReady(Event):
    """A tap in the count-in: back to waiting."""

    ev: Literal["not-ready"] = "not-ready"


class EasyBegun(Event):
    """Timed easy movement begins."""

    ev: Literal["easy"] = "easy"
    part: Count
    title: Text
    seconds: Seconds


class Rest(Event):
    """A rest of at least `seconds` before the part with this index."""

    ev: Literal["rest"] = "rest"
    part: Count
    seconds: Seconds


class CountIn(InSet):
    """Time to get into position before the window opens."""

    ev: Literal["count-in"] = "count-in"
    part: Count
    seconds: Seconds


class Planned(InSet):
    """An event that may be the first of its set: it carries what the set was to be (a `Target`)."""

    attempt: Count = 1
    kind: Kind = "hold"
    rung: Text
    window_s: WindowSeconds
    band_s: tuple[BandSeconds, BandSeconds]
    final_s: Seconds = 30.0
    push_s: Seconds = 0.0
    reentry: bool = True


class WindowOpen(Planned):
    """The work window opens."""

    ev: Literal["window-open"] = "window-open"


class Skipped(Planned):
    """The set is left out, or given up before it was over."""

    ev: Literal["skipped"] = "skipped"


class Failure(InSet):
    """The stamp of a momentary failure; `late_ms` is how long after the key it was handled."""

    ev: Literal["failure"] = "failure"
    late_ms: Seconds = 0.0


class ReEntry(InSet):
    """The stamp of getting back in."""

    ev: Literal["re-entry"] = "re-entry"
    late_ms: Seconds = 0.0


class TakenBack(InSet):
    """The stamp with number `of` was taken back."""

    ev: Literal["taken-back"] = "taken-back"
    of: Count


class LateTap(InSet):
    """A tap just after the close of a window still worked, `after_s` later."""

    ev: Literal["late-tap"] = "late-tap"
    after_s: Seconds


class Band(InSet):
    """The band was reached."""

    ev: Literal["band"] = "band"


class FinalStretch(InSet):
    """The final stretch of the window began."""

    ev: Literal["final-stretch"] = "final-stretch"


class WindowClosed(InSet):
    """The work window is over."""

    ev: Literal["window-closed"] = "window-closed"


class Confirmed(InSet):
    """The person said that a window with no stamp was worked to the end."""

    ev: Literal["confirmed"] = "confirmed"


class Redone(InSet):
    """The attempt is discarded; the set is done again."""

    ev: Literal["redone"] = "redone"
    attempt: Count


class Interrupted(InSet):
    """The open window ended because the session was broken off."""

    ev: Literal["interrupted"] = "interrupted"
    why: Literal["gap", "left"]


class Stopped(Event):
    """The person stopped a set or the whole session; the set's fields if a window was open."""

    ev: Literal["stopped"] = "stopped"
    reason: StopReason
    scope: Literal["set", "session"]
    set: SetNumber | None = None
    exercise: Text | None = None
    side: Side | None = None
    at: Seconds | None = None


class Dropped(Event):
    """A train of presses that did not count: how many, from when, and why."""

    ev: Literal["dropped"] = "dropped"
    reason: DropReason
    count: Count
    since: Seconds


class RungChosen(InSet):
    """Another rung was chosen for the coming set; `reason` if it lies above the due one."""

    ev: Literal["rung-chosen"] = "rung-chosen"
    rung: Text
    due: Text
    reason: Literal["advised", "not-possible", "own-choice"] | None = None


class OffDay(Event):
    """Whether the person marks this day as not representative."""

    ev: Literal["off-day"] = "off-day"
    value: bool


class Focus(Event):
    """The terminal gained or lost the keyboard."""

    ev: Literal["focus"] = "focus"
    has: bool


class Gap(Event):
    """The machine slept or the program was paused for `seconds`."""

    ev: Literal["gap"] = "gap"
    seconds: Seconds


class Silent(Event):
    """Nothing can be heard, and why; None once sound is back."""

    ev: Literal["silent"] = "silent"
    why: Text | None = None


class LogTrouble(Event):
    """The log could not be written, and why; None once all of it is written."""

    ev: Literal["log-trouble"] = "log-trouble"
    why: Text | None = None


class Left(Event):
    """The session was left and can be resumed."""

    ev: Literal["left"] = "left"
    reason: LeaveReason


class Resumed(Event):
    """The session goes on after having been left or killed."""

    ev: Literal["resumed"] = "resumed"


class Answer(Event):
    """What the person said later about a set (`set`) or a stamp (`of`, an event number); the last one holds.

    A stamp that an answer added goes by the id of that answer (`of_answer`). In a file of its own, `session`
    names the session it is about. `undo` takes back the answer whose `id` is its value.
    """

    ev: Literal["answer"] = "answer"
    id: Text
    field: AnswerField
    value: bool | Annotated[float, Field(allow_inf_nan=False)] | Text | None = None
    set: SetNumber | None = None
    of: Count | None = None
    of_answer: Text | None = None
    session: Text | None = None


class PaperResult(Planned):
    """The result of a set that was written down on paper: no stamps are invented for it."""

    ev: Literal["paper-result"] = "paper-result"
    started: Moment
    ended: Moment | None = None
    date_only: bool = False
    first_failure_s: Seconds | None = None
    ran_to_end: bool = False
    confirmed: bool = False
    late_tap_s: Seconds | None = None
    tension_s: Seconds | None = None
    reentries: Count | None = None
    interrupted: bool = False
    skipped: bool = False
    stopped: StopReason | None = None
    effort: Annotated[int, Field(ge=0, le=10)] | None = None
    form_broke: bool | None = None
    pain: bool | None = None
    off_day: bool = False
    note: Text | None = None


class Closed(Event):
    """The session is over; nothing is ever added to its file."""

    ev: Literal["closed"] = "closed"
    reason: Literal["finished", "stopped", "closed-later"]


AnyEvent = (
    Opened
    | Anchor
    | Ready
    | NotReady
    | EasyBegun
    | Rest
    | CountIn
    | WindowOpen
    | Skipped
    | Failure
    | ReEntry
    | TakenBack
    | LateTap
    | Band
    | FinalStretch
    | WindowClosed
    | Confirmed
    | Redone
    | Interrupted
    | Stopped
    | Dropped
    | RungChosen
    | OffDay
    | Focus
    | Gap
    | Silent
    | LogTrouble
    | Left
    | Resumed
    | Answer
    | PaperResult
    | Asked
    | TrialOpen
    | Mark
    | TrialClosed
    | TrialResult
    | TrialVoid
    | Closed
)

Acknowledged = (
    Ready | NotReady | Failure | ReEntry | Confirmed | LateTap | TakenBack | Answer
    | Asked | Mark | TrialClosed | TrialResult | TrialVoid
)  # fmt: skip
"""What a key that counted brings, and is acknowledged with."""

# built when first used: most commands read events and never make one
_ADAPTER: TypeAdapter[AnyEvent] = TypeAdapter(
    Annotated[AnyEvent, Field(discriminator="ev")], config=ConfigDict(defer_build=True)
)


def is_acknowledged(event: AnyEvent) -> TypeGuard[Acknowledged]:
    """Whether an event is what a key brought, and is acknowledged."""
    if isinstance(event, Asked):
        return event.answer is not None and not event.silent
    return isinstance(event, Acknowledged) and not (isinstance(event, TrialClosed) and event.reason != "key")


NAMES: frozenset[str] = frozenset(kind.model_fields["ev"].default for kind in AnyEvent.__args__)


def event_from_json(data: bytes | str) -> AnyEvent:
    """Return the event that one JSON object holds. Raises pydantic's ValidationError."""
    event: AnyEvent = _ADAPTER.validator.validate_json(data)
    return event
