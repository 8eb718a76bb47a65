"""One exercise over the weeks: its results as points in time."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.progression.history import Result, read_history, sides_of
from holdtimer.session.summary import SessionSummary


@dataclass(frozen=True, slots=True)
class Point:
    """One result: when (UTC), after how many seconds, at which rung (its place), and what is to be seen.

    `seconds` is None where the set has no result; `is_open` for a run to the end, which is longer.
    """

    at: datetime
    side: Side
    seconds: float | None
    is_open: bool
    rung: int
    counted: bool
    off_day: bool = False
    pain: bool = False

    @property
    def drawn_s(self) -> float:
        """The seconds it is drawn at: 0 where the set has no result."""
        return self.seconds or 0.0


@dataclass(frozen=True, slots=True)
class Course:
    """The results of one exercise by each side that was done, oldest first.

    `rungs` are its ladder as it is now, `band_s` that of the newest result, `window_s` the longest window.
    """

    exercise: str
    name: str
    rungs: tuple[str, ...]
    band_s: tuple[float, float]
    window_s: float
    sides: dict[Side, tuple[Point, ...]]

    @property
    def first(self) -> datetime | None:
        """When the oldest result was."""
        return min((points[0].at for points in self.sides.values() if points), default=None)

    def since(self, moment: datetime | None) -> "Course":
        """Return the course from a moment on; all of it for None."""
        if moment is None:
            return self
        sides = {
            side: tuple(point for point in points if point.at >= moment)
            for side, points in self.sides.items()
        }
        return replace(self, sides=sides)


SPANS: tuple[timedelta | None, ...] = (
    timedelta(weeks=8),
    timedelta(weeks=26),
    timedelta(weeks=52),
    None,
)


def span_words(span: timedelta | None) -> str:
    """Return how far back a course is shown."""
    return "all of it" if span is None else f"the last {span.days // 7} weeks"


def courses(program: Program, past: Iterable[SessionSummary]) -> list[Course]:
    """Return the course of each exercise of a program that has a result, in the program's order."""
    history = read_history(program, past)
    off = {each.session for each in history.own if each.off_day}
    found = []
    for key, exercise in program.exercises.items():
        done = {side: of for side in sides_of(exercise) if (of := history.of((key, side)))}
        results = [each for of in done.values() for each in of]
        if results:
            newest = max(results, key=lambda each: each.order).done
            window = max(each.done.window_s for each in results)
            rungs = tuple(each.rung for each in exercise.ladder)
            sides = {
                side: tuple(_point(each, off) for each in of if not each.gone) for side, of in done.items()
            }
            found.append(Course(key, exercise.name, rungs, newest.band_s, window, sides))
    return found


def _point(result: Result, off: set[str]) -> Point:
    done = result.done
    is_open = result.failed_s is None and done.ran_to_end and done.confirmed  # silence shows nothing
    return Point(
        at=result.at,
        side=done.side,
        seconds=done.window_s if is_open else result.failed_s,
        is_open=is_open,
        rung=result.rung,
        counted=result.counted,
        off_day=result.session in off,
        pain=result.pain,
    )
