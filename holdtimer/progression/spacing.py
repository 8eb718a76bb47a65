"""How far apart hard sessions are: the time that has really passed, whatever the clocks on the wall did."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from holdtimer.program.compiling import compile_script
from holdtimer.program.models import Program
from holdtimer.progression.history import History
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted, from_words

WEEK = timedelta(hours=168)
LENGTH_UNKNOWN = timedelta(hours=1)  # of a session whose script is no longer known


@dataclass(frozen=True, slots=True)
class Spacing:
    """When the next hard session may start. Aware times, `earliest` in the zone of `now`.

    `earliest` is None where nothing hard was done yet; `capped` when the sessions of 7 days set it, not
    recovery; `since_h` hours from the end of the last hard session, 0 where that `is_ahead` of the clock.
    """

    now: datetime
    earliest: datetime | None
    capped: bool
    since_h: float | None
    done_last_7_days: int
    is_ahead: bool = False

    @property
    def ready(self) -> bool:
        """Whether it may start now."""
        return self.earliest is None or self.earliest.astimezone(UTC) <= self.now.astimezone(UTC)

    @property
    def when(self) -> str:
        """When it may start, in words."""
        return "ready now" if self.ready or self.earliest is None else from_words(self.earliest, self.now)

    @property
    def warning(self) -> str | None:
        """Why it is too early, in words; None where it isn't."""
        if self.ready or self.since_h is None:
            return None
        if self.is_ahead:
            return "your last hard session lies ahead of this machine's clock: set the clock right"
        if self.capped:
            done = counted(self.done_last_7_days, "hard session")
            return f"{done} in the last 7 days: enough for one week"
        return f"{_hours_or_minutes(self.since_h)} since your last hard session ended"


def _hours_or_minutes(hours: float) -> str:
    return f"{math.floor(hours)} h" if hours >= 1 else f"{max(1, math.floor(hours * 60))} min"


def spacing(program: Program, history: History, now: datetime) -> Spacing:
    """Return when the next hard session of a program may start.

    Hard sessions of every program count: it is the body that recovers. 48 h of recovery are common practice,
    with no source of their own; after sets to failure they are a floor.
    """
    hard = [
        _span(each, each.started, program, now)
        for each in history.sessions
        if each.is_hard and each.started is not None
    ]
    starts, ends = sorted(start for start, _ in hard), [end for _, end in hard]
    moment = now.astimezone(UTC)
    begun = hard_starts(history.sessions)
    rested = max(ends) + timedelta(hours=program.spacing.recovery_h) if ends else None
    most = program.spacing.per_week[1]
    free = starts[-most] + WEEK if len(starts) >= most else None
    earliest = max((each for each in (rested, free) if each is not None), default=None)
    return Spacing(
        now=now,
        earliest=None if earliest is None else earliest.astimezone(now.tzinfo),
        capped=free is not None and free == earliest and free != rested,
        since_h=max(0.0, (moment - max(ends)) / timedelta(hours=1)) if ends else None,
        done_last_7_days=sum(1 for start in starts if moment - start < WEEK),
        is_ahead=bool(begun) and max(begun) > moment,
    )


def hard_starts(own: Sequence[SessionSummary]) -> list[datetime]:
    """Return when the hard ones of these sessions began, in UTC, in their order."""
    return [each.started.astimezone(UTC) for each in own if each.is_hard and each.started is not None]


def kept_and_planned(program: Program, own: Sequence[SessionSummary], now: datetime) -> tuple[int, int]:
    """Return the hard sessions done, and those planned in the whole weeks since the first (at least one)."""
    hard = hard_starts(own)
    if not hard:
        return 0, 0
    weeks = max(1, (now.astimezone(UTC) - hard[0]) // WEEK)
    return len(hard), weeks * program.spacing.per_week[0]


def _span(
    session: SessionSummary, started: datetime, program: Program, now: datetime
) -> tuple[datetime, datetime]:
    """Return start and end of a hard session that began then, in UTC.

    A day with no time counts from its end, midnight in the zone of `now`; an end that is not known is the
    start and the script's length.
    """
    start = started.astimezone(UTC)
    if session.ended is None or session.ended.astimezone(UTC) <= start:
        return start, start + _length(session, program)
    if session.date_only:
        next_day = started.date() + timedelta(days=1)
        midnight = datetime.combine(next_day, time(), now.tzinfo).astimezone(UTC)
        return midnight, midnight
    return start, session.ended.astimezone(UTC)


def _length(session: SessionSummary, program: Program) -> timedelta:
    known: Iterable[str] = (script.id for script in program.scripts)
    if session.program != program.id or session.script not in known:
        return LENGTH_UNKNOWN
    return timedelta(seconds=compile_script(program, session.script).least_s)
