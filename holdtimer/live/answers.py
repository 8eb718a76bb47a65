"""Answers given after a session is closed: in a file of their own, made with the first of them."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from holdtimer import __version__
from holdtimer.files import within
from holdtimer.log.clocks import take_anchor
from holdtimer.log.folder import new_session_id, session_folder, started_at
from holdtimer.log.history import read_summaries
from holdtimer.log.writer import LogWriter
from holdtimer.program.models import Program
from holdtimer.progression.due import Due, due
from holdtimer.report.session import SessionReport, program_of, report_on
from holdtimer.session.corrections import Question, corrected, next_redo, next_undo, questions
from holdtimer.session.events import Anchor, Answer, AnyEvent, Closed, Opened
from holdtimer.session.state import Session
from holdtimer.session.summary import SessionSummary, summarize


class AnswerBook:
    """Writes the answers about one session; there is no file before the first of them."""

    def __init__(self, data: Path, session: Opened, earlier: Sequence[Answer] = ()) -> None:
        self._data = data
        self._about = session
        self.earlier = tuple(earlier)  # answers known about the session, in other files
        self.writer: LogWriter | None = None
        self._id = ""
        self._n = 0
        self.answers: tuple[Answer, ...] = ()
        self.is_written = True  # whether every answer is in the file, once it is closed

    def say(self, **fields: Any) -> Answer:
        """Write down one answer (`field`, `value`, and `set` or `of`) and return it."""
        if self.writer is None:
            self._begin()
        answer = Answer(n=self._n, t=0.0, id=f"{self._id}:{self._n}", session=self._about.session, **fields)
        self._write(answer)
        self.answers += (answer,)
        return answer

    def close(self) -> bool:
        """Close the file; return whether every answer is in it."""
        if self.writer is not None:
            self._write(Closed(n=self._n, t=0.0, reason="finished"))
            self.is_written = self.writer.close()
        return self.is_written

    def save_elsewhere(self, data: Path) -> bool:
        """Write every answer, once closed, into another data folder; return whether all are there."""
        if self.writer is not None:
            self.writer.move_to(self._folder(data))
            self.is_written = self.writer.close()
        return self.is_written

    def _folder(self, data: Path) -> Path:
        return session_folder(data, self._about.person, rehearsal=self._about.speed != 1)

    def _not_before(self, now: datetime) -> datetime:
        """Return a time after the files of all answers known: the last word is the one said last.

        The clock of another machine that shares the folder may run ahead of ours.
        """
        known = (started_at(each.id.partition(":")[0]) for each in self.earlier)
        latest = max((each for each in known if each is not None), default=None)
        return now if latest is None else max(now, latest + timedelta(seconds=1))

    def _begin(self) -> None:
        self._id = new_session_id(self._not_before(datetime.now(UTC)))
        self.writer = LogWriter(self._folder(self._data), self._id)
        reading = take_anchor()
        self._write(
            Opened(
                n=0,
                t=0.0,
                kind="answers",
                session=self._id,
                about=self._about.session,
                person=self._about.person,
                program=self._about.program,
                speed=self._about.speed,
                mono_ns=reading.mono_ns,
                version=__version__,
            )
        )
        self._write(Anchor(n=1, t=0.0, why="opening", **reading._asdict()))

    def _write(self, event: AnyEvent) -> None:
        if self.writer is not None:
            self.writer.append(event)
            self._n = event.n + 1


READ_WAIT_S = 5.0  # the longest a disk is waited for once a session is over


class Debrief:
    """One session that is over, and the answers about it: `earlier` are those it already has.

    `past` are the sessions of the person; where they are not given they are read from `data`, and where the
    disk does not answer in time it `is_alone`, and there are no verdicts. What the answers change is asked of
    `program`, the session's own as it was then where none is given. Answers go into the data folder too, or
    into the folder `to`. Raises ValueError where the session was never opened.
    """

    def __init__(
        self,
        data: Path,
        session: Session,
        earlier: tuple[Answer, ...] = (),
        to: Path | None = None,
        *,
        past: Iterable[SessionSummary] | None = None,
        program: Program | None = None,
    ) -> None:
        if session.opened is None:
            raise ValueError("a session that was never opened has no results")
        self.opened = opened = session.opened
        self.logged = session
        self.book = AnswerBook(to or data, opened, earlier)
        self._program = program_of(opened.program_text, opened.session)
        self.program = program or self._program
        if past is None:
            with suppress(OSError):
                past = within(
                    READ_WAIT_S, lambda: read_summaries(data, opened.person, rehearsals=True).sessions
                )
        self.is_alone = past is None
        self._others = tuple(each for each in past or () if each.session != opened.session)

    @property
    def earlier(self) -> tuple[Answer, ...]:
        """The answers that are in other files than the one of this book."""
        return self.book.earlier

    @property
    def answers(self) -> tuple[Answer, ...]:
        """All answers, in the order they were given."""
        return self.earlier + self.book.answers

    def learn(self, answers: Iterable[Answer], past: Iterable[SessionSummary]) -> None:
        """Take over what was answered meanwhile, elsewhere or by another screen."""
        self._others = tuple(each for each in past if each.session != self.opened.session)
        own = {each.id for each in self.book.answers}
        self.book.earlier = tuple(each for each in answers if each.id not in own)

    def summary(self, answers: Iterable[Answer] | None = None) -> SessionSummary:
        """Return what the session adds up to with these answers, all there are when left out."""
        past = summarize(self.logged, self.answers if answers is None else answers)
        assert past is not None  # noqa: S101 - it was opened
        return past

    def state(self, answers: Iterable[Answer] | None = None) -> Session:
        """Return the session with these answers, all there are when left out, true from the start."""
        return corrected(self.logged, self.answers if answers is None else answers)

    def report(self) -> SessionReport:
        """Return the session as it is now, all answers in force."""
        return report_on(self.summary(), None if self.is_alone else self._others, self._program)

    def coming(self, now: datetime, answers: Iterable[Answer] | None = None) -> Due | None:
        """Return what is due at `now` with these answers in force, next time this script is done.

        None where the program is lost.
        """
        if self.program is None:
            return None
        known = any(script.id == self.opened.script for script in self.program.scripts)
        script = self.opened.script if known else None
        return due(self.program, (*self._others, self.summary(answers)), now, script)

    def questions(self, number: int) -> list[Question]:
        """Return the questions about the set with this number."""
        return [question for each in self.state().sets if each.set == number for question in questions(each)]

    def waits(self, number: int) -> bool:
        """Whether a set waits for an answer before it can count: silence, or perhaps a slip."""
        return any(question.waits for question in self.questions(number))

    def answer(self, question: Question) -> None:
        """Write down the value that the question has now."""
        self.book.say(**question.answer())

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to take back."""
        return next_undo(self.answers) is not None

    @property
    def can_redo(self) -> bool:
        """Whether there is a change to bring back."""
        return next_redo(self.answers) is not None

    def undo(self) -> Answer | None:
        """Take back the newest change that stands, and return it; None where there is none."""
        change = next_undo(self.answers)
        if change is not None:
            self.book.say(field="undo", value=change.id)
        return change

    def redo(self) -> Answer | None:
        """Bring back the change that was undone last, and return it; None where there is none."""
        found = next_redo(self.answers)
        if found is None:
            return None
        undoing, change = found
        self.book.say(field="undo", value=undoing.id)
        return change
