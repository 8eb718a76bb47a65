"""One exercise over the weeks: what can be said of it first, then its results as a curve."""

from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from holdtimer.live.preflight import restore
from holdtimer.live.review import Review
from holdtimer.program.models import Program
from holdtimer.report.course import SPANS, Course, Lane, courses, lanes, span_words, test_name
from holdtimer.report.function import beside_words
from holdtimer.report.review import trend_words
from holdtimer.screens.review.base import ReviewScreen
from holdtimer.screens.review.curve import curve, legend


class ExerciseScreen(ReviewScreen):
    """Shows one exercise of a program; left and right turn to the others."""

    DEFAULT_CSS = """
    ExerciseScreen #sentence { max-height: 8; }
    ExerciseScreen #curve { height: 1fr; padding: 0 1; margin: 1 0 0 0; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,pageup", "turn(-1)", "exercise before", key_display="←"),
        Binding("right,pagedown", "turn(1)", "next exercise", key_display="→"),
        Binding("plus", "span(-1)", "nearer", key_display="+"),
        Binding("minus", "span(1)", "further", key_display="-"),
        Binding("r", "restore", "restore"),
        Binding("escape", "back", "back", key_display="Esc"),
    ]

    def __init__(self, review: Review, program: Program, exercise: str | None = None) -> None:
        super().__init__(review)
        self._program, self._wanted = program, exercise
        self._courses: list[Course] = []
        self._sentences: dict[str, list[str]] = {}
        self._paused: frozenset[str] = frozenset()
        self._lanes: tuple[Lane, ...] = ()  # function tests, and what is said of them
        self._tests: list[str] = []
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

    @work(thread=True, exclusive=True)
    def _work_out(self) -> None:
        from holdtimer.progression.trend import trend  # with what it needs, only here
        from holdtimer.report.trend import strength_of

        now, past = self.review.now(), self.review.sessions
        found = courses(self._program, past)
        known = trend(self._program, past, now)
        sentences = {each.exercise: trend_words(known, each.exercise) for each in found}
        tested, paused = self.review.tested(), self.review.paused(self._program)
        self._lanes = lanes(tested, self._program)
        self._tests = [f"{test_name(each, self._program)}: {each.sentence}" for each in tested]
        if tested and (strength := strength_of(known)):
            self._tests.append(beside_words(tested, strength))
        self.app.call_from_thread(self._take, found, sentences, paused)

    def _take(self, found: list[Course], sentences: dict[str, list[str]], paused: frozenset[str]) -> None:
        self._courses, self._sentences, self._paused = found, sentences, paused
        at = [n for n, each in enumerate(found) if each.exercise == self._wanted]
        self._at = at[0] if at else min(self._at, max(0, len(found) - 1))
        self._show()

    def _show(self) -> None:
        self.refresh_bindings()
        if not self._courses:
            self.query_one("#sentence", Static).update("no result yet")
            return
        course, span = self._courses[self._at], SPANS[self._span]
        self._wanted = course.exercise
        self.head(f"{course.name}   {self._at + 1} of {len(self._courses)}, {span_words(span)}")
        self.query_one("#sentence", Static).update(Text("\n".join(self._sentences[course.exercise])))
        self.query_one("#legend", Static).update(Text("\n".join((legend(self._shown()), *self._tests))))
        self.call_after_refresh(self._draw)

    def _shown(self) -> Course:
        """Return the part of the course that is shown."""
        span = SPANS[self._span]
        return self._courses[self._at].since(None if span is None else self.review.now() - span)

    def _draw(self) -> None:
        if self._courses:
            field, quiet = self.query_one("#curve", Static), self.app.theme_variables["quiet"]
            columns, rows = field.size.width - 2, field.size.height
            lines = curve(columns, rows, self._shown(), self.review.now(), quiet, self._lanes)
            field.update(Text("\n").join(lines))

    def on_resize(self) -> None:
        """Draw the curve as large as there is room."""
        self.call_after_refresh(self._draw)

    def action_turn(self, by: int) -> None:
        """Turn to another exercise."""
        if self._courses:
            self._at = (self._at + by) % len(self._courses)
            self._show()

    def action_span(self, by: int) -> None:
        """Show more or fewer weeks."""
        self._span = min(max(self._span + by, 0), len(SPANS) - 1)
        self._show()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Offer a restore only for what is paused."""
        if action == "restore":
            return bool(self._courses) and self._courses[self._at].exercise in self._paused
        return True

    @work(group="ask")
    async def action_restore(self) -> None:
        """Ask whether the pain that paused this exercise is gone or was checked."""
        review, program, exercise = self.review, self._program, self._courses[self._at].exercise
        is_restored = await self.ask_in_thread(
            lambda ask: restore(review.data, review.person, program, review.now(), exercise, ask)
        )
        self.say("restored" if is_restored else "still paused")
        self._read_again()

    @work(thread=True, exclusive=True)
    def _read_again(self) -> None:
        self.review.read()
        self.app.call_from_thread(self._work_out)
