"""One session: each set with its ruler, how it ended, and what follows for next time."""

from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from holdtimer.errors import HoldtimerError
from holdtimer.live.answers import Debrief
from holdtimer.live.review import Review
from holdtimer.report.function import test_lines
from holdtimer.report.review import answer_words, marks_of, outcome_words
from holdtimer.report.session import SessionReport
from holdtimer.report.table import wrapped
from holdtimer.report.text import with_side
from holdtimer.screens.review.base import ReviewScreen, Rows
from holdtimer.screens.review.one_set import SetScreen
from holdtimer.screens.ruler import UNKNOWN, ruler_data, small_ruler
from holdtimer.session.events import Answer
from holdtimer.session.results import SetResult
from holdtimer.session.state import Session
from holdtimer.text import sanitize

_HEIGHT = 5


def past_set_lines(session: Session, report: SessionReport, result: SetResult, width: int) -> list[Text]:
    """Return a set as its name, its ruler, how it ended and what follows for next time."""
    name = with_side(report.titles.exercises.get(result.exercise, result.exercise), result.side)
    again = f", attempt {result.attempt}" if result.attempt > 1 else ""
    each = next((one for one in session.sets if one.set == result.set), None)
    drawn = small_ruler(width - 6, ruler_data(session, each) if each is not None else None)
    if result.ran_to_end and not result.confirmed:
        drawn = [row.translate(UNKNOWN) for row in drawn]
    said = outcome_words(result, report.verdicts.get(result.set))
    return [
        Text(f" {result.set}. {name}, {result.rung}{again}", style="bold"),
        *(Text(f"    {row}") for row in drawn),
        *map(Text, wrapped(said, width - 2, "    ")),
        Text(""),
    ][:_HEIGHT]


class PastSessionScreen(ReviewScreen):
    """The sets of one session; undo and redo walk all that was ever answered about it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "open the set", key_display="Enter"),
        Binding("o", "off_day", "off day"),
        Binding("u,ctrl+z", "undo", "undo"),
        Binding("U,ctrl+y", "redo", "redo", key_display="U"),
        Binding("escape", "back", "back", key_display="Esc"),
    ]

    def __init__(self, review: Review, session: str) -> None:
        super().__init__(review)
        self._session = session
        self._debrief: Debrief | None = None
        self._report: SessionReport | None = None
        self._state: Session | None = None
        self._shown_answers: tuple[Answer, ...] = ()
        self._can: object = None

    def content(self) -> ComposeResult:
        """Lay out the remarks and the sets."""
        yield Static("", id="remarks", classes="said", markup=False)
        yield Rows(self._lines, _HEIGHT, id="sets")

    def on_mount(self) -> None:
        """Read the session."""
        self.query_one(Rows).focus()
        self.call_after_refresh(self._open)

    @work(thread=True)
    def _open(self) -> None:
        try:
            debrief = self.review.open(self._session)
        except HoldtimerError as error:
            self.app.call_from_thread(self.say, str(error))
            self.app.call_from_thread(self.dismiss)
            return
        self._debrief = debrief
        self._prepare(debrief)

    def _prepare(self, debrief: Debrief) -> None:
        """Work out in a thread what is shown."""
        self._shown_answers = debrief.answers
        self.review.take(debrief)
        report, state = debrief.report(), debrief.state()
        self.app.call_from_thread(self._show, report, state)

    def _show(self, report: SessionReport, state: Session) -> None:
        self._report, self._state = report, state
        past = report.session
        when = "no date"
        if past.started is not None:
            until = f" to {past.ended:%H:%M}" if past.ended is not None and not past.date_only else ""
            when = f"{past.started:%A %Y-%m-%d}" + ("" if past.date_only else f" {past.started:%H:%M}{until}")
        self.head(f"{when}   {report.titles.program}: {report.titles.script}")
        remarks = ", ".join(marks_of(past)) or "nothing out of the ordinary"
        remarks += "" if past.results or past.tests else "; no set was started"
        lines = (remarks, *test_lines(past.tests, report.titles.tests))
        self.query_one("#remarks", Static).update(Text("\n".join(map(sanitize, lines))))
        self.query_one(Rows).show(len(past.results))
        can = self._debrief is not None and (self._debrief.can_undo, self._debrief.can_redo)
        if can != self._can:  # the footer is made again for it
            self._can = can
            self.refresh_bindings()

    def _lines(self, index: int, width: int) -> list[Text]:
        if self._report is None or self._state is None:
            return []
        return past_set_lines(self._state, self._report, self._report.session.results[index], width)

    def on_screen_resume(self) -> None:
        """Show what was changed meanwhile."""
        if self._debrief is not None and self._debrief.answers != self._shown_answers:
            self.call_after_refresh(self._again, self._debrief)

    @work(thread=True, exclusive=True, group="prepare")
    def _again(self, debrief: Debrief) -> None:
        self._prepare(debrief)

    def on_rows_chosen(self) -> None:
        """Open a set."""
        self.action_open()

    def action_open(self) -> None:
        """Open the marked set."""
        if self._debrief is not None and self._report is not None and self._report.session.results:
            number = self._report.session.results[self.query_one(Rows).marked].set
            self.app.push_screen(SetScreen(self.review, self._debrief, number))

    def action_off_day(self) -> None:
        """Say that this was an off day, or that it was none."""
        if self._debrief is not None and self._state is not None:
            self._debrief.book.say(field="off_day", value=not self._state.off_day)
            self._again(self._debrief)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Offer undo and redo where there is something."""
        if action in ("undo", "redo"):
            found = self._debrief is not None and getattr(self._debrief, f"can_{action}")
            return True if found else None
        return True

    def action_undo(self) -> None:
        """Take the newest change back."""
        if self._debrief is not None and (change := self._debrief.undo()):
            self.say(f"undone: {answer_words(change)}")
            self._again(self._debrief)

    def action_redo(self) -> None:
        """Bring back what was undone last."""
        if self._debrief is not None and (change := self._debrief.redo()):
            self.say(f"done again: {answer_words(change)}")
            self._again(self._debrief)

    def action_back(self) -> None:
        """Close the file of answers, and go back."""
        if self._debrief is not None:
            self.review.take(self._debrief)
            self._close(self._debrief)
        self.dismiss()

    @work(thread=True)
    def _close(self, debrief: Debrief) -> None:
        if not self.review.close(debrief):
            self.app.call_from_thread(
                self.say, "not all answers are saved yet: you will see where they are when you leave"
            )
