"""The summary of a closed session: how each set went, and what can be answered or put right about it."""

from collections.abc import Callable

from rich.text import Text
from textual.widgets import Input

from holdtimer.live.answers import Debrief
from holdtimer.report.function import test_value, test_words
from holdtimer.report.pages import PageText
from holdtimer.report.text import result_figure, set_details, value_words, with_side
from holdtimer.screens.fit import Fact, fact_list
from holdtimer.screens.page import ARROWS, TURNS, ListPage
from holdtimer.screens.painted import Painted, notice
from holdtimer.session.corrections import Question
from holdtimer.session.events import MAX_TEXT
from holdtimer.session.results import SetResult
from holdtimer.text import sanitize

_STEPS = {"left": -1, "right": 1}
_HINT = "Arrows, then Enter: answer or correct a set. A tap closes."
_WAITS_HINT = "? does not count until you answer it: arrows, then Enter. A tap closes."
_SET_HINT = "Left and right change, Enter opens the note, Esc goes back. A tap closes."
_PAGES_HINT = "Page Up and Page Down move, past the end they {}. A tap takes what is marked."


class SummaryScreen(ListPage):
    """Lists the sets; a tap ends it, Enter too until the arrows have moved the mark to a set.

    So a person with one key alone, whichever it is, is never caught in a question. A clicker moves the mark
    with its two keys, past the end out of the list, and a tap takes what is marked then.
    """

    DEFAULT_CSS = """
    SummaryScreen #note { display: none; border: heavy $ink; background: $field; color: $ink; }
    SummaryScreen.-types #note { display: block; }
    """

    def __init__(self, headline: str, debrief: Debrief, trouble: str = "") -> None:
        said = [Painted(notice, trouble, classes="notice")] if trouble else []
        note = Input(id="note", placeholder="a note: Enter saves it, Esc discards it", max_length=MAX_TEXT)
        super().__init__(PageText(headline, (), "close"), above=said, below=[note])
        self._debrief = debrief
        self._title = headline
        self._set: int | None = None  # the set whose questions are shown
        self._has_clicker = False  # whether the mark was moved last by Page Up or Page Down
        self._facts: list[Fact] = []

    def show(self) -> None:
        """Show the sets, or the questions of one."""
        self._facts = self._sets() if self._set is None else self._answers(self._set)
        self._lines = tuple(" ".join((fact.value, *fact.words)) for fact in self._facts)
        title = self._title if self._set is None else self._set_name(self._result(self._set))
        self.rename(title, self._tap_words())
        super().show()

    def draw(self, columns: int, rows: int) -> tuple[Text, int | None]:
        """Return the facts, and the first row of the marked one."""
        self._turn(0)
        facts = [Fact(fact.value, tuple(map(sanitize, fact.words))) for fact in self._facts]
        drawn, first = fact_list(facts, self._marked, columns, rows)
        return Text("\n").join(drawn), first

    def hint(self) -> str:
        """Return what keys do."""
        if self._has_clicker:
            return _PAGES_HINT.format("close" if self._set is None else "go back")
        if self._set is not None:
            return _SET_HINT
        if not self._debrief.report().session.results:
            return ""  # there is nothing to answer
        return _WAITS_HINT if any(fact.value == "?" for fact in self._facts) else _HINT

    def press(self, name: str, at: float) -> None:
        """Move, change, open, go back, or end."""
        if name in ARROWS:
            self._has_clicker = False
            self.move(ARROWS[name])
        elif name in _STEPS:
            self._change(lambda question: question.stepped(_STEPS[name]))
        elif name == "escape":
            self._back()
        elif name == "enter" and self._set is not None:
            self._enter()
        elif self._taps.is_tap(name, at):
            self._tapped(name)
        self.show()

    def _tapped(self, name: str) -> None:
        if name in TURNS:
            self._click(TURNS[name])
        elif name == "enter" or self._has_clicker:
            self._enter()
        else:
            self.end()

    def _click(self, by: int) -> None:
        """Move the mark by a key of a clicker; past the first or the last line it leaves the list."""
        to = (-1 if self._marked is None else self._marked) + by
        if 0 <= to < len(self._facts):
            self._marked, self._has_clicker = to, True
        elif self._set is None:
            self.end()
        else:
            self._back()

    def _tap_words(self) -> str:
        if not self._has_clicker or self._is_about_nothing:
            return "close"
        if self._set is None:
            return "answer"
        return "change" if self._marked else "back"

    # -- the two lists -----------------------------------------------------------------------------------

    def _sets(self) -> list[Fact]:
        report = self._debrief.report()
        return [
            Fact(
                "?" if self._debrief.waits(result.set) else result_figure(result),
                (
                    f"{result.set}. {self._set_name(result)}",
                    *set_details(result, report.verdicts.get(result.set)),
                ),
            )
            for result in report.session.results
        ] + [Fact(test_value(each), test_words(each, report.titles.tests)) for each in report.session.tests]

    def _answers(self, number: int) -> list[Fact]:
        asked = self._debrief.questions(number)
        return [Fact("", ("back",)), *(_fact_of(each) for each in asked)]

    def _result(self, number: int) -> SetResult:
        return next(each for each in self._debrief.report().session.results if each.set == number)

    @property
    def _is_about_nothing(self) -> bool:
        """Whether nothing is marked that asks anything: after the sets come tests, which don't."""
        sets = len(self._debrief.report().session.results)
        return self._marked is None or (self._set is None and self._marked >= sets)

    def _set_name(self, result: SetResult) -> str:
        names = self._debrief.report().titles.exercises
        return with_side(names.get(result.exercise, result.exercise), result.side)

    def _enter(self) -> None:
        """Take what is marked; where that is nothing that can be answered, end."""
        if self._marked is None or self._is_about_nothing:
            self.end()
        elif self._set is None:
            self._set, self._marked = self._debrief.report().session.results[self._marked].set, 1
        elif self._marked == 0:
            self._back()
        else:
            self._open(self._debrief.questions(self._set)[self._marked - 1])

    def _open(self, question: Question) -> None:
        if question.kind == "text":
            note = self.query_one("#note", Input)
            note.value = str(question.value or "")
            self.types_text = True
            self.add_class("-types")
            note.focus()
        else:
            self._change(lambda asked: asked.stepped(1))

    def _change(self, how: Callable[[Question], Question]) -> None:
        if self._set is not None and self._marked:
            question = self._debrief.questions(self._set)[self._marked - 1]
            changed = how(question)
            if changed != question:
                self._debrief.answer(changed)
                self._follow(changed)

    def _follow(self, question: Question) -> None:
        """Keep the mark on a question whose place an answer has changed."""
        asked = self._debrief.questions(self._set or 0)
        same = [n for n, each in enumerate(asked) if (each.field, each.of) == (question.field, question.of)]
        self._marked = same[0] + 1 if same else 0

    def _back(self) -> None:
        """Go back from the questions of a set to the sets."""
        if (number := self._set) is None:
            return
        self._set = None
        numbers = [each.set for each in self._debrief.report().session.results]
        self._marked = numbers.index(number) if number in numbers else None

    # -- the note ----------------------------------------------------------------------------------------

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep the note."""
        self._stop_typing()
        question = self._debrief.questions(self._set or 0)[-1]
        if question.kind == "text" and event.value != (question.value or ""):
            self._debrief.answer(question.with_value(event.value))
        self.show()

    def key_escape(self) -> None:
        """Leave the note as it was."""
        if self.types_text:
            self._stop_typing()

    def _stop_typing(self) -> None:
        self.types_text = False
        self.remove_class("-types")
        self.set_focus(None)


def _fact_of(question: Question) -> Fact:
    value, words = value_words(question.value), question.words.removesuffix(" (s)")
    if question.kind == "text":
        return Fact("yes", (f"{words}: {value}",)) if question.value else Fact(value, (words,))
    is_time = question.kind == "seconds" and question.value is not None
    return Fact(f"{value} s" if is_time else value, (words,))
