"""Answers given after a session is closed: in a file of their own, made with the first of them."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from holdtimer import __version__
from holdtimer.files import within
from holdtimer.log.clocks import take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.history import read_summaries
from holdtimer.log.writer import LogWriter
from holdtimer.report.session import SessionReport, program_of, report_on
from holdtimer.session.corrections import Question, corrected, questions
from holdtimer.session.events import Anchor, Answer, AnyEvent, Closed, Opened
from holdtimer.session.state import Session
from holdtimer.session.summary import summarize


class AnswerBook:
    """Writes the answers about one session; there is no file before the first of them."""

    def __init__(self, data: Path, session: Opened) -> None:
        self._data = data
        self._about = session
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

    def _begin(self) -> None:
        self._id = new_session_id(datetime.now(UTC))
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
    """One closed session and the answers about it; `earlier` are answers it already has.

    What came before it is read from `data`; where the disk does not answer in time it `is_alone`, and there
    are no verdicts. Answers go there too, or into the folder `to`. Raises ValueError where the session was
    never opened.
    """

    def __init__(
        self, data: Path, session: Session, earlier: tuple[Answer, ...] = (), to: Path | None = None
    ) -> None:
        if session.opened is None:
            raise ValueError("a session that was never opened has no results")
        opened = session.opened
        self._session = session
        self._earlier = earlier
        self.book = AnswerBook(to or data, opened)
        self._program = program_of(opened.program_text, opened.session)
        try:
            past = within(READ_WAIT_S, lambda: read_summaries(data, opened.person, rehearsals=True).sessions)
        except OSError:
            past = None
        self.is_alone = past is None
        self._others = tuple(each for each in past or () if each.session != opened.session)

    @property
    def answers(self) -> tuple[Answer, ...]:
        """All answers, in the order they were given."""
        return self._earlier + self.book.answers

    def report(self) -> SessionReport:
        """Return the session as it is now, all answers in force."""
        past = summarize(self._session, self.answers)
        if past is None:
            raise ValueError("a session that was never opened has no results")
        return report_on(past, None if self.is_alone else self._others, self._program)

    def questions(self, number: int) -> list[Question]:
        """Return the questions about the set with this number."""
        sets = corrected(self._session, self.answers).sets
        return [question for each in sets if each.set == number for question in questions(each)]

    def waits(self, number: int) -> bool:
        """Whether a set waits for an answer before it can count: silence, or perhaps a slip."""
        return any(question.waits for question in self.questions(number))

    def answer(self, question: Question) -> None:
        """Write down the value that the question has now."""
        self.book.say(**question.answer())
