"""One session: each set with its ruler, how it ended, and what follows for next time."""

import asyncio
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Static

from holdtimer.live.answers import Debrief
from holdtimer.live.review import Review
from holdtimer.report.function import test_lines
from holdtimer.report.review import marks_of, outcome_words
from holdtimer.report.session import SessionReport
from holdtimer.report.table import wrapped
from holdtimer.report.text import with_side
from holdtimer.screens.review.base import UNDO_REDO, DebriefScreen, Rows
from holdtimer.screens.review.one_set import SetScreen
from holdtimer.screens.ruler import UNKNOWN, ruler_data, small_ruler
from holdtimer.session.results import SetResult
from holdtimer.session.state import Session
from holdtimer.text import sanitize


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
    ]


class PastSessionScreen(DebriefScreen):
    """The sets of one session."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "open the set", key_display="Enter"),
        Binding("o,O", "off_day", "off day"),
        *UNDO_REDO,
    ]

    def __init__(self, review: Review, debrief: Debrief) -> None:
        super().__init__(review, debrief)
        self._report: SessionReport | None = None
        self._state: Session | None = None

    def content(self) -> ComposeResult:
        """Lay out the remarks and the sets."""
        yield Static("", id="remarks", classes="said", markup=False)
        yield Rows(self._lines, lambda index, width: len(self._lines(index, width)), id="sets")

    def on_mount(self) -> None:
        """Show the session."""
        self.query_one(Rows).focus()
        self.changed()

    def changed(self) -> None:
        """Show all of the session again."""
        super().changed()
        self._prepare()

    @work(exclusive=True, group="prepare")
    async def _prepare(self) -> None:
        self._show(*await asyncio.to_thread(self._read))

    def _read(self) -> tuple[SessionReport, Session]:
        self.review.take(self.debrief)
        return self.debrief.report(), self.debrief.state()

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
        self.refresh_bindings()

    def _lines(self, index: int, width: int) -> list[Text]:
        if self._report is None or self._state is None:
            return []
        return past_set_lines(self._state, self._report, self._report.session.results[index], width)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what is done with sets only where there are any: nobody says off day after a test."""
        if action in ("open", "off_day"):
            return self._report is None or bool(self._report.session.results)
        return super().check_action(action, parameters)

    def action_open(self) -> None:
        """Open the marked set."""
        if self._report is not None and self._report.session.results:
            number = self._report.session.results[self.query_one(Rows).marked].set
            self.app.push_screen(SetScreen(self.review, self.debrief, number))

    def action_off_day(self) -> None:
        """Say that this was an off day, or that it was none."""
        if self._state is not None:
            self.debrief.book.say(field="off_day", value=not self._state.off_day)
            self.changed()
