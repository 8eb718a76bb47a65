"""The summary of a closed session: what came of each set, and what can be answered or put right about it."""

from collections.abc import Callable
from typing import Literal

from textual.widgets import Input

from holdtimer.live.answers import Debrief
from holdtimer.report.pages import PageText
from holdtimer.report.text import question_words, set_words
from holdtimer.screens.page import ARROWS, ListPage
from holdtimer.screens.painted import Painted, notice
from holdtimer.session.corrections import Question
from holdtimer.session.events import MAX_TEXT

_STEPS = {"left": -1, "right": 1}
_HINT = "Arrows, then Enter: answer or correct a set. A tap closes."
_SET_HINT = "Left and right change, Enter opens the note, Esc goes back. A tap closes."

Entry = tuple[str, Literal["back"] | int]


class SummaryScreen(ListPage):
    """Lists the sets; a tap ends it, Enter too until the arrows have moved the mark to a set.

    So whoever has one key alone, whichever it is, is never caught in a question.
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
        self._set: int | None = None  # the set whose questions are shown

    def show(self) -> None:
        """Show the sets, or the questions of one; a set that waits for an answer begins with "?"."""
        entries = self._entries()
        self._lines = tuple(f"? {words}" if self._waits(what) else words for words, what in entries)
        super().show()

    def hint(self) -> str:
        """Return what keys do."""
        return _HINT if self._set is None else _SET_HINT

    def press(self, name: str, at: float) -> None:
        """Move, change, open, go back, or end."""
        if name in ARROWS:
            self.move(ARROWS[name])
        elif name in _STEPS:
            self._change(lambda question: question.stepped(_STEPS[name]))
        elif name == "escape":
            self._back()
        elif name == "enter" and self._set is not None:
            self._enter()
        elif self._taps.is_tap(name, at):
            if name == "enter":
                self._enter()
            else:
                self.end()
        self.show()

    # -- the two lists -----------------------------------------------------------------------------------

    def _entries(self) -> list[Entry]:
        if self._set is None:
            report = self._debrief.report()
            return [
                (set_words(result, report.titles.exercises, report.verdicts.get(result.set)), result.set)
                for result in report.session.results
            ]
        asked = self._debrief.questions(self._set)
        return [("back", "back"), *((question_words(each), n) for n, each in enumerate(asked))]

    def _waits(self, what: str | int) -> bool:
        return isinstance(what, int) and self._set is None and self._debrief.waits(what)

    def _what_is_marked(self) -> Literal["back"] | int | None:
        return None if self._marked is None else self._entries()[self._marked][1]

    def _enter(self) -> None:
        what = self._what_is_marked()
        if what is None:
            self.end()
        elif what == "back":
            self._back()
        elif self._set is None:
            self._set, self._marked = what, 1
        else:
            self._open(self._debrief.questions(self._set)[what])

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
        what = self._what_is_marked()
        if self._set is not None and isinstance(what, int):
            question = self._debrief.questions(self._set)[what]
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
        places = [n for n, (_, what) in enumerate(self._entries()) if what == number]
        self._marked = places[0] if places else None

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
