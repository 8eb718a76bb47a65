"""The summary of a closed session: what came of each set, and what can be answered or put right about it."""

from collections.abc import Callable, Sequence
from typing import Literal

from textual.widget import Widget
from textual.widgets import Input

from holdtimer.live.answers import Debrief
from holdtimer.report.text import question_words, set_words
from holdtimer.screens.page import MOVES, ListScreen
from holdtimer.screens.painted import Notice
from holdtimer.session.corrections import Question

_STEPS = {"left": -1, "right": 1}
_NOT_TAPS = frozenset({"escape", "backspace", "question_mark"})
_HINT = "Arrows, then Enter: answer or correct a set. A tap closes."
_SET_HINT = "Left and right change, Enter writes a note, Esc goes back. A tap closes."

Entry = tuple[str, Literal["back"] | int]


class SummaryScreen(ListScreen):
    """Lists the sets; a tap ends it, Enter too until the arrows have moved the mark to a set.

    So whoever has one key alone, whichever it is, is never caught in a question.
    """

    DEFAULT_CSS = """
    SummaryScreen #note { display: none; border: heavy $ink; background: $field; color: $ink; }
    SummaryScreen.-types #note { display: block; }
    """

    def __init__(self, headline: str, debrief: Debrief, notice: str = "") -> None:
        super().__init__(headline, "close", marked=None)
        self._debrief = debrief
        self._notice = notice
        self._set: int | None = None  # the set whose questions are shown

    def above(self) -> Sequence[Widget]:
        """Return the notice."""
        return (Notice(self._notice),)

    def below(self) -> Sequence[Widget]:
        """Return where a note is written."""
        return (Input(id="note", placeholder="a note; Enter keeps it, Esc does not"),)

    def lines(self) -> Sequence[str]:
        """Return the sets, or the questions of one; a set that waits for an answer begins with "?"."""
        return [f"? {words}" if self._waits(what) else words for words, what in self._entries()]

    def hint(self) -> str:
        """Return what keys do."""
        return _HINT if self._set is None else _SET_HINT

    def press(self, name: str, at: float) -> None:
        """Move, change, open, go back, or end."""
        if name in MOVES:
            self.move(MOVES[name])
        elif name in _STEPS or name in _NOT_TAPS:
            self._step_or_leave(name)
        elif name == "enter" and self._set is not None:
            self._enter()
        elif not self._taps.counts(name, at):
            return
        elif name == "enter":
            self._enter()
        else:
            self.end()
        self.show()

    def _step_or_leave(self, name: str) -> None:
        """Change the answer that is marked, or go back to the sets."""
        if self._set is not None and name in _STEPS:
            self._change(lambda question: question.stepped(_STEPS[name]))
        elif self._set is not None and name == "escape":
            self._back()

    # -- the two lists -----------------------------------------------------------------------------------

    def _entries(self) -> list[Entry]:
        if self._set is None:
            report = self._debrief.report()
            return [
                (set_words(result, report.names, report.verdicts.get(result.set)), result.set)
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
        number = self._set
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
