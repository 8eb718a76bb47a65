"""The events of function tests: the questions before, the trials, and their results.

Times are seconds: `t` since the session opened, `at` since the trial began.
"""

from typing import Literal

from holdtimer.program.timeline import Pace, Presser, Protocol, Start, Variant
from holdtimer.session.event_base import Count, Event, Seconds, SetNumber, Text

Leads = Literal["set-up", "off-day", "helper", "variant", "not-today"]  # where a no before a test leads
TrialEnd = Literal["time", "key", "too-long"]
VoidReason = Literal["not-confirmed", "not-kept", "again", "stopped", "skipped", "not-today", "gap", "left"]


class InTest(Event):
    """An event of one function test; `trial` from 1."""

    test: Text
    trial: SetNumber = 1


class Asked(InTest):
    """A question before a test: put where `answer` is None, else answered; silence is a no.

    `if_no` says where a no would lead, `leads` where it led; `part` is the index of the test in its script.
    """

    ev: Literal["asked"] = "asked"
    part: Count
    question: Text
    answer: bool | None = None
    silent: bool | None = None
    if_no: Leads | None = None
    leads: Leads | None = None


class TrialOpen(InTest):
    """A trial begins: all that its result must have in common with others (a `Series`).

    It ends by itself after `seconds`, and is one of so many `trials`.
    """

    ev: Literal["trial-open"] = "trial-open"
    protocol: Protocol
    variant: Variant | None = None
    seat_cm: Seconds | None = None
    lane_m: Seconds | None = None
    pace: Pace | None = None
    start: Start | None = None
    aid: Text | None = None
    presser: Presser = "walker"
    seconds: Seconds
    trials: Count = 1
    late_ms: Seconds = 0.0


class Mark(InTest):
    """A stand was marked, `at` seconds after the trial began."""

    ev: Literal["mark"] = "mark"
    at: Seconds
    late_ms: Seconds = 0.0


class TrialClosed(InTest):
    """A trial is over, `at` seconds after it began: by the clock, by the key, or without one for too long."""

    ev: Literal["trial-closed"] = "trial-closed"
    at: Seconds
    reason: TrialEnd
    late_ms: Seconds = 0.0


class TrialResult(InTest):
    """The result of a trial, as the person says. `marked` are the stands that were marked.

    Where it was not `able` there is no result; `over` is whether the test is.
    """

    ev: Literal["trial-result"] = "trial-result"
    able: bool = True
    stands: Count | None = None
    seconds: Seconds | None = None
    speed_m_s: Seconds | None = None
    marked: Count | None = None
    over: bool = True


class TrialVoid(InTest):
    """Why a trial, or a test before its first one, has no result; `over` is whether the test is."""

    ev: Literal["trial-void"] = "trial-void"
    reason: VoidReason
    over: bool = True
