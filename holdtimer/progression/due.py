"""What is due, when, each exercise and side at its rung with the reason, and the sessions to come.

The week of the program chooses the scripts, and of those the one done longest ago is due.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from holdtimer.program.compiling import compile_script, find_script
from holdtimer.program.models import EasyStep, ExerciseStep, Program, Script, TrialStep, resolve
from holdtimer.program.timeline import PlannedTest, SetKey, Side
from holdtimer.progression.forecast import Outlook, outlooks
from holdtimer.progression.function import new_series
from holdtimer.progression.history import History, Result, read_history, sides_of
from holdtimer.progression.spacing import Spacing, hard_starts, spacing
from holdtimer.progression.verdicts import stop_words, unreleased
from holdtimer.session.summary import SessionSummary
from holdtimer.text import day_words, from_words


@dataclass(frozen=True, slots=True)
class DueSet:
    """One exercise and side, due at a rung (its name)."""

    exercise: str
    side: Side
    rung: str
    outlook: Outlook


@dataclass(frozen=True, slots=True)
class Due:
    """What comes next for one person and program.

    `hold` says in words why nothing may start, `held_by` which sessions were stopped. `easy_day` is the id of
    an easy day to do while recovering. `sets` stand in the order they are done, each exercise and side once.
    `left_out` names what of the past the program no longer knows.
    """

    program: str
    script: str
    week: int
    hold: str | None
    held_by: tuple[str, ...]
    is_easy: bool
    spacing: Spacing
    easy_day: str | None
    sets: tuple[DueSet, ...]
    first_sides: Mapping[str, Side]
    left_out: tuple[str, ...]
    tests: tuple[PlannedTest, ...] = ()
    tested: datetime | None = None  # when these were done last
    tests_from: datetime | None = None  # from when on they are due, where that lies ahead
    new_series: tuple[str, ...] = ()  # which of the tests begin one, in words

    @property
    def ready(self) -> bool:
        """Whether it may start now; an easy day needs no recovery, and tests are done rested."""
        return self.hold is None and (self.is_easy or self.spacing.ready) and self.tests_from is None

    @property
    def earliest_start(self) -> datetime | None:
        """When it may start, in the zone of the moment asked about; None where nothing came before."""
        known = (None if self.is_easy else self.spacing.earliest, self.tests_from)
        return max((each for each in known if each is not None), default=None)

    @property
    def when(self) -> str:
        """When it may start, in words."""
        if self.hold is not None:
            return f"on hold: {self.hold}"
        earliest = self.earliest_start
        return "ready now" if self.ready or earliest is None else from_words(earliest, self.spacing.now)

    @property
    def warning(self) -> str | None:
        """Why it is too early, in words; None where it isn't."""
        if self.tests_from is not None and self.tested is not None:
            return f"you were tested on {day_words(self.tested, self.spacing.now)}; more often shows no more"
        return None if self.is_easy else self.spacing.warning

    @property
    def rungs(self) -> dict[SetKey, str]:
        """The due rung of each exercise and side, as `compile_script` takes them, with `first_sides`."""
        return {(each.exercise, each.side): each.rung for each in self.sets}


def due(program: Program, past: Iterable[SessionSummary], now: datetime, script: str | None = None) -> Due:
    """Return what is due at `now`, an aware time in the person's zone.

    It is the script of that id, or the one whose turn it is. `past` are the sessions of one person in any
    order; one ahead of `now` counts too, since the clock may have been set back after it. Spacing looks at
    those of every program, all else at this one's. Raises UnknownScriptError, and ValueError for a moment
    with no zone.
    """
    if now.tzinfo is None:
        raise ValueError("a moment needs its zone")
    past = tuple(past)
    history = read_history(program, past)
    week = week_of(history.own, now)
    if script:
        chosen = find_script(program, script)
    else:
        own = history.own
        chosen = _due_by_itself(program, own, now) or script_due(program, own, week)
    found = outlooks(program, history, _bands(program, chosen), now)
    pause, stop = spacing(program, history, now), unreleased(history.stops)
    first_sides = {key: _weaker_side(found, key) for key, _ in found}
    tests = compile_script(program, chosen.id).tests
    offered = None if pause.ready or stop or is_easy(chosen) else easy_day(program, history.own, week)
    return Due(
        program=program.id,
        script=chosen.id,
        week=week,
        hold=stop_words(stop, now) if stop else None,
        held_by=tuple(each.session for each in history.stops if not each.released),
        is_easy=is_easy(chosen),
        spacing=pause,
        easy_day=offered.id if offered else None,
        sets=_in_order(program, chosen, found, first_sides),
        first_sides=first_sides,
        left_out=history.left_out,
        tests=tests,
        tested=_tested(chosen, history.own),
        tests_from=_tests_from(chosen, history.own, now),
        new_series=tuple(new_series(tests, past)) if tests else (),
    )


def _bands(program: Program, script: Script) -> dict[SetKey, tuple[float, float]]:
    """Return the band of each exercise and side of a script, that of the first time where it comes twice."""
    found: dict[SetKey, tuple[float, float]] = {}
    for step in script.steps:
        if isinstance(step, ExerciseStep):
            exercise = program.exercises[step.exercise]
            low, high = resolve(program, exercise, step).band_s
            for side in sides_of(exercise):
                found.setdefault((step.exercise, side), (low, high))
    return found


def _in_order(
    program: Program, script: Script, outlooks: Mapping[SetKey, Outlook], first_sides: Mapping[str, Side]
) -> tuple[DueSet, ...]:
    """Return the sets in the order they are done."""
    rungs = {
        (exercise, side): program.exercises[exercise].ladder[each.rung].rung
        for (exercise, side), each in outlooks.items()
    }
    timeline = compile_script(program, script.id, rungs, first_sides)
    keys = dict.fromkeys((each.exercise, each.side) for each in timeline.sets)
    return tuple(DueSet(*key, rungs[key], outlooks[key]) for key in keys)


def _weaker_side(outlooks: Mapping[SetKey, Outlook], exercise: str) -> Side:
    """Return the side with the lower due rung, else with the shorter last result, else left."""
    left, right = outlooks.get((exercise, "left")), outlooks.get((exercise, "right"))
    if left is None or right is None:
        return "both"
    if left.rung != right.rung:
        return "left" if left.rung < right.rung else "right"
    return "right" if _is_shorter(right.last, left.last) else "left"


def _is_shorter(one: Result | None, other: Result | None) -> bool:
    """Whether one result is known to be shorter than another; a run to the end is only "at least"."""
    if one is None or other is None or one.failed_s is None:
        return False
    if other.failed_s is None:
        return one.failed_s <= other.lasted_s
    return one.failed_s < other.failed_s


# ---- which script


def week_of(own: Sequence[SessionSummary], now: datetime) -> int:
    """Return the week of the program: week 1 begins on the day of its first session, in the zone of `now`."""
    first = next((each.started for each in own if each.started is not None and was_done(each)), None)
    if first is None:
        return 1
    days = (now.date() - first.astimezone(now.tzinfo).date()).days
    return max(0, days) // 7 + 1


def scripts_of_week(program: Program, week: int) -> list[Script]:
    """Return the scripts that belong to a week, in file order; what was listed last goes on."""
    listed = sorted({each for script in program.scripts for each in script.weeks or ()})
    begun = [each for each in listed if each <= week]
    in_force = begun[-1] if begun else next(iter(listed), week)
    by_turns = (script for script in program.scripts if script.every_weeks is None)
    return [script for script in by_turns if script.weeks is None or in_force in script.weeks]


def _tested(script: Script, own: Sequence[SessionSummary]) -> datetime | None:
    """Return when a script that is due every so many weeks was done last, something of it having come out."""
    came_out = (each for each in own if each.script == script.id and _came_out(each, script))
    done = [each.started for each in came_out if each.started]
    return max(done, default=None) if script.every_weeks is not None else None


def _came_out(session: SessionSummary, script: Script) -> bool:
    """Whether a session has any result.

    Tests stay due that were all put off or done on an off day, or of which most were left.
    """
    tests = [each for each in session.tests if not each.is_off_day]
    planned = sum(isinstance(step, TrialStep) for step in script.steps)
    was_left = not session.complete and 2 * len(tests) < planned
    came = bool(session.results) or any(each.value is not None or not each.able for each in tests)
    return came and not was_left


def _tests_from(script: Script, own: Sequence[SessionSummary], now: datetime) -> datetime | None:
    """Return from when on such a script is due: that day's beginning, where it lies ahead."""
    last = _tested(script, own)
    if last is None or script.every_weeks is None:
        return None
    day = last.astimezone(now.tzinfo).date() + timedelta(weeks=script.every_weeks)
    begins = datetime.combine(day, time(), now.tzinfo)
    return begins if begins > now else None


def _tried_today(script: Script, own: Sequence[SessionSummary], now: datetime) -> bool:
    tried = (each.started for each in own if each.script == script.id and was_done(each) and each.started)
    return any(each.astimezone(now.tzinfo).date() == now.date() for each in tried)


def _due_by_itself(program: Program, own: Sequence[SessionSummary], now: datetime) -> Script | None:
    """Return the script that is due every so many weeks, and now; it comes before the others of a day."""
    for script in program.scripts:
        is_time = script.every_weeks is not None and _tests_from(script, own, now) is None
        if is_time and not _tried_today(script, own, now):
            return script
    return None


def are_tests_due(program: Program, past: Iterable[SessionSummary], now: datetime) -> bool:
    """Whether function tests of a program are due by themselves at `now`, in the person's zone."""
    script = _due_by_itself(program, read_history(program, past).own, now)
    return script is not None and not trains(script)


def script_due(program: Program, own: Sequence[SessionSummary], week: int) -> Script:
    """Return the script whose turn it is: of those that train the one done longest ago, then in file order.

    An easy day is due only in a week that has nothing else; at other times it is `easy_day`'s to suggest.
    """
    scripts = scripts_of_week(program, week) or list(program.scripts)
    return _longest_ago([each for each in scripts if not is_easy(each)] or scripts, own)


def easy_day(program: Program, own: Sequence[SessionSummary], week: int) -> Script | None:
    """Return the easy day that could be done in a week, where the program has one."""
    scripts = [each for each in scripts_of_week(program, week) if is_easy(each)]
    return _longest_ago(scripts, own) if scripts else None


def is_easy(script: Script) -> bool:
    """Whether a script is an easy day: no exercise in it."""
    return all(isinstance(step, EasyStep) for step in script.steps)


def trains(script: Script) -> bool:
    """Whether a script has any exercise: not an easy day, nor one of tests alone."""
    return any(isinstance(step, ExerciseStep) for step in script.steps)


def was_done(session: SessionSummary) -> bool:
    """Whether something of a session was done, beyond opening it."""
    return session.complete or session.is_hard or bool(session.results or session.tests)


def was_run(session: SessionSummary) -> bool:
    """Whether something of a session was done here, and is not only known from paper."""
    return was_done(session) and not session.on_paper


def _longest_ago(scripts: list[Script], own: Sequence[SessionSummary]) -> Script:
    never = datetime.min.replace(tzinfo=UTC)
    last: dict[str, datetime] = {}
    for session in own:
        if session.started is not None and was_done(session):
            last[session.script] = session.started.astimezone(UTC)
    return min(scripts, key=lambda script: last.get(script.id, never))


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
