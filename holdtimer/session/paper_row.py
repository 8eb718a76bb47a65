"""A set as somebody wrote it down on paper: one row of a table, and what must hold of it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

from holdtimer.errors import UnknownScriptError
from holdtimer.program.compiling import find_script
from holdtimer.program.models import Defaults, Exercise, ExerciseStep, Program, resolve
from holdtimer.program.timeline import Side
from holdtimer.session.events import StopReason
from holdtimer.session.state import LATE_TAP_S
from holdtimer.text import did_you_mean, harmless

StartKey = date | datetime  # the day where only that is known, else the instant in UTC


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One row. An empty cell is None; `started` and `ended` are aware, at midnight where `date_only`.

    `faults` has what could not be read, by column; such a cell is None too.
    """

    line: int
    faults: Mapping[str, str] = field(default_factory=dict)
    started: datetime | None = None
    date_only: bool = False
    ended: datetime | None = None
    ended_date_only: bool = False
    program: str | None = None
    script: str | None = None
    set: int | None = None
    attempt: int | None = None
    exercise: str | None = None
    side: Side | None = None
    rung: str | None = None
    window_s: float | None = None
    band_low_s: float | None = None
    band_high_s: float | None = None
    first_failure_s: float | None = None
    ran_to_end: bool | None = None
    confirmed: bool | None = None
    late_tap_s: float | None = None
    tension_s: float | None = None
    reentries: int | None = None
    interrupted: bool | None = None
    skipped: bool | None = None
    stopped: StopReason | None = None
    effort: int | None = None
    form_broke: bool | None = None
    pain: bool | None = None
    off_day: bool | None = None
    note: str | None = None

    @property
    def start_key(self) -> StartKey | None:
        """By what its session is known; None without a start."""
        return None if self.started is None else start_key(self.started, date_only=self.date_only)


def start_key(started: datetime, *, date_only: bool) -> StartKey:
    """Return by what a session that started then is known."""
    return started.date() if date_only else started.astimezone(UTC)


WINDOW_S = (10.0, 600.0)
TOO_SOON_S = 1.0  # a first failure before it stands rather for a set that was not done
LONGEST_SESSION = timedelta(hours=24)
ROUNDED = 0.0015  # s: two values written to the millisecond


@dataclass(frozen=True, slots=True)
class Lookup:
    """Looks up what a row names in a program; `now` is the latest that a result can be."""

    program: Program
    now: datetime

    def exercise_id(self, name: str | None) -> str | None:
        """Return the id of the exercise of this id or name, None where there is none."""
        exercises = self.program.exercises
        if name is None or name in exercises:
            return name
        word = name.casefold()
        alike = [key for key, each in exercises.items() if word in (key.casefold(), each.name.casefold())]
        return alike[0] if len(alike) == 1 else None

    def rung(self, exercise: Exercise, name: str | None) -> str | None:
        """Return the rung of this name or former name as it is called now, None where there is none."""
        if name is None:
            return None
        index = exercise.rung_index(name)
        if index is not None:
            return exercise.ladder[index].rung
        names = {word: each.rung for each in exercise.ladder for word in (*each.was, each.rung)}
        alike = {rung for word, rung in names.items() if word.casefold() == name.casefold()}
        return alike.pop() if len(alike) == 1 else None

    def script_of(self, exercises: set[str], named: str | None) -> str:
        """Return the script named, else the only one that trains all of these exercises, else none ("")."""
        if named is not None:
            return named
        fitting = [script.id for script in self.program.scripts if exercises <= set(_trained(script.steps))]
        return fitting[0] if len(fitting) == 1 else ""

    def settings(self, exercise: str, script: str, occurrence: int) -> Defaults:
        """Return how a set is done: as the script's step for it, the n-th of its exercise from 0, says."""
        steps = [
            step
            for each in self.program.scripts
            if each.id == script
            for step in each.steps
            if isinstance(step, ExerciseStep) and step.exercise == exercise
        ]
        step = steps[min(occurrence, len(steps) - 1)] if steps else None
        return resolve(self.program, self.program.exercises[exercise], step)


def _trained(steps: tuple[object, ...]) -> Iterator[str]:
    return (step.exercise for step in steps if isinstance(step, ExerciseStep))


def faults_of(row: PaperRow, lookup: Lookup, settings: Defaults | None) -> Iterator[str]:
    """Yield what is wrong with a row; `settings` are those of its set where that is known."""
    yield from row.faults.values()
    yield from _in_time(row, lookup.now)
    yield from _names(row, lookup)
    yield from _outcome(row)
    if settings is not None:
        yield from _seconds(row, settings)


def remark_on(row: PaperRow) -> str | None:
    """Return what a person should know of a sound row: that it does not count, or counts for too much."""
    if row.first_failure_s is not None and row.first_failure_s < TOO_SOON_S:
        return (
            f"failed at {row.first_failure_s:g} s: if the set was not done, write skipped=yes "
            "and no first_failure_s"
        )
    has_result = row.first_failure_s is not None or to_the_end(row) or row.reentries
    left = row.skipped or row.interrupted or row.stopped
    why = "neither a first failure nor a run to the end: kept, but it does not count"
    return None if has_result or left else why


def to_the_end(row: PaperRow) -> bool:
    """Whether a row says that the set ran to its end; a late tap alone says so too."""
    if row.ran_to_end is None:
        return row.late_tap_s is not None and row.first_failure_s is None
    return row.ran_to_end


def _in_time(row: PaperRow, now: datetime) -> Iterator[str]:
    if row.started is None:
        if "started" not in row.faults:
            yield "started is empty; write when the session began, such as 2026-05-12 18:40, or its date"
        return
    if row.started.astimezone(UTC) > now.astimezone(UTC):
        yield f"started is {_words(row.started, row.date_only)}; that is in the future"
    if row.ended is None or (row.date_only and row.ended_date_only and row.ended == row.started):
        return
    lasted = row.ended.astimezone(UTC) - row.started.astimezone(UTC)
    if row.date_only or row.ended_date_only:
        yield "started and ended both need a time of day; or write only the date, under started"
    elif lasted < timedelta(0):
        yield f"ended is {_words(row.ended)}; that is before started"
    elif lasted > LONGEST_SESSION:
        yield f"ended is {_words(row.ended)}; that is more than a day after started"
    elif row.ended.astimezone(UTC) > now.astimezone(UTC):
        yield f"ended is {_words(row.ended)}; that is in the future"


def _words(moment: datetime, date_only: bool = False) -> str:
    return moment.date().isoformat() if date_only else moment.isoformat(" ", "minutes")


def _names(row: PaperRow, lookup: Lookup) -> Iterator[str]:
    if row.script is not None:
        try:
            find_script(lookup.program, row.script)
        except UnknownScriptError:
            known = [script.id for script in lookup.program.scripts]
            yield f'the program has no script "{harmless(row.script)}"{did_you_mean(row.script, known)}'
    key = lookup.exercise_id(row.exercise)
    if key is None:
        if row.exercise is None:
            yield "exercise is empty; write its id, such as " + ", ".join(list(lookup.program.exercises)[:3])
        else:
            known = list(lookup.program.exercises)
            yield f'the program has no exercise "{harmless(row.exercise)}"{did_you_mean(row.exercise, known)}'
        return
    exercise = lookup.program.exercises[key]
    yield from _side(row, key, exercise)
    if lookup.rung(exercise, row.rung) is None:
        names = [rung.rung for rung in exercise.ladder]
        if row.rung is None:
            yield f'rung is empty; the rungs of "{key}" are: {", ".join(names)}'
        else:
            yield f'"{key}" has no rung "{harmless(row.rung)}"{did_you_mean(row.rung, names)}'


def _side(row: PaperRow, key: str, exercise: Exercise) -> Iterator[str]:
    if "side" in row.faults:
        return
    if exercise.sides == "both" and row.side in ("left", "right"):
        yield f'side is {row.side}, but "{key}" is one set for both sides; write both'
    if exercise.sides == "each" and row.side not in ("left", "right"):
        yield f'side is {row.side or "empty"}, but "{key}" is a set for each side; write left or right'


def _outcome(row: PaperRow) -> Iterator[str]:
    failed, to_end = row.first_failure_s is not None, bool(row.ran_to_end)
    if failed and to_end:
        yield "first_failure_s and ran_to_end are both filled in; a set that failed did not run to the end"
    broken = "interrupted" if row.interrupted else "skipped" if row.skipped else ""
    broken = broken or ("stopped by choice" if row.stopped == "choice" else "")
    if to_end and broken:
        yield f"ran_to_end is yes, but the set was {broken}; it can't be both"
    left = row.interrupted or row.skipped or row.stopped
    unread = {"first_failure_s", "ran_to_end", "late_tap_s"} & set(row.faults)
    if not (failed or row.ran_to_end is not None or row.late_tap_s is not None or left or unread):
        yield "there is no result; write the seconds under first_failure_s, or yes under ran_to_end"
    if row.late_tap_s is not None and row.late_tap_s > LATE_TAP_S:
        yield f"late_tap_s is {row.late_tap_s:g}; it counts seconds after the end, {LATE_TAP_S:g} at most"
    for name in ("set", "attempt"):
        if getattr(row, name) == 0:
            yield f"{name} is 0; the first is 1"


def band_of(row: PaperRow, settings: Defaults) -> tuple[float, tuple[float, float]]:
    """Return the window and the band of a set, in seconds: the row's own, else as the program says."""
    low, high = settings.band_s
    window = settings.window_s if row.window_s is None else row.window_s
    low = low if row.band_low_s is None else row.band_low_s
    return window, (low, high if row.band_high_s is None else row.band_high_s)


def _seconds(row: PaperRow, settings: Defaults) -> Iterator[str]:
    window, (low, high) = band_of(row, settings)
    if not WINDOW_S[0] <= window <= WINDOW_S[1]:
        yield f"window_s is {window:g}; a work window has {WINDOW_S[0]:g} to {WINDOW_S[1]:g} s"
        return
    if not 0 < low < high <= window + ROUNDED:
        yield f"the band is {low:g} to {high:g} s; it must rise and lie inside the window of {window:g} s"
    for name in ("first_failure_s", "tension_s"):
        value = getattr(row, name)
        if value is not None and value > window + ROUNDED:
            longer = "; where the window was longer then, write its length under window_s"
            yield f"{name} is {value:g}, outside the window of {window:g} s{longer}"
