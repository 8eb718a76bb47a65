"""What is asked before a function test, and where a no leads.

Each question is a statement that a tap calls true; silence is a no. Every published sheet of these tests
takes a second person for granted, so that what is done alone is our own reading: chair tests by who can say
yes to all of it, a walk at usual pace by who has not fallen and walks indoors alone every day. Up-and-go, a
fast walk and what a helper presses are never done alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from holdtimer.program.timeline import PlannedTest
from holdtimer.session.state import Session
from holdtimer.session.trial_events import Leads

ANSWER_S = 30.0  # after so long with no answer it is a no


@dataclass(frozen=True, slots=True)
class SafetyQuestion:
    """A statement to call true, short and in full, where a no leads, and what is said then."""

    id: str
    headline: str
    detail: str
    no: Leads
    advice: str

    @property
    def statement(self) -> str:
        """All of it, to be read or heard in one go."""
        return f"{self.headline}. {self.detail}"


_SAFELY = "A physiotherapist can test this safely."
_OTHER_AID = "Not today: with another aid it is another test. Change it in the program first."
_NOT_ALONE = "Then only with somebody beside you."
_SET_UP = "Set it up, then tap."

_WELL = SafetyQuestion(
    "well",
    "I feel as usual",
    "No fever, nothing new, no chest pain, not dizzy when I stand up.",
    "not-today",
    "Not today. Do it when you feel as usual; ask your doctor about what is new.",
)
_RESTED = SafetyQuestion(
    "rested",
    "I am rested",
    "No hard training, no long walk, no alcohol, no new medicine today.",
    "not-today",
    "Not today. Do it rested.",
)
_CLEARED = SafetyQuestion(
    "cleared",
    "No illness in the way",
    "In three months no heart trouble, clot, fracture, new joint, eye or hernia operation; or I was cleared.",
    "not-today",
    "Not today. Ask your doctor first.",
)
_ORDINARY = SafetyQuestion(
    "ordinary",
    "An ordinary day",
    "I slept, I am not worn out, it is not hot.",
    "off-day",
    "An off day: it is kept, and does not count.",
)
_FALL = SafetyQuestion("fall", "No fall in a year", "In twelve months I did not fall.", "helper", _NOT_ALONE)
_ALONE = SafetyQuestion("alone", "I walk alone daily", "Indoors, on my own, every day.", "helper", _NOT_ALONE)
_HELPER = SafetyQuestion(
    "helper",
    "My helper is here",
    "Beside me now, close enough to hold me.",
    "not-today",
    "Not today: not without a helper.",
)
_CHAIR = SafetyQuestion(
    "chair",
    "The chair is safe",
    "It is against the wall, a heavy table in front of me, a phone within reach.",
    "set-up",
    _SET_UP,
)
_LANE = SafetyQuestion(
    "lane",
    "The lane is clear",
    "Dry, along a wall or rail, with room to stop behind the line. My shoes are on.",
    "set-up",
    _SET_UP,
)
_LINE = SafetyQuestion(
    "line",
    "The floor is clear",
    "Dry up to the line, the chair against the wall. My shoes are on.",
    "set-up",
    _SET_UP,
)
_TURN = SafetyQuestion(
    "turn",
    "I can turn and sit",
    "Today I have turned round and sat down without a hand to help.",
    "not-today",
    f"Not today. {_SAFELY}",
)
_STAND_FREE = SafetyQuestion(
    "stand-free",
    "I get up without hands",
    "Once, and then I stand for 5 s without swaying.",
    "variant",
    "Then with hands on the armrests.",
)
_STAND_HANDS = SafetyQuestion(
    "stand-with-hands",
    "I get up with my hands",
    "Once, hands on the armrests, and then I stand for 5 s without swaying.",
    "not-today",
    f"Not today. {_SAFELY}",
)


def _aid(test: PlannedTest) -> SafetyQuestion:
    what = "Without an aid" if test.aid in (None, "none") else f"With {test.aid}"
    return SafetyQuestion(
        "aid", "I walk as always", f"{what}, as every time in this test.", "not-today", _OTHER_AID
    )


LASTING = frozenset(each.id for each in (_RESTED, _CLEARED, _ORDINARY, _FALL, _ALONE))
"""The questions whose yes holds for the session."""


ALL_NEED = frozenset(each.id for each in (_WELL, _RESTED, _CLEARED))
"""The questions whose no, where it is said and not only silence, puts all tests of the day off."""


_EVERY = (
    *(_WELL, _RESTED, _CLEARED, _ORDINARY, _FALL, _ALONE, _HELPER, _CHAIR, _LANE, _LINE, _TURN),
    *(_STAND_FREE, _STAND_HANDS),
)
_ADVICE = {each.id: each.advice for each in _EVERY}


def advice_after(name: str, leads: Leads | None) -> str:
    """Return what is said after a no to a question, by its id and by where the no leads."""
    if leads == "not-today" and name == _STAND_FREE.id:  # there is no easier test in this program
        return f"Not today. {_SAFELY}"
    return _ADVICE.get(name, _OTHER_AID)


def questions(test: PlannedTest) -> tuple[SafetyQuestion, ...]:
    """Return all that may be asked before a test, in order; the last is whether a helper is there."""
    first = (_WELL, _RESTED, _CLEARED, _ORDINARY)
    if test.protocol in ("chair-stand-30", "five-stands"):
        stand = _STAND_HANDS if test.variant == "hands" else _STAND_FREE
        return (*first, _FALL, _CHAIR, stand, _HELPER)
    if test.protocol == "up-and-go":
        return (*first, _LINE, _aid(test), _TURN, _HELPER)
    return (*first, _FALL, _ALONE, _LANE, _aid(test), _HELPER)


def never_alone(test: PlannedTest) -> bool:
    """Whether a test is done only with somebody beside."""
    return test.presser == "helper" or test.protocol == "up-and-go" or test.pace == "fast"


def _left(session: Session, test: PlannedTest) -> Iterator[SafetyQuestion]:
    """Yield what is still to be asked: once a helper is needed, no more whether one is."""
    said = {each.question for each in session.asked} | session.lasting
    needs_helper = never_alone(test) or any(each.leads == "helper" for each in session.asked)
    for each in questions(test):
        is_open = each.id not in said and not (each is _ORDINARY and session.off_day)
        is_called_for = needs_helper if each is _HELPER else not (needs_helper and each.no == "helper")
        if is_open and is_called_for:
            yield each


def next_question(session: Session, test: PlannedTest) -> SafetyQuestion | None:
    """Return what is to be asked next; None where all is answered."""
    return next(_left(session, test), None)


def question_of(test: PlannedTest, name: str) -> SafetyQuestion | None:
    """Return a question before a test by its id."""
    return next((each for each in questions(test) if each.id == name), None)


def place_of(session: Session, test: PlannedTest) -> tuple[int, int]:
    """Return which question is put, of how many as far as is known now."""
    done = len(session.asked)
    return done + 1, done + len(list(_left(session, test)))


def statements(test: PlannedTest) -> Iterator[str]:
    """Yield all that may be said before a test and after a no."""
    for each in questions(test):
        yield each.statement
        yield advice_after(each.id, each.no)
