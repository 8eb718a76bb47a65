"""The questions of the summary as lines of text, after a session."""

import contextlib
import sys

from holdtimer.live.answers import Debrief
from holdtimer.live.driver import TICK_S
from holdtimer.live.keys import Key, character
from holdtimer.live.plain import FOCUS, ask_page, say, value_text
from holdtimer.live.terminal import Keys, Leave
from holdtimer.report.pages import PageText
from holdtimer.report.review import seconds_typed
from holdtimer.report.text import set_words
from holdtimer.session.corrections import Question, Value
from holdtimer.session.debounce import PageTaps, Settings
from holdtimer.session.events import MAX_TEXT
from holdtimer.sound.player import steady

NOBODY_S = 30.0  # with no key for this long nobody is there to answer
_DOUBTS = ("slip", "ran_to_end", "failed_about")
_HOW = {
    "yes-no": "y: yes, n: no, Page Up or Page Down: step; Enter or a tap: skip",
    "scale": "a number from 0 to 10 and Enter, or Page Up and Page Down; Enter or a tap alone: skip",
    "seconds": "seconds and Enter, or Page Up and Page Down; Enter or a tap alone: skip",
    "text": "words and Enter; Enter alone: skip",
}
_STEPS = {"pageup": 1, "pagedown": -1}  # what a clicker sends
_MORE = PageText(
    "How were the sets?",
    (
        "For each set: effort, form, pain and a note.",
        f"With no key for {NOBODY_S:g} s this ends.",
    ),
    "close",
    (("y", "answer now"),),
)


class _EnoughError(Exception):
    """Nobody answers any more, or somebody has had enough."""


class _Answering:
    """Keys for as long as somebody presses one now and then."""

    def __init__(self, keys: Keys) -> None:
        self._keys = keys
        self._heard_at = steady()

    def take(self, wait_s: float) -> list[Key | Leave]:
        """Return what came. Raises _EnoughError where the input ends, or nobody is there."""
        given = self._keys.take(wait_s)
        if given:
            self._heard_at = steady()
        if any(isinstance(each, Leave) for each in given) or steady() - self._heard_at > NOBODY_S:
            raise _EnoughError
        return given


class PlainDebrief:
    """Asks about the sets of a closed session: what is in doubt first, then the rest for those who like.

    Enter or a tap skips a question; Escape, the end of the input and half a minute with no key skip all that
    are left.
    """

    def __init__(self, keys: Keys, debrief: Debrief, settings: Settings | None = None) -> None:
        self._keys = _Answering(keys)
        self._debrief = debrief
        self._settings = settings

    def run(self) -> None:
        """Ask all there is to ask."""
        numbers = [result.set for result in self._debrief.report().session.results]
        with contextlib.suppress(_EnoughError):
            for number in numbers:
                self._ask_about(number, are_doubts=True)
            if numbers and ask_page(self._keys, _MORE, self._settings) == "y":
                for number in numbers:
                    self._ask_about(number, are_doubts=False)

    def _ask_about(self, number: int, *, are_doubts: bool) -> None:
        """Ask each question once that has no answer yet; one answer may bring up or settle another."""
        asked: set[str] = set()
        while waiting := [each for each in self._open(number, are_doubts) if each.field not in asked]:
            if not asked:
                say(self._about(number))
            asked.add(waiting[0].field)
            self._ask(waiting[0])

    def _open(self, number: int, are_doubts: bool) -> list[Question]:
        every = [each for each in self._debrief.questions(number) if each.field != "moved"]
        return [each for each in every if (each.field in _DOUBTS) is are_doubts and each.value is None]

    def _about(self, number: int) -> str:
        report = self._debrief.report()
        result = next(each for each in report.session.results if each.set == number)
        return set_words(result, report.titles.exercises, report.verdicts.get(number))

    def _ask(self, question: Question) -> None:
        say(f"question: {question.words}")
        say(_HOW[question.kind])
        value = self._answer(question)
        if value is None:
            say("skipped")
        else:
            self._debrief.answer(question.with_value(value))
            say(f"noted: {value_text(question.field, value)}")

    def _answer(self, question: Question) -> Value:
        """Return the answer, None where it is skipped.

        A clicker steps through the values, and a tap keeps what it has come to; back at none is a skip, so
        that a person with one key of it alone comes through.
        """
        taps, typed = PageTaps(steady(), self._settings), ""
        while True:
            for given in self._keys.take(TICK_S):
                if isinstance(given, Leave) or given.name == "escape":  # of which the first comes no further
                    raise _EnoughError
                if given.name == "enter" and typed:
                    say("")
                    value = _value_of(question, typed)
                    if value is not None:
                        return value
                    say(_HOW[question.kind])
                    typed = ""
                elif (longer := _typed(question, given.name, typed)) is not None:
                    typed = longer
                elif not typed and given.name not in FOCUS and taps.is_tap(given.name, given.at):
                    if given.name not in _STEPS or question.kind == "text":
                        return _kept(question, given.name)
                    question = question.stepped(_STEPS[given.name])
                    if question.value is None:
                        return None
                    say(f"so far: {value_text(question.field, question.value)}")
                    say("tap: keep it")


def _typed(question: Question, name: str, before: str) -> str | None:
    """Return and echo what is typed after another key; None where the key is no part of an answer."""
    if name == "backspace" and before:
        _echo("\b \b")
        return before[:-1]
    if question.kind == "yes-no":
        return None
    char = character(name)
    if char is None or len(before) >= MAX_TEXT:
        return None
    is_within = before and (question.kind == "text" or (question.kind == "seconds" and char in ".,:"))
    if not (is_within or char.isdecimal() or (question.kind == "text" and char != " ")):
        return None
    _echo(char)
    return before + char


def _kept(question: Question, name: str) -> Value:
    """Return the answer that a tap gives: its own where the key has one, else what was stepped to."""
    own = {"y": True, "n": False} if question.kind == "yes-no" else {}
    return own.get(name.lower(), question.value)


def _value_of(question: Question, typed: str) -> Value:
    """Return what was typed as a value; None where it can't be one."""
    if question.kind == "text":
        return typed.strip()
    number = seconds_typed(typed) if question.kind == "seconds" else float(typed)
    return number if number is not None and question.low <= number <= question.high else None


def _echo(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.write(text)
        sys.stdout.flush()
