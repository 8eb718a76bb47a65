"""The summary of a closed session: what came of each set, and what can be answered or put right about it."""

from collections.abc import Callable
from typing import Literal

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from holdtimer.live.debrief import Debrief
from holdtimer.report.answer_text import question_words, set_words
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.notice import Notice
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.page_taps import PageTaps
from holdtimer.session.questions import Question
from holdtimer.sound.player import steady

_MOVES = {"up": -1, "down": 1}
_STEPS = {"left": -1, "right": 1}
_NOT_TAPS = frozenset({"escape", "backspace", "question_mark"})
_HINT = "Arrows, then Enter: answer or correct a set. A tap closes."
_SET_HINT = "Left and right change, Enter writes a note, Esc goes back. A tap closes."

Line = tuple[str, Literal["close", "back"] | int]


class SummaryScreen(KeyedScreen):
    """Lists the sets; a tap ends it, Enter too until the arrows have moved the mark to a set.

    So whoever has one key alone, whichever it is, is never caught in a question.
    """

    DEFAULT_CSS = """
    SummaryScreen { padding: 0 1; }
    SummaryScreen #headline { margin: 0 0 1 0; }
    SummaryScreen #body { height: 1fr; scrollbar-size-vertical: 1; }
    SummaryScreen #note { display: none; border: heavy $ink; background: $field; color: $ink; }
    SummaryScreen.-types #note { display: block; }
    """

    def __init__(self, headline: str, debrief: Debrief, notice: str = "") -> None:
        super().__init__()
        self._headline = headline
        self._debrief = debrief
        self._notice = notice
        self._marked = 0
        self._set: int | None = None  # the set whose questions are shown
        self._taps = PageTaps(steady())

    def compose(self) -> ComposeResult:
        """Lay the page out."""
        yield BigWords(self._headline, id="headline")
        yield Notice(self._notice)
        with VerticalScroll(id="body", can_focus=False):
            yield Static(id="lines")
        yield Input(id="note", placeholder="a note; Enter keeps it, Esc does not")
        yield Static(id="hint", classes="quiet")
        yield TapBar("close", id="tap")

    def on_mount(self) -> None:
        """Show the sets; take no tap that was not meant for this page."""
        self._taps = PageTaps(steady())
        self._show()

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        rows = event.size.height
        self.query_one("#tap", TapBar).styles.height = 4 if rows < 30 else 6 if rows < 50 else 8
        self.query_one("#headline", BigWords).max_rows = 3 if rows < 30 else 5 if rows < 50 else 7

    def press(self, name: str, at: float) -> None:
        """Move, change, open, go back, or end."""
        if name in _MOVES:
            self._marked = (self._marked + _MOVES[name]) % len(self._lines())
        elif name in _STEPS or name in _NOT_TAPS:
            self._step_or_leave(name)
        elif name == "enter" and self._set is not None:
            self._enter()
        elif not self._taps.counts(name, at):
            return
        elif name == "enter":
            self._enter()
        else:
            self.dismiss(None)
            return
        self._show()

    def _step_or_leave(self, name: str) -> None:
        """Change the answer that is marked, or go back to the sets."""
        if self._set is not None and name in _STEPS:
            self._change(lambda question: question.stepped(_STEPS[name]))
        elif self._set is not None and name == "escape":
            self._back()

    # -- the two lists -----------------------------------------------------------------------------------

    def _lines(self) -> list[Line]:
        if self._set is None:
            told = self._debrief.told()
            sets: list[Line] = [
                (set_words(result, told.names, told.verdicts.get(result.set)), result.set)
                for result in told.session.results
            ]
            return [("close", "close"), *sets]
        asked = self._debrief.questions(self._set)
        return [("back", "back"), *((question_words(each), n) for n, each in enumerate(asked))]

    def _waits(self, what: str | int) -> bool:
        return isinstance(what, int) and self._set is None and self._debrief.asks(what)

    def _enter(self) -> None:
        what = self._lines()[self._marked][1]
        if what == "close":
            self.dismiss(None)
        elif what == "back":
            self._back()
        elif self._set is None:
            self._set, self._marked = int(what), 1
        else:
            self._open(self._debrief.questions(self._set)[int(what)])

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
        what = self._lines()[self._marked][1]
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
        places = [n for n, (_, what) in enumerate(self._lines()) if what == number]
        self._marked = places[0] if places else 0

    # -- the note ----------------------------------------------------------------------------------------

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep the note."""
        self._stop_typing()
        question = self._debrief.questions(self._set or 0)[-1]
        if question.kind == "text" and event.value != (question.value or ""):
            self._debrief.answer(question.told(event.value))
        self._show()

    def key_escape(self) -> None:
        """Leave the note as it was."""
        if self.types_text:
            self._stop_typing()

    def _stop_typing(self) -> None:
        self.types_text = False
        self.remove_class("-types")
        self.set_focus(None)

    # -- what is seen ------------------------------------------------------------------------------------

    def _show(self) -> None:
        text = Text()
        for index, (words, what) in enumerate(self._lines()):
            is_marked = index == self._marked
            doubt = "? " if self._waits(what) else ""
            text.append(f" {'▶' if is_marked else ' '} {doubt}{words} ", "bold reverse" if is_marked else "")
            text.append("\n")
        text.rstrip()
        self.query_one("#lines", Static).update(text)
        self.query_one("#hint", Static).update(_HINT if self._set is None else _SET_HINT)
        self.query_one("#body", VerticalScroll).scroll_to(y=max(0, self._marked - 3), animate=False)
