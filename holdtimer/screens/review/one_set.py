"""One set: its ruler large, all that can be put right about it, and beside it what that changes."""

import asyncio
from collections.abc import Callable
from typing import ClassVar

from rich.text import Text
from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Static

from holdtimer.live.answers import Debrief
from holdtimer.live.review import Review
from holdtimer.progression.due import Due
from holdtimer.report.review import (
    Changed,
    DueChange,
    Item,
    due_change,
    item_value,
    items_of,
    seconds_typed,
)
from holdtimer.screens.review.base import UNDO_REDO, DebriefScreen, Rows, TypingScreen
from holdtimer.screens.review.exercise import ExerciseScreen
from holdtimer.screens.ruler import UNKNOWN, RulerData, ruler, ruler_data
from holdtimer.session.corrections import Question
from holdtimer.session.events import Answer
from holdtimer.session.state import SetState

_SIGNS = {"failure": "▼", "re-entry": "▽"}
_DRAFT = "draft"
_DOUBTS = ("ran_to_end", "slip")
_SOON_S = 0.1  # what changes is worked out once keys and screen have had their turn


class SetScreen(DebriefScreen):
    """Changes one set: a time that is moved is a draft until Enter keeps it, all else is kept at once."""

    DEFAULT_CSS = """
    SetScreen #ruler { height: 6; margin: 1 1 1 1; }
    SetScreen Horizontal { height: 1fr; }
    SetScreen #items { width: 44; }
    SetScreen #beside { width: 1fr; border-left: solid $ink; padding: 0 1; scrollbar-size-vertical: 1; }
    SetScreen #beside { scrollbar-color: $ink; scrollbar-background: $field; }
    SetScreen #changes { height: auto; }
    SetScreen #hint { height: 1; padding: 0 1; link-style: underline; link-color: $ink; }
    SetScreen #hint { link-background: $field; link-color-hover: $field; link-background-hover: $ink; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", show=False),
        Binding("right", "step(1)", show=False),
        Binding("comma,shift+left", "step(-0.1)", show=False),
        Binding("full_stop,shift+right", "step(0.1)", show=False),
        Binding("enter", "change", "change", key_display="Enter"),
        Binding("y,Y", "yes_no(True)", show=False),
        Binding("n,N", "yes_no(False)", show=False),
        Binding("backspace", "clear", show=False),
        Binding("a,A", "add", "add"),
        Binding("x,delete", "take_out('slip')", "slip", key_display="x"),
        Binding("X", "take_out('removed')", show=False),
        Binding("r,R", "put_back", show=False),
        *UNDO_REDO,
        Binding("t,T", "exercise", "weeks"),
    ]

    def __init__(self, review: Review, debrief: Debrief, number: int) -> None:
        super().__init__(review, debrief)
        self._number = number
        self._draft: Question | None = None
        self._items: list[Item] = []
        self._set: SetState | None = None
        self._ruler: RulerData | None = None
        self._now = review.now()
        # the answers that were there before, and what was due with them
        self._before: tuple[tuple[Answer, ...], Due | None] | None = None
        self.is_working_out = False

    def content(self) -> ComposeResult:
        """Lay out the ruler, what can be changed, and what that changes."""
        yield Static("", id="ruler", markup=False)
        with Horizontal():
            yield Rows(self._line, id="items")
            with VerticalScroll(id="beside", can_focus=False):
                yield Static("", id="changes", markup=False)
        yield Static("", id="hint")

    def on_mount(self) -> None:
        """Show the set, what waits for an answer marked."""
        self.query_one(Rows).focus()
        self.changed()
        waits = [n for n, item in enumerate(self._items) if item.waits]
        self.query_one(Rows).show(len(self._items), waits[0] if waits else 0)
        self._show_hint()

    def changed(self) -> None:
        """Leave a draft, and show the set as the answers make it."""
        super().changed()
        self._draft = None
        self._refresh()

    # -- what is shown

    @property
    def _answers(self) -> tuple[Answer, ...]:
        """All answers, the draft among them."""
        said = self.debrief.answers
        if self._draft is None:
            return said
        return (*said, Answer(n=0, t=0.0, id=_DRAFT, **self._draft.answer()))

    def _refresh(self) -> None:
        """Show the set as it is now, and begin to work out what that changes."""
        session = self.debrief.state(self._answers)
        each = next(one for one in session.sets if one.set == self._number)
        self._set, self._ruler = each, ruler_data(session, each)
        place = self.query_one(Rows).marked
        marked = self._items[place] if place < len(self._items) else None
        self._items = items_of(self.debrief.logged, self._answers, self._number)
        same = [n for n, item in enumerate(self._items) if marked is not None and _same(item, marked)]
        self.query_one(Rows).show(len(self._items), same[0] if same else None)
        self._show_heading(each)
        self._show_ruler()
        self._show_hint()
        if not self.is_working_out:
            self.is_working_out = True
            self.set_timer(_SOON_S, self._work_out)

    def _show_heading(self, each: SetState) -> None:
        started = self.debrief.summary(()).started
        day = f", {started:%A %Y-%m-%d}" if started is not None else ""
        place = f"set {each.set} of {len(self.debrief.logged.sets)}{day}"
        self.head(f"{self.name_of(each)}, {each.rung}   {place}")

    def _show_ruler(self) -> None:
        field = self.query_one("#ruler", Static)
        rows = max(5, min(12, self.app.size.height // 4))
        field.styles.height = rows
        lines = ruler(self.app.size.width - 2, rows, self._ruler)
        if self._set is not None and (self._set.asks or self._set.denied):
            lines = [line.translate(UNKNOWN) for line in lines]
        words = "\n".join(lines) or "the window of this set was never opened"
        field.update(Text(words, no_wrap=True))

    def on_resize(self) -> None:
        """Draw the ruler as wide as there is room."""
        self.query_one("#items").styles.width = max(44, self.app.size.width // 2)
        self._show_ruler()

    def _line(self, index: int, width: int) -> list[Text]:
        item = self._items[index]
        stamp = item.stamps[0] if item.kind == "stamp" else None
        sign = _SIGNS[stamp.kind] if stamp is not None else {"add": "+", "removed": "×"}.get(item.kind, " ")
        value = item_value(item)
        if (
            self._draft is not None
            and item.question is not None
            and _speaks_alike(item.question, self._draft)
        ):
            value = f"◂ {value} ▸ Enter keeps"
        elif item.is_estimated:
            value += " estimated"
        room = max(1, width - 4 - len(value))
        label = item.label if len(item.label) < room else item.label[: room - 2] + "…"
        return [Text(f" {sign} {label:{room}}{value}")]

    def _show_hint(self) -> None:
        """Say what the marked item takes, each key as a link for the mouse."""
        item = self._marked()
        self.query_one("#hint", Static).update(hint(item) if item is not None else "")

    @work(group="changes")
    async def _work_out(self) -> None:
        """Work out what changes, one state at a time, until it is what the answers of now change."""
        debrief = self.debrief
        while self.is_working_out:
            earlier, answers, each, found = debrief.earlier, self._answers, self._set, None
            if self._before is None or self._before[0] != earlier:
                self._before = earlier, await asyncio.to_thread(debrief.coming, self._now, earlier)
            before, after = self._before[1], await asyncio.to_thread(debrief.coming, self._now, answers)
            if before is not None and after is not None and debrief.program is not None and each is not None:
                found = due_change(before, after, debrief.program, (each.exercise, each.side))
            if answers == self._answers:  # it is not out of date already
                self.is_working_out = False
                self.query_one("#changes", Static).update(change_text(found))

    # -- what can be done

    def _marked(self) -> Item | None:
        place = self.query_one(Rows).marked
        return self._items[place] if place < len(self._items) else None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what makes sense of the marked item."""
        item = self._marked() if self.is_mounted else None
        question = item.question if item is not None else None
        kind = question.kind if question is not None else ""
        if action == "step":
            return kind == "seconds" or (kind == "scale" and abs(float(str(parameters[0]))) == 1)
        if action == "yes_no":
            return kind == "yes-no"
        return super().check_action(action, parameters)

    def on_rows_moved(self) -> None:
        """Leave a draft where it was, and offer what fits the item that is marked now."""
        if self._draft is not None:
            self.changed()
        self._show_hint()

    def _keep(self, question: Question) -> None:
        """Write an answer down."""
        self.debrief.answer(question)
        self.changed()

    def action_step(self, by: float | str) -> None:
        """Move a time, as a draft; the markup of a link knows no negative number but as text."""
        item = self._marked()
        if item is not None and item.question is not None:
            self._draft_of((self._draft or item.question).stepped(float(by)))

    def _draft_of(self, question: Question) -> None:
        self._draft = question
        self._refresh()

    def action_change(self) -> None:
        """Keep the draft, or change the marked item."""
        item = self._marked()
        if self._draft is not None:
            self._keep(self._draft)
        elif item is None:
            return
        elif item.kind == "removed":
            self.action_put_back()
        elif item.kind == "add":
            self.action_add()
        elif item.question is not None and item.question.field in _DOUBTS:
            self.say("press y or n")  # an Enter too many must settle nothing that counts
        elif item.question is not None and item.question.kind == "yes-no":
            self._keep(item.question.with_value(item.question.value is not True))
        elif item.question is not None:
            self._type(item.question)

    @work(group="ask")
    async def _type(self, question: Question) -> None:
        """Type a value."""
        typed = await self.app.push_screen_wait(
            TypingScreen(question.words, _shown_value(question), _fault_of(question))
        )
        if typed is not None:
            self._keep(question.with_value(_value_of(question, typed)))

    def action_yes_no(self, value: bool) -> None:
        """Answer yes or no."""
        item = self._marked()
        if item is not None and item.question is not None:
            self._keep(item.question.with_value(value))

    def action_clear(self) -> None:
        """Take an answer away."""
        item = self._marked()
        if item is not None and item.kind == "question" and item.question is not None:
            self._keep(item.question.with_value(None))

    @work(group="ask")
    async def action_add(self) -> None:
        """Type when there was a tap that is missing."""
        each = self._set
        if each is None or not any(item.kind == "add" for item in self._items):
            return
        end = each.window_s if each.ended_at is None else each.ended_at
        asked = Question("added", _ADD_WORDS, "seconds", None, each.set, high=end)
        typed = await self.app.push_screen_wait(TypingScreen(asked.words, "", _fault_of(asked)))
        if typed and typed.strip():
            self._keep(asked.with_value(_value_of(asked, typed)))

    def action_take_out(self, how: str) -> None:
        """Take out the marked stamp: as a slip with the one after it, or alone."""
        item = self._marked()
        if item is not None and item.kind == "stamp" and item.question is not None:
            asked = item.question
            about = {"of_answer": asked.of_answer} if asked.of_answer else {"of": asked.of}
            self._write(field=how, value=True, **about)

    def action_put_back(self) -> None:
        """Put back stamps that were taken out."""
        item = self._marked()
        if item is not None and item.removal is not None:
            removal = item.removal
            self._write(
                field=removal.field, value=None, of=removal.of, of_answer=removal.of_answer, set=removal.set
            )

    def _write(self, **fields: object) -> None:
        self.debrief.book.say(**fields)
        self.changed()

    def action_undo(self) -> None:
        """Leave a draft, else take the newest change back."""
        self._leave_draft_or(super().action_undo)

    def action_back(self) -> None:
        """Leave a draft, else go back."""
        self._leave_draft_or(super().action_back)

    def _leave_draft_or(self, act: Callable[[], None]) -> None:
        if self._draft is not None:
            self.changed()
        else:
            act()

    def action_exercise(self) -> None:
        """Show this exercise over the weeks."""
        if self.debrief.program is not None and self._set is not None:
            self.review.take(self.debrief)
            self.app.push_screen(ExerciseScreen(self.review, self.debrief.program, self._set.exercise))

    def on_click(self, event: events.Click) -> None:
        """Move the marked time to where the ruler was clicked."""
        item = self._marked()
        if event.widget is None or event.widget.id != "ruler" or item is None or self._ruler is None:
            return
        question = self._draft or item.question
        if question is not None and question.kind == "seconds":
            at = event.x / max(1, event.widget.size.width - 1) * self._ruler.window_s
            self._draft_of(question.with_value(min(max(round(at, 1), question.low), question.high)))


_ADD_WORDS = (
    "When was the tap that is missing? Seconds into the window, such as 64.5. "
    "Taps take turns: what comes after it changes from failed to back in, and the other way round."
)


def _same(one: Item, other: Item) -> bool:
    """Whether two items are about the same thing."""
    if one.question is None or other.question is None:
        return one.kind == other.kind and one.removal == other.removal
    return _speaks_alike(one.question, other.question)


def _speaks_alike(one: Question, other: Question) -> bool:
    return (one.field, one.of, one.of_answer) == (other.field, other.of, other.of_answer)


def _shown_value(question: Question) -> str:
    """Return the value of a question as it would be typed."""
    value = question.value
    return "" if value is None else f"{value:g}" if isinstance(value, (int, float)) else value


def _fault_of(question: Question) -> Callable[[str], str]:
    """Return what says what is wrong with a text as the answer to a question, "" where nothing is."""

    def fault(typed: str) -> str:
        if question.kind == "text" or not typed.strip():
            return ""
        value = _value_of(question, typed)
        right = f"a number from {question.low:g} to {question.high:g}"
        is_right = isinstance(value, float) and question.low <= value <= question.high
        return "" if is_right else f"this has to be {right}"

    return fault


def _value_of(question: Question, typed: str) -> str | float | None:
    if question.kind == "text":
        return typed.strip() or None
    return seconds_typed(typed)


# ---- the words under a set and beside it


def _link(action: str, *keys: str) -> str:
    """Return keys in Textual's markup, each of which does the action when clicked."""
    return " ".join(f"[@click=screen.{action}] {key} [/]" for key in keys)


_NO_ANSWER = f"{_link('clear', 'backspace')} no answer"
_WHOLE = " ".join((_link("step('-1')", "←"), _link("step('1')", "→")))
_TENTHS = " ".join((_link("step('-0.1')", ","), _link("step('0.1')", ".")))
_SLIP, _ALONE = _link("take_out('slip')", "x"), _link("take_out('removed')", "X")
_HINTS = {
    "removed": f"{_link('put_back', 'r')} puts back what was taken out",
    "add": f"{_link('add', 'a')} adds a tap that is missing",
    "stamp": f"{_WHOLE} 1 s  {_TENTHS} 0.1 s  {_SLIP} slip, with the next tap  {_ALONE} this alone",
    "seconds": f"{_WHOLE} 1 s  {_TENTHS} 0.1 s  {_link('change', 'Enter')} types it  {_NO_ANSWER}",
    "yes-no": f"{_link('yes_no(True)', 'y')} yes  {_link('yes_no(False)', 'n')} no  {_NO_ANSWER}",
    "scale": f"{_WHOLE} less, more  {_link('change', 'Enter')} types it  {_NO_ANSWER}",
    "text": f"{_link('change', 'Enter')} types it  {_NO_ANSWER}",
}


def hint(item: Item) -> str:
    """Return what an item takes, in Textual's markup: the keys can be clicked."""
    return _HINTS.get(item.kind) or _HINTS[item.question.kind if item.question is not None else "text"]


def change_text(found: DueChange | None) -> Text:
    """Return what answers change in what is due, in words."""
    text = Text("What this changes\n", style="bold")
    if found is None:
        return text.append("\ncan't say what is due next: the program is missing", "not bold")
    if found.is_none:
        text.append("Nothing. Due next:\n", "not bold")
    for each in filter(None, (found.own, *found.others)):
        _write(text, each)
    text.append(f"\n{found.when}\n", "not bold")
    if found.was_when:
        text.append(f"  was: {found.was_when}\n", "not bold")
    return text


def _write(text: Text, each: Changed) -> None:
    text.append(f"\n{each.name}: {each.now}\n")
    text.append(f"{each.because}\n", "not bold")
    if each.differs:
        was = ": ".join(filter(None, (each.was, each.was_because)))
        text.append(f"was {was}\n", "not bold italic")
