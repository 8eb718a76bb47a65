"""What is said of a session once it is closed: its results, and the answers that put them right."""

from pathlib import Path

from holdtimer.live.answering import AnswerBook
from holdtimer.log.past import read_past
from holdtimer.report.told import Told, program_of, tell
from holdtimer.session.corrections import corrected
from holdtimer.session.events import Answer
from holdtimer.session.past import past_session
from holdtimer.session.questions import Question, questions
from holdtimer.session.state import Session


class Debrief:
    """One closed session and what is answered of it; `earlier` are answers it already has.

    Raises ValueError where the session was never opened.
    """

    def __init__(self, data: Path, session: Session, earlier: tuple[Answer, ...] = ()) -> None:
        if session.opened is None:
            raise ValueError("a session that was never opened has no results")
        opened = session.opened
        self._session = session
        self._earlier = earlier
        self.book = AnswerBook(data, opened)
        self._program = program_of(opened.program_text, opened.session)
        past = read_past(data, opened.person).sessions
        self._others = tuple(each for each in past if each.session != opened.session)

    @property
    def answers(self) -> tuple[Answer, ...]:
        """All that was answered, in the order it was."""
        return self._earlier + self.book.answers

    def told(self) -> Told:
        """Return the session as it is told now."""
        past = past_session(self._session, self.answers)
        if past is None:
            raise ValueError("a session that was never opened has no results")
        return tell(past, self._others, self._program)

    def questions(self, number: int) -> list[Question]:
        """Return what can be asked about the set with this number."""
        sets = corrected(self._session, self.answers).sets
        return [question for each in sets if each.number == number for question in questions(each)]

    def asks(self, number: int) -> bool:
        """Whether a set waits for an answer before it can count: silence, or perhaps a slip."""
        return any(question.waits for question in self.questions(number))

    def answer(self, question: Question) -> None:
        """Write down what the question now says."""
        self.book.say(**question.answer())
