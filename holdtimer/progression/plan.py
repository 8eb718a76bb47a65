"""The hard sessions to come: each at the earliest time that keeps the spacing, if each is done on time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from holdtimer.program.compiling import compile_script
from holdtimer.program.models import Program, Script
from holdtimer.progression.due import script_due, trains, week_of
from holdtimer.progression.history import History, read_history
from holdtimer.progression.spacing import hard_starts, spacing
from holdtimer.session.summary import SessionSummary

FIRST_EVENING = time(18)  # of somebody who has done nothing hard yet
_COUNTED_FROM = date(2020, 1, 1)
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ComingSession:
    """A hard session to come; aware times to the minute, in the person's zone.

    `number` counts the hard sessions of the program, from 1; `script` is the id of the one whose turn it will
    be. `moved_days` is how often the whole plan has moved on by a day because the next session was not done.
    """

    number: int
    script: str
    start: datetime
    end: datetime
    moved_days: int


def coming_sessions(
    program: Program, past: Iterable[SessionSummary], now: datetime, until: datetime
) -> tuple[ComingSession, ...]:
    """Return the hard sessions from `now` to `until` (both aware), none where all scripts are easy days.

    One that could have begun already moves on to the same time of the next day that is not over. Each of the
    others begins as early as recovery and the most sessions in 7 days allow after those before it.
    """
    found: list[ComingSession] = []
    history = read_history(program, past)
    start, moved_days = _first(spacing(program, history, now).earliest, now)
    while True:
        script, start = _next_hard(program, history, start)
        if script is None or start.astimezone(UTC) > until.astimezone(UTC):
            return tuple(found)
        number = len(hard_starts(history.own)) + 1
        end = _later(start, timedelta(seconds=compile_script(program, script.id).least_s))
        found.append(ComingSession(number, script.id, start, end, moved_days))
        history = read_history(program, [*history.sessions, _as_done(program, found[-1])])
        start = _later(spacing(program, history, end).earliest or end)


def _first(earliest: datetime | None, now: datetime) -> tuple[datetime, int]:
    """Return when the next session can be, and how many days that has moved."""
    if earliest is None:
        first = datetime.combine(_COUNTED_FROM, FIRST_EVENING, now.tzinfo)
    else:
        first = _later(earliest.astimezone(now.tzinfo))
    days = max(0, (now.date() - first.date()).days)
    if (first + days * _DAY).astimezone(UTC) < now.astimezone(UTC):
        days += 1
    return first + days * _DAY, days


def _next_hard(program: Program, history: History, start: datetime) -> tuple[Script | None, datetime]:
    """Return the script whose turn it is at `start`, or at that time of the first day of a week with one."""
    last = max((week for script in program.scripts for week in script.weeks or ()), default=1)
    for days in range(7 * last + 1):
        day = start + days * _DAY
        script = script_due(program, history.own, week_of(history.own, day))
        if trains(script):
            return script, day
    return None, start  # what was listed last goes on, and is easy


def _as_done(program: Program, coming: ComingSession) -> SessionSummary:
    """Return a session to come as if it had been done."""
    return SessionSummary(
        session=f"coming-{coming.number:06d}",
        person="",
        program=program.id,
        script=coming.script,
        started=coming.start,
        ended=coming.end,
        complete=True,
        rehearsal=False,
        off_day=False,
        is_hard=True,
        symptom=False,
        released=False,
        results=(),
    )


def _later(moment: datetime, by: timedelta = timedelta()) -> datetime:
    """Return so much later, in time that really passes, and up to the next whole minute."""
    utc = moment.astimezone(UTC) + by
    up = -timedelta(seconds=utc.second, microseconds=utc.microsecond) % timedelta(minutes=1)
    return (utc + up).astimezone(moment.tzinfo)
