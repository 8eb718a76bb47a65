"""What one person has done, read for the review: sessions, what is due, and one session to put right."""

import gc
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path

from holdtimer.errors import NoSuchSessionError
from holdtimer.live.answers import AnswerBook, Debrief
from holdtimer.log.clocks import local_now
from holdtimer.log.history import read_answered, read_summaries
from holdtimer.log.lines import Damage
from holdtimer.log.reader import find_session
from holdtimer.program.models import Program
from holdtimer.progression.due import Due, due
from holdtimer.progression.function import FunctionTrend, function_days, function_trends
from holdtimer.progression.measurement import Group
from holdtimer.report.log import newest_first
from holdtimer.report.session import program_of
from holdtimer.session.summary import SessionSummary


class Review:
    """All sessions of a person. Each method may take its time: call it in a thread."""

    def __init__(
        self,
        data: Path,
        person: str,
        programs: Callable[[], Iterable[Program]] = tuple,
        now: Callable[[], datetime] = local_now,
        group: Group = "older-adults",
    ) -> None:
        """`programs` returns those whose files are there; others are as they were in their newest session.

        Function tests are judged by their error in this `group`.
        """
        self.data, self.person, self.now = data, person, now
        self.sessions: tuple[SessionSummary, ...] = ()
        self.damage: tuple[Damage, ...] = ()
        self._open: list[Debrief] = []
        self.unsaved: list[AnswerBook] = []  # books that could not be written, once closed
        self._read_programs, self._group = programs, group
        self._programs: dict[str, Program | None] = {}

    def read(self) -> None:
        """Read all sessions again, and the answers to those that are open: there may be more by now."""
        self._programs = {each.id: each for each in self._read_programs()}
        found = read_summaries(self.data, self.person, rehearsals=True)
        self.sessions, self.damage = found.sessions, found.damage
        for debrief in self._open:
            _, answers = read_answered(self.data, self.person, debrief.opened.session)
            debrief.learn(answers, self.sessions)
        gc.freeze()  # years of sessions are not looked through again at every collection

    def newest_first(self) -> list[SessionSummary]:
        """Return the sessions by their start; those without one last."""
        return newest_first(self.sessions)

    def program(self, name: str) -> Program | None:
        """Return a program by its id; None where its text is lost."""
        if name not in self._programs:
            newest = next((each for each in self.newest_first() if each.program == name), None)
            self._programs[name] = None if newest is None else self._as_it_was(newest)
        return self._programs[name]

    def _as_it_was(self, session: SessionSummary) -> Program | None:
        try:
            opened = find_session(self.data, self.person, session.session).opened
        except NoSuchSessionError:
            return None
        return None if opened is None else program_of(opened.program_text, session.session)

    def program_now(self) -> Program | None:
        """Return the program that was trained with last, else that of the last tests; None for neither."""
        names = dict.fromkeys(each.program for each in self.newest_first() if not each.rehearsal)
        known = [found for name in names if (found := self.program(name)) is not None]
        return next((each for each in known if each.exercises), known[0] if known else None)

    def due(self, program: Program) -> Due:
        """Return what is due now."""
        return due(program, self.sessions, self.now())

    def tested(self) -> tuple[FunctionTrend, ...]:
        """Return what each series of function tests says."""
        return function_trends(function_days(self.sessions), self._group)

    def paused(self, program: Program) -> frozenset[str]:
        """Return the exercises that are left out because of pain."""
        every = (due(program, self.sessions, self.now(), script.id) for script in program.scripts)
        return frozenset(
            each.exercise for coming in every for each in coming.sets if each.outlook.verdict.paused
        )

    def open(self, session: str) -> Debrief:
        """Return one session with the answers it has by now. Raises NoSuchSessionError where it is gone."""
        log, answers = read_answered(self.data, self.person, session)
        if log is None or log.opened is None:
            raise NoSuchSessionError(f"the log of session {session} is gone")
        debrief = Debrief(
            self.data, log.state(), answers, past=self.sessions, program=self.program(log.opened.program)
        )
        self._open.append(debrief)
        return debrief

    def take(self, debrief: Debrief) -> None:
        """Take over what the answers made of a session."""
        new = debrief.summary()
        if new not in self.sessions:
            self.sessions = tuple(new if each.session == new.session else each for each in self.sessions)

    def close(self, debrief: Debrief) -> bool:
        """Close the file of answers about a session; return whether all of them are in it."""
        self._open.remove(debrief)
        is_written = debrief.book.close()
        if not is_written:
            self.unsaved.append(debrief.book)
        return is_written

    def close_all(self) -> None:
        """Close what is still open."""
        for debrief in list(self._open):
            self.close(debrief)
