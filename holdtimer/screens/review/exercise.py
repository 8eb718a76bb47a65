"""One exercise over the weeks: what can be said of it first, then its results as a curve.

The curve is text: first failures over time with the band behind them, the rungs as steps below. Left and
right stand on one scale and differ in shape: a side is a triangle that points to it. A run to the end is an
open mark, for it lasted longer than that.
"""

import asyncio
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import groupby
from typing import ClassVar, NamedTuple

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from holdtimer.live.preflight import restore
from holdtimer.live.review import Review
from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.report.course import SPANS, Course, Point, courses, span_words
from holdtimer.report.function import Lane, beside_words, lanes, test_name
from holdtimer.report.review import trend_words
from holdtimer.screens.review.base import ReviewScreen
from holdtimer.text import MONTHS, clock

_CLOSED: dict[Side, str] = {"both": "●", "left": "◀", "right": "▶"}
_OPEN: dict[Side, str] = {"both": "○", "left": "◁", "right": "▷"}
NOT_COUNTED, OFF_DAY, PAIN = "×", "o", "!"
_GUTTER = 22  # the longest name of a rung that is not cut
_MOST_RUNGS = 6
_LEAST_PLOT = 5  # rows
_MARGIN = 2  # columns at both ends of time, for the flags of a mark


def legend(course: Course) -> str:
    """Return what the marks mean, of those that are there."""
    points = [point for each in course.sides.values() for point in each]
    sides = [side for side, each in course.sides.items() if each]
    failed = ", ".join(f"{_CLOSED[side]} {'failed' if side == 'both' else side}" for side in sides)
    words = [failed]
    if any(point.is_open for point in points):
        words.append(f"{' '.join(_OPEN[side] for side in sides)} at least, to the end")
    if any(NOT_COUNTED in _flags(point) for point in points):
        words.append(f"{NOT_COUNTED} not counted")
    if any(point.off_day for point in points):
        words.append(f"{OFF_DAY} off day")
    if any(point.pain for point in points):
        words.append(f"{PAIN} pain")
    return "   ".join((*words, "░ band"))


@dataclass(slots=True)
class _Grid:
    """Cells of the plot, a gutter for words left of them."""

    columns: int
    rows: int
    gutter: int
    cells: list[list[str]] = field(init=False)

    def __post_init__(self) -> None:
        self.cells = [[" "] * self.columns for _ in range(self.rows)]

    @property
    def width(self) -> int:
        return self.columns - self.gutter - 1

    def put(self, row: int, column: int, sign: str) -> bool:
        """Put a sign into the plot; return whether no other mark was there."""
        if not (0 <= row < self.rows and 0 <= column < self.width):
            return False
        was = self.cells[row][self.gutter + 1 + column]
        self.cells[row][self.gutter + 1 + column] = sign
        return was in " ░"

    def name(self, row: int, words: str) -> None:
        """Write words at the right end of the gutter."""
        shown = words if len(words) <= self.gutter else words[: self.gutter - 1] + "…"
        self.cells[row][: self.gutter] = shown.rjust(self.gutter)

    def lines(self, quiet: str = "") -> list[Text]:
        """Return the rows: marks bold, the band in the ink `quiet`."""
        inks = {" ": "", "░": quiet}
        found = []
        for row in self.cells:
            marked = groupby(row[self.gutter :], lambda sign: inks.get(sign, "bold"))
            runs = [("".join(signs), ink) for ink, signs in marked]
            found.append(Text.assemble("".join(row[: self.gutter]), *runs, no_wrap=True))
        return found


def curve(
    columns: int, rows: int, course: Course, until: datetime, quiet: str = "", lanes: Sequence[Lane] = ()
) -> list[Text]:
    """Draw a course in so many columns and rows, with its months and rungs; the band in the ink `quiet`.

    Under it, on the same axis of time, stand the `lanes` of function tests, the latest where room is short.
    """
    points = [point for each in course.sides.values() for point in each]
    if not points or columns < 40 or rows < 8:
        return [Text("nothing in this time")]
    used = sorted({point.rung for point in points})
    shown = used[-_MOST_RUNGS:] if rows >= 16 else used[-3:]
    names = [course.rungs[rung] for rung in shown] + [lane.name for lane in lanes]
    gutter = min(_GUTTER, max(6, *map(len, names)))
    first = min(point.at for point in points)
    last = max(until, first + timedelta(days=7), *(point.at for point in points))
    scale = _Scale(first, last, course, points)
    room = rows - len(shown) - 2 - _LEAST_PLOT
    lanes = lanes[-room:] if room > 0 else ()
    plot = _Grid(columns, rows - len(shown) - len(lanes) - 2, gutter)
    _draw_band(plot, course, scale)
    _draw_points(plot, course, scale)
    steps = _Grid(columns, len(shown), gutter)
    _draw_steps(steps, course, scale, shown)
    under = _Grid(columns, len(lanes), gutter)
    _draw_lanes(under, lanes, scale)
    return [*plot.lines(quiet), *_axis(columns, gutter, scale), *steps.lines(), *under.lines()]


@dataclass(frozen=True, slots=True)
class _Scale:
    """From times to columns, and from seconds to rows."""

    first: datetime
    until: datetime
    course: Course
    points: list[Point]

    @property
    def top_s(self) -> float:
        return max([self.course.window_s, *(point.drawn_s for point in self.points)])

    @property
    def bottom_s(self) -> float:
        """The seconds of the lowest row: half of where the band begins, or less where it is needed."""
        known = (point.seconds for point in self.points if point.seconds is not None)
        least = min([self.course.band_s[0] / 2, *known])
        return least // 10 * 10

    def column(self, at: datetime, width: int) -> int:
        return _MARGIN + round((at - self.first) / (self.until - self.first) * (width - 1 - 2 * _MARGIN))

    def row(self, seconds: float, rows: int) -> int:
        part = (max(seconds, self.bottom_s) - self.bottom_s) / (self.top_s - self.bottom_s)
        return rows - 1 - round(part * (rows - 1))


def _draw_band(plot: _Grid, course: Course, scale: _Scale) -> None:
    low, high = (scale.row(at, plot.rows) for at in course.band_s)
    for row in range(high, low + 1):
        for column in range(plot.width):
            plot.put(row, column, "░")
    for at in (*course.band_s, scale.top_s, scale.bottom_s):
        row = scale.row(at, plot.rows)
        if not any(cell.strip() for cell in plot.cells[row][: plot.gutter]):
            plot.name(row, f"{clock(at)}{' s' if at == scale.top_s else ''}")


def _flags(point: Point) -> str:
    """Return what is out of the ordinary about a point, as signs beside its mark."""
    flags = OFF_DAY if point.off_day else "" if point.counted else NOT_COUNTED
    return flags + (PAIN if point.pain else "")


def _draw_points(plot: _Grid, course: Course, scale: _Scale) -> None:
    """Draw each point with its flags on the side it is of; those of one place stand beside each other."""
    for side, points in course.sides.items():
        for point in points:
            row = _row_of(point, course, scale, plot.rows)
            column = scale.column(point.at, plot.width)
            away = -1 if side == "left" else 1
            places = (column, column + away, column - away)
            free = next((at for at in places if _is_free(plot, row, at)), column)
            marks = _flags(point)
            if point.seconds is not None:
                marks = (_OPEN[side] if point.is_open else _CLOSED[side]) + marks
            for place, mark in enumerate(marks):
                plot.put(row, free + place * away, mark)


def _row_of(point: Point, course: Course, scale: _Scale, rows: int) -> int:
    """Return the row of a point; it is inside the rows of the band only where it is inside the band."""
    seconds = point.drawn_s
    row = scale.row(seconds, rows)
    low, high = (scale.row(at, rows) for at in course.band_s)
    if seconds < course.band_s[0]:
        return max(row, min(low + 1, rows - 1))
    return min(row, max(high - 1, 0)) if seconds > course.band_s[1] else row


def _is_free(plot: _Grid, row: int, column: int) -> bool:
    return 0 <= column < plot.width and plot.cells[row][plot.gutter + 1 + column] in " ░"


def _axis(columns: int, gutter: int, scale: _Scale) -> Iterator[Text]:
    """Yield the line of time, and the months under it."""
    grid = _Grid(columns, 2, gutter)
    for column in range(grid.width):
        grid.put(0, column, "─")
    taken = -2
    for day in _months(scale.first, scale.until):
        column = max(0, scale.column(day, grid.width))
        words = MONTHS[day.month - 1][:3] + (f" {day.year}" if day.month == 1 else "")
        if column > taken + 1 and column + len(words) <= grid.width:
            grid.put(0, column, "┴")
            for place, letter in enumerate(words):
                grid.put(1, column + place, letter)
            taken = column + len(words)
    yield from (Text("".join(row), no_wrap=True) for row in grid.cells)


def _months(first: datetime, until: datetime) -> Iterator[datetime]:
    """Yield the first moment, and the first of each month after it."""
    yield first
    day = first.replace(day=1, hour=0, minute=0, second=0, microsecond=0)
    while True:
        day = (day + timedelta(days=32)).replace(day=1)
        if day > until:
            return
        yield day


def _draw_steps(steps: _Grid, course: Course, scale: _Scale, shown: list[int]) -> None:
    """Draw at which rung each side was from one result to the next: left above, right below."""
    rows = {rung: len(shown) - 1 - place for place, rung in enumerate(shown)}
    for rung, row in rows.items():
        steps.name(row, course.rungs[rung])
    for side, points in course.sides.items():
        known = [point for point in points if point.counted]
        ends = [*(scale.column(point.at, steps.width) for point in known[1:]), steps.width - 1 - _MARGIN]
        for point, end in zip(known, ends, strict=False):
            for column in range(scale.column(point.at, steps.width), end + 1):
                if point.rung in rows:
                    _step(steps, rows[point.rung], column, side)


def _draw_lanes(grid: _Grid, lanes: Sequence[Lane], scale: _Scale) -> None:
    """Write the result of each day where it stands in time, the newest first; older ones where they fit."""
    for row, lane in enumerate(lanes):
        grid.name(row, lane.name)
        free = grid.width
        for at, words in reversed(lane.days):
            begin = min(scale.column(at, grid.width), grid.width - len(words))
            if begin >= 0 and begin + len(words) <= free:
                for place, letter in enumerate(words):
                    grid.put(row, begin + place, letter)
                free = begin - 1


def _step(steps: _Grid, row: int, column: int, side: Side) -> None:
    was = steps.cells[row][steps.gutter + 1 + column]
    sign = {"both": "▀", "left": "▀", "right": "▄"}[side]
    steps.put(row, column, "█" if was in "▀▄█" and was != sign else sign)


class _Weeks(NamedTuple):
    """What is known of the exercises of a program, and what is said of them and of its function tests."""

    courses: list[Course]
    sentences: dict[str, list[str]]
    paused: frozenset[str]
    lanes: tuple[Lane, ...]
    tests: list[str]


class ExerciseScreen(ReviewScreen):
    """Shows one exercise of a program; left and right turn to the others."""

    DEFAULT_CSS = """
    ExerciseScreen #sentence { max-height: 8; }
    ExerciseScreen #curve { height: 1fr; padding: 0 1; margin: 1 0 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,pageup", "turn(-1)", "before", key_display="←"),
        Binding("right,pagedown", "turn(1)", "next", key_display="→"),
        Binding("plus", "span(-1)", "fewer weeks", key_display="+"),
        Binding("minus", "span(1)", "more weeks", key_display="-"),
        Binding("r,R", "restore", "restore"),
    ]

    def __init__(self, review: Review, program: Program, exercise: str | None = None) -> None:
        super().__init__(review)
        self._program, self._wanted = program, exercise
        self._weeks = _Weeks([], {}, frozenset(), (), [])
        self._at, self._span = 0, 1

    def content(self) -> ComposeResult:
        """Lay out the sentences, the curve and its legend."""
        yield Static("", id="sentence", classes="said", markup=False)
        yield Static("", id="curve", markup=False)
        yield Static("", id="legend", classes="said", markup=False)

    def on_mount(self) -> None:
        """Work out the weeks."""
        self.head(self._program.title)
        self.query_one("#sentence", Static).update("working it out ...")
        self.call_after_refresh(self._work_out)

    @work(exclusive=True)
    async def _work_out(self) -> None:
        self._weeks = await asyncio.to_thread(self._worked_out)
        found = self._weeks.courses
        at = [n for n, each in enumerate(found) if each.exercise == self._wanted]
        self._at = at[0] if at else min(self._at, max(0, len(found) - 1))
        self._show()

    def _worked_out(self) -> _Weeks:
        from holdtimer.progression.trend import trend  # with what it needs, only here
        from holdtimer.report.trend import strength_of

        now, past = self.review.now(), self.review.sessions
        found = courses(self._program, past)
        known = trend(self._program, past, now)
        sentences = {each.exercise: trend_words(known, each.exercise) for each in found}
        tested = self.review.tested()
        said = [f"{test_name(each, self._program)}: {each.sentence}" for each in tested]
        said += filter(None, [beside_words(tested, strength_of(known))])
        paused = self.review.paused(self._program)
        return _Weeks(found, sentences, paused, lanes(tested, self._program), said)

    def _show(self) -> None:
        self.refresh_bindings()
        if not self._weeks.courses:
            self.query_one("#sentence", Static).update("no result yet")
            return
        course, span = self._weeks.courses[self._at], SPANS[self._span]
        self._wanted = course.exercise
        self.head(f"{course.name}   {self._at + 1} of {len(self._weeks.courses)}, {span_words(span)}")
        self.query_one("#sentence", Static).update(Text("\n".join(self._weeks.sentences[course.exercise])))
        self.query_one("#legend", Static).update(Text("\n".join((legend(self._shown()), *self._weeks.tests))))
        self.call_after_refresh(self._draw)

    def _shown(self) -> Course:
        """Return the part of the course that is shown."""
        span = SPANS[self._span]
        return self._weeks.courses[self._at].since(None if span is None else self.review.now() - span)

    def _draw(self) -> None:
        if self._weeks.courses:
            field, quiet = self.query_one("#curve", Static), self.app.theme_variables["quiet"]
            columns, rows = field.size.width - 2, field.size.height
            lines = curve(columns, rows, self._shown(), self.review.now(), quiet, self._weeks.lanes)
            field.update(Text("\n").join(lines))

    def on_resize(self) -> None:
        """Draw the curve as large as there is room."""
        self.call_after_refresh(self._draw)

    def action_turn(self, by: int) -> None:
        """Turn to another exercise."""
        if self._weeks.courses:
            self._at = (self._at + by) % len(self._weeks.courses)
            self._show()

    def action_span(self, by: int) -> None:
        """Show more or fewer weeks."""
        self._span = min(max(self._span + by, 0), len(SPANS) - 1)
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Offer a restore only for what is paused."""
        if action == "restore":
            return bool(self._weeks.courses) and self._weeks.courses[self._at].exercise in self._weeks.paused
        return True

    @work(group="ask")
    async def action_restore(self) -> None:
        """Ask whether the pain that paused this exercise is gone or was checked."""
        review, program, exercise = self.review, self._program, self._weeks.courses[self._at].exercise
        is_restored = await self.ask_in_thread(
            lambda ask: restore(review.data, review.person, program, review.now(), exercise, ask)
        )
        self.say("restored" if is_restored else "still paused")
        await asyncio.to_thread(review.read)
        self._work_out()
