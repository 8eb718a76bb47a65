"""The app of the review, and its first screen: all sessions by date, the last eight weeks, what is due."""

import asyncio
import os
import signal
from collections.abc import Sequence
from functools import partial
from typing import ClassVar

from rich.text import Text
from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.driver import Driver
from textual.widgets import Input, Static

from holdtimer.errors import ExitCode, HoldtimerError
from holdtimer.live.answers import Debrief
from holdtimer.live.preflight import release_hold
from holdtimer.live.review import Review
from holdtimer.program.models import Program
from holdtimer.progression.due import Due
from holdtimer.report.review import SessionRow, Week, day_of_year, last_weeks, matching, session_row
from holdtimer.report.table import wrapped
from holdtimer.report.text import script_title
from holdtimer.screens.app import ThemedApp
from holdtimer.screens.review.base import ReviewScreen, Rows
from holdtimer.screens.review.exercise import ExerciseScreen
from holdtimer.screens.review.session import PastSessionScreen
from holdtimer.screens.themes import EVENING
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted

_DAY_SIGNS = {"hard": "█", "early": "!", "easy": "▄", "recovering": "─", "free": "·", "ahead": " "}
_LEGEND = "█ hard  ! hard, too early  ▄ easy  ─ recovering  · free"
_SCRIPT, _WIDE_SCRIPT, _WIDE_FROM = 23, 40, 100  # columns
_OTHERS = 34  # columns before the remarks, beside those of the script
_LEAST_REMARKS = 22  # columns: the longest remark fits
_UNBROKEN = "\xa0"


def strip_of_weeks(weeks: Sequence[Week], columns: int) -> list[str]:
    """Draw weeks beside each other, as wide as there is room: their Mondays, days, and hard sessions."""
    each = max(7, columns // len(weeks) - 2)
    day = max(1, each // 7)
    each = day * 7
    strips = ["".join(_DAY_SIGNS[kind] * day for kind in week.days) for week in weeks]
    rows = (
        [f"{day_of_year(week.monday)}"[:each].ljust(each) for week in weeks],
        [strip if day == 1 else _spaced(strip, day) for strip in strips],
        [f"{week.hard} hard".ljust(each) if week.hard else " " * each for week in weeks],
    )
    return ["  ".join(cells).rstrip() for cells in rows]


def _spaced(strip: str, day: int) -> str:
    """Leave air between days that are wider than one column."""
    days = [strip[at : at + day] for at in range(0, len(strip), day)]
    return "".join(_wide_day(one) for one in days)


def _wide_day(day: str) -> str:
    if day[0] == "─":
        return day
    return day[0].ljust(len(day)) if day[0] in "·!" else day[:-1] + " "


def row_lines(row: SessionRow, columns: int) -> list[Text]:
    """Return a session as one line, more where its remarks need them."""
    room = _script_room(columns)
    script = row.script if len(row.script) <= room else row.script[: room - 1] + "…"
    line = f" {row.date:>15}  {row.time:5}  {script:{room}}  {row.sets:>5}  "
    first, *others = _remarks(row, columns)
    return [Text(each, no_wrap=True) for each in (line + first, *(" " * len(line) + each for each in others))]


def _script_room(columns: int) -> int:
    return _SCRIPT if columns < _WIDE_FROM else _WIDE_SCRIPT


def _remarks(row: SessionRow, columns: int) -> list[str]:
    """Return the remarks in as many lines as they need, none of them broken."""
    if not row.marks:
        return [""]
    whole = ", ".join(mark.replace(" ", _UNBROKEN) for mark in row.marks)
    lines = wrapped(whole, max(_LEAST_REMARKS, columns - _OTHERS - _script_room(columns)))
    return [line.replace(_UNBROKEN, " ") for line in lines]


_HEADER = SessionRow("", None, "date", "time", "script", "count", ("remarks",))


class SessionsScreen(ReviewScreen):
    """The list of sessions; a date that is typed narrows it."""

    DEFAULT_CSS = """
    SessionsScreen #strip { height: auto; padding: 0 1; margin: 1 0 0 0; }
    SessionsScreen #columns { height: 1; text-style: bold; margin: 1 0 0 0; }
    SessionsScreen #date { display: none; height: 1; border: none; padding: 0 1; }
    SessionsScreen #date { background: $ink; color: $field; }
    SessionsScreen #date.-typed { display: block; }
    SessionsScreen #date .input--cursor { background: $field; color: $ink; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "open", key_display="Enter"),
        Binding("slash", "search", "find", key_display="/"),
        Binding("e,E", "exercises", "exercises"),
        Binding("h,H", "release", "end the hold"),
        Binding("f5", "read", "read again", key_display="F5"),
        Binding("escape", "back", "leave", show=False),
        Binding("q,Q", "back", "leave"),
    ]

    def __init__(self, review: Review, first: str | None = None) -> None:
        super().__init__(review)
        self._first = first
        self._is_opening = False
        self._rows: list[SessionRow] = []
        self._shown: list[SessionRow] = []
        self._weeks: list[Week] = []
        self._program: Program | None = None
        self._due: Due | None = None
        self._worked_out: tuple[SessionSummary, ...] = ()  # the sessions that are shown

    def content(self) -> ComposeResult:
        """Lay out the weeks, the search and the list."""
        yield Static("", id="due", classes="said", markup=False)
        yield Static("", id="strip", markup=False)
        yield Input(
            placeholder="a date: 24 nov, 2026-11 or 24.11.", id="date", max_length=40, select_on_focus=False
        )
        yield Static("", id="columns", markup=False)
        yield Rows(self._lines, self._height, id="sessions")

    def on_mount(self) -> None:
        """Read what there is."""
        self.head(f"Review: {self.review.person}")
        self.query_one("#due", Static).update("reading ...")
        self.query_one(Rows).focus()
        self.action_read()

    def on_screen_resume(self) -> None:
        """Show what was changed meanwhile."""
        if self._rows and self.review.sessions is not self._worked_out:
            self.run_worker(self._work_out(), exclusive=True, group="read")

    @work(exclusive=True, group="read")
    async def action_read(self) -> None:
        """Read all sessions again."""
        await asyncio.to_thread(self.review.read)
        await self._work_out()

    async def _work_out(self) -> None:
        self._worked_out = self.review.sessions
        self._show(*await asyncio.to_thread(self._all_shown))

    def _all_shown(self) -> tuple[list[SessionRow], list[Week], Program | None, Due | None]:
        """Work out in a thread all that is shown."""
        review = self.review
        program = review.program_now()
        sessions = review.newest_first()
        rows = [session_row(each, review.program(each.program)) for each in sessions]
        recovery_h = program.spacing.recovery_h if program is not None else 48.0
        weeks = last_weeks(sessions, review.now(), recovery_h)
        return rows, weeks, program, review.due(program) if program is not None else None

    def _show(
        self, rows: list[SessionRow], weeks: list[Week], program: Program | None, coming: Due | None
    ) -> None:
        self._rows, self._weeks, self._program, self._due = rows, weeks, program, coming
        self.query_one("#due", Static).update(Text(_due_words(program, coming, self.review)))
        self._show_strip()
        self._narrow(self.query_one("#date", Input).value)
        self.refresh_bindings()
        if self._first is not None:
            first, self._first = self._first, None
            self._open_session(first)

    def on_resize(self) -> None:
        """Draw the weeks as wide as there is room."""
        self._show_strip()

    def _show_strip(self) -> None:
        columns = self.app.size.width
        if self._weeks:
            lines = [*strip_of_weeks(self._weeks, columns - 2), _LEGEND]
            self.query_one("#strip", Static).update(Text("\n".join(lines), no_wrap=True))
        self.query_one("#columns", Static).update(row_lines(_HEADER, columns)[0])

    def _lines(self, index: int, columns: int) -> list[Text]:
        return row_lines(self._shown[index], columns)

    def _height(self, index: int, columns: int) -> int:
        return len(_remarks(self._shown[index], columns))

    # -- a date

    def on_key(self, event: events.Key) -> None:
        """Begin a date with its first digit; what was typed before the field had the keyboard follows it."""
        field, rows = self.query_one("#date", Input), self.query_one(Rows)
        begins = self.focused is rows and event.key.isdigit()
        if not event.is_printable or not (begins or self.focused is field):
            return
        if begins:
            field.value = ""
            self.action_search()
        field.value += event.character or ""
        field.cursor_position = len(field.value)
        event.stop()

    def action_search(self) -> None:
        """Type a date."""
        field = self.query_one("#date", Input)
        field.add_class("-typed")
        self.set_focus(field)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Narrow the list to the dates that fit."""
        self._narrow(event.value)

    def on_input_submitted(self) -> None:
        """Go on in the list."""
        self.query_one(Rows).focus()

    def _narrow(self, typed: str) -> None:
        rows = self.query_one(Rows)
        marked = self._shown[rows.marked].session if self._shown else None
        self._shown = matching(self._rows, typed)
        at = next((n for n, row in enumerate(self._shown) if row.session == marked), 0)
        rows.show(len(self._shown), at)
        found = counted(len(self._rows), "session")
        if typed.strip():
            found = f"{len(self._shown)} of {found} fit {typed.strip()!r}; Esc shows all"
        self.head(f"Review: {self.review.person}, {found}")

    def action_back(self) -> None:
        """Show all dates again, or leave."""
        field = self.query_one("#date", Input)
        if field.has_class("-typed"):
            field.remove_class("-typed")
            field.value = ""
            self.query_one(Rows).focus()
        else:
            self.app.exit(0)

    # -- further

    def action_open(self) -> None:
        """Open the marked session."""
        if self._shown:
            self._open_session(self._shown[self.query_one(Rows).marked].session)

    @work(group="open")
    async def _open_session(self, session: str) -> None:
        if self._is_opening:  # Enter came twice
            return
        self._is_opening = True
        try:
            debrief = await asyncio.to_thread(self.review.open, session)
        except HoldtimerError as error:
            self.say(str(error))
        else:
            self.app.push_screen(PastSessionScreen(self.review, debrief), partial(self._leave, debrief))
        self._is_opening = False

    def _leave(self, debrief: Debrief, _: None) -> None:
        self._close(debrief)

    @work(group="close")
    async def _close(self, debrief: Debrief) -> None:
        """Close the file of answers about a session."""
        if not await asyncio.to_thread(self.review.close, debrief):
            self.say("not all answers are saved yet: you will see where they are when you leave")

    def action_exercises(self) -> None:
        """Show the exercises over the weeks."""
        if self._program is not None:
            self.app.push_screen(ExerciseScreen(self.review, self._program))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Offer a release only where something is on hold."""
        if action == "release":
            return self._due is not None and self._due.hold is not None
        return True

    @work(group="ask")
    async def action_release(self) -> None:
        """Ask in two steps whether what holds every program has settled or was checked."""
        review, program = self.review, self._program
        if program is None:
            return
        is_free = await self.ask_in_thread(
            lambda ask: release_hold(review.data, review.person, program, review.now(), ask)
        )
        self.say("hold ended: you can train again" if is_free else "still on hold")
        self.action_read()


def _due_words(program: Program | None, coming: Due | None, review: Review) -> str:
    damaged = f"; {counted(len(review.damage), 'fault')} in the files: `holdtimer next` lists them"
    said = damaged if review.damage else ""
    if program is None or coming is None:
        has_trained = any(each.results for each in review.sessions)
        lost = "the program you trained with can no longer be read" if has_trained else "no training yet"
        return f"{lost}{said}"
    return f"due next: {script_title(program, coming.script)}, {coming.when}{said}"


_CSS = """
Footer { background: $field; color: $ink; }
Footer FooterKey { background: $field; color: $ink; }
Footer FooterKey .footer-key--key { background: $ink; color: $field; padding: 0 1; }
Footer FooterKey .footer-key--description { background: $field; color: $ink; padding: 0 1 0 0; }
Footer FooterKey:hover { background: $field; color: $ink; text-style: underline; }
Footer FooterKey.-disabled-binding { display: none; }
Toast { background: $ink; color: $field; border: none; padding: 0 1; width: auto; max-width: 76; }
"""


class ReviewApp(ThemedApp):
    """Shows the sessions of one person; begins with one of them where its id is given."""

    CSS = _CSS
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q,ctrl+c", "leave", show=False, priority=True)]

    def __init__(self, review: Review, first: str | None = None, theme: str = EVENING.name) -> None:
        super().__init__(theme)
        self._review, self._first = review, first

    def get_driver_class(self) -> type[Driver]:
        """Return what reads keys: one that outlives whatever a terminal sends, where it can be had."""
        try:
            from holdtimer.screens.review.terminal import ReviewTerminal
        except ImportError:
            return super().get_driver_class()
        return ReviewTerminal

    def on_mount(self) -> None:
        """Show the sessions; give the terminal back whatever ends the program."""
        codes = {"SIGTERM": ExitCode.TERMINATED, "SIGHUP": ExitCode.HANG_UP}
        for name, code in codes.items():
            if hasattr(signal, name) and os.name == "posix":
                loop = asyncio.get_running_loop()
                loop.add_signal_handler(getattr(signal, name), partial(self.exit, code, code))
        self.push_screen(SessionsScreen(self._review, self._first))

    def action_leave(self) -> None:
        """Leave from wherever it is."""
        self.exit(0)
