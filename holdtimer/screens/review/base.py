"""What the screens of the review share: a heading, the footer of keys, questions, lists, work in a thread.

A list draws only what is in sight, so one of ten years is there at once.
"""

import asyncio
from bisect import bisect_right
from collections.abc import Awaitable, Callable, Coroutine
from itertools import accumulate
from typing import Any, ClassVar, TypeVar

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.geometry import Region, Size
from textual.message import Message
from textual.screen import ModalScreen, Screen
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.widgets import Button, Footer, Input, Static

from holdtimer.live.answers import Debrief
from holdtimer.live.preflight import Ask
from holdtimer.live.review import Review
from holdtimer.report.pages import TAP, PageText
from holdtimer.report.review import change_words
from holdtimer.report.text import with_side
from holdtimer.session.events import MAX_TEXT, Answer
from holdtimer.session.state import SetState
from holdtimer.text import sanitize

Found = TypeVar("Found")


class ReviewScreen(Screen[None]):
    """A screen with a heading and the ordinary footer."""

    DEFAULT_CSS = """
    ReviewScreen { background: $field; color: $ink; }
    ReviewScreen #heading { height: auto; max-height: 3; padding: 0 1; text-style: bold; }
    ReviewScreen .said { height: auto; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "back", "back", key_display="Esc")]

    def __init__(self, review: Review) -> None:
        super().__init__()
        self.review = review

    def compose(self) -> ComposeResult:
        """Lay out the heading, the content and the footer."""
        yield Static("", id="heading", markup=False)
        yield from self.content()
        yield Footer(show_command_palette=False, compact=True)

    def content(self) -> ComposeResult:
        """Return what stands between heading and footer: nothing, unless a screen says more."""
        return ()

    def head(self, words: str) -> None:
        """Write the heading."""
        self.query_one("#heading", Static).update(Text(sanitize(words)))

    def action_back(self) -> None:
        """Go back to the screen before."""
        self.dismiss()

    def say(self, words: str) -> None:
        """Say something in passing."""
        self.notify(sanitize(words), timeout=5, markup=False)

    def ask_in_thread(self, ask: Callable[[Ask], Coroutine[Any, Any, Found]]) -> Awaitable[Found]:
        """Run questions, and all that is read and written between them, in a thread of their own."""
        loop = asyncio.get_running_loop()

        async def shown(page: PageText) -> str:
            answer = asyncio.run_coroutine_threadsafe(self.show_question(page), loop)
            return await asyncio.wrap_future(answer)

        return asyncio.to_thread(lambda: asyncio.run(ask(shown)))

    async def show_question(self, page: PageText) -> str:
        """Show a page and return its answer."""
        answer = await self.app.push_screen_wait(QuestionScreen(page))
        return TAP if answer is None else answer


UNDO_REDO: list[BindingType] = [  # each screen puts them where its footer shows them
    Binding("u,ctrl+z", "undo", "undo"),
    Binding("U,ctrl+y", "redo", "redo", key_display="U"),
]


class DebriefScreen(ReviewScreen):
    """A screen that puts a session right: undo and redo walk all that was ever answered about it."""

    def __init__(self, review: Review, debrief: Debrief) -> None:
        super().__init__(review)
        self.debrief = debrief
        self._answers_shown: tuple[Answer, ...] | None = None
        self._can = (False, False)

    def name_of(self, each: SetState) -> str:
        """Return the name of the exercise of a set, with its side."""
        program = self.debrief.program
        known = program.exercises.get(each.exercise) if program is not None else None
        return with_side(known.name if known is not None else each.exercise, each.side)

    def changed(self) -> None:
        """Show the session as its answers make it now; a screen adds to this what it shows."""
        self._answers_shown = self.debrief.answers
        can = self.debrief.can_undo, self.debrief.can_redo
        if can != self._can:  # the footer is made again for it
            self._can = can
            self.refresh_bindings()

    def on_screen_resume(self) -> None:
        """Show what was changed meanwhile."""
        if self._answers_shown not in (None, self.debrief.answers):
            self.changed()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """Offer undo and redo where there is something."""
        is_walk = action in ("undo", "redo")
        return None if is_walk and not getattr(self.debrief, f"can_{action}") else True

    def action_undo(self) -> None:
        """Take the newest change back."""
        self._walk(self.debrief.undo, "undone")

    def action_redo(self) -> None:
        """Bring back what was undone last."""
        self._walk(self.debrief.redo, "done again")

    def _walk(self, how: Callable[[], Answer | None], words: str) -> None:
        before, change = self.debrief.state(), how()
        if change is not None:
            self.say(f"{words}: {change_words(change, before, self.debrief.state(), self.name_of)}")
            self.changed()

    def action_back(self) -> None:
        """Go back, and let the sessions have what the answers made of this one."""
        self.review.take(self.debrief)
        self.dismiss()


class QuestionScreen(ModalScreen[str]):
    """A page with its answers as keys and buttons; Escape is the answer that changes nothing."""

    CSS = """
    QuestionScreen { align: center middle; background: $field; }
    QuestionScreen VerticalScroll { width: 76; max-width: 100%; height: auto; max-height: 100%; }
    QuestionScreen VerticalScroll { padding: 0 1; }
    QuestionScreen VerticalScroll { border: heavy $ink; background: $field; color: $ink; }
    QuestionScreen Static { height: auto; }
    QuestionScreen .title { text-style: bold; margin: 0 0 1 0; }
    QuestionScreen Button { width: 100%; height: 1; min-width: 10; border: none; margin: 1 0 0 0; }
    QuestionScreen Button { background: $field; color: $ink; content-align: left middle; text-align: left; }
    QuestionScreen Button:focus { background: $ink; color: $field; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "answer", show=False),
        Binding("up", "app.focus_previous", show=False),
        Binding("down", "app.focus_next", show=False),
    ]

    def __init__(self, page: PageText) -> None:
        super().__init__()
        self._page = page

    def compose(self) -> ComposeResult:
        """Lay out the page, the answer that changes nothing first."""
        page = self._page
        with VerticalScroll(can_focus=False):
            yield Static(Text(page.headline), classes="title")
            yield Static(Text("\n".join(map(sanitize, page.lines))))
            yield Button(Text(f" Esc  {page.tap}"), id=f"key-{TAP}", compact=True)
            for key, does in page.keys:
                yield Button(Text(f" {key.upper()}    {does}"), id=f"key-{key}", compact=True)

    def on_mount(self) -> None:
        """Begin at the answer that changes nothing."""
        self.query_one(f"#key-{TAP}", Button).focus()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Take an answer."""
        self.dismiss((event.button.id or "").removeprefix("key-"))

    def on_key(self, event: events.Key) -> None:
        """Take an answer by its key."""
        key = self._page.key(event.character or event.key)
        if key is not None:
            event.stop()
            self.dismiss(key)

    def action_answer(self) -> None:
        """Change nothing."""
        self.dismiss(TAP)


class TypingScreen(ModalScreen[str | None]):
    """One line to type: returns it on Enter where `fault` finds none, None on Escape."""

    CSS = """
    TypingScreen { align: center middle; background: $field 60%; }
    TypingScreen VerticalScroll { width: 72; max-width: 100%; height: auto; border: heavy $ink; }
    TypingScreen VerticalScroll { background: $field; color: $ink; padding: 0 1; }
    TypingScreen Static { height: auto; }
    TypingScreen Input { border: none; height: 1; padding: 0; background: $ink; color: $field; margin: 1 0; }
    TypingScreen Input .input--cursor { background: $field; color: $ink; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", show=False)]

    def __init__(self, title: str, value: str, fault: Callable[[str], str]) -> None:
        super().__init__()
        self._title, self._value, self._fault = title, value, fault

    def compose(self) -> ComposeResult:
        """Lay out the line."""
        with VerticalScroll(can_focus=False):
            yield Static(Text(self._title))
            yield Input(self._value, max_length=MAX_TEXT, id="typed", compact=True)
            yield Static("Enter keeps it, Esc leaves it as it was.", id="hint", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep it, or say what is wrong with it."""
        fault = self._fault(event.value)
        if fault:
            self.query_one("#hint", Static).update(Text(fault))
        else:
            self.dismiss(event.value)

    def action_leave(self) -> None:
        """Leave it as it was."""
        self.dismiss(None)


Draw = Callable[[int, int], list[Text]]
"""Returns the lines of the item with this index, in so many columns."""
Height = Callable[[int, int], int]
"""Returns how many lines those are."""


class Rows(ScrollView, can_focus=True):
    """Lists items of one line each, or as many as `height` says.

    Up and down move the mark; Enter is left to the screen, and a click on the marked one is an Enter. Of
    several lines the first is marked.
    """

    DEFAULT_CSS = """
    Rows { height: 1fr; background: $field; color: $ink; scrollbar-size-vertical: 1; overflow-x: hidden; }
    Rows { scrollbar-color: $ink; scrollbar-background: $field; scrollbar-color-hover: $ink; }
    Rows { scrollbar-color-active: $ink; scrollbar-background-hover: $field; }
    Rows { scrollbar-background-active: $field; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding("home", "go(0)", show=False),
        Binding("end", "go(-1)", show=False),
    ]

    class Moved(Message):
        """Another item is marked."""

    def __init__(self, draw: Draw, height: Height | None = None, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw, self._height = draw, height
        self._count = 0
        self._tops = [0]  # the first line of each item, and after the last
        self._base = Style()
        self._drawn: tuple[int, int, list[Text]] | None = None  # the item drawn last, and how wide
        self.marked = 0

    def show(self, count: int, marked: int | None = None) -> None:
        """Show so many items, this one marked; the mark stays where it was when left out."""
        self._count, self._drawn = count, None
        self.marked = max(0, min(self.marked if marked is None else marked, count - 1))
        least = self.outer_size.width - 1  # beside a scrollbar, whether or not there is one
        heights = (1 if self._height is None else self._height(index, least) for index in range(count))
        self._tops = list(accumulate(heights, initial=0))
        self.virtual_size = Size(self.scrollable_content_region.width, self._tops[-1])
        self._keep_in_sight()
        self.refresh()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Draw what is in sight, all of it in one style."""
        self._base = self.rich_style
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """Draw one line in sight."""
        width = self.scrollable_content_region.width
        index, base = self._at(y + self.scroll_offset.y), self._base
        if index >= self._count:
            return Strip.blank(width, base)
        if self._drawn is None or self._drawn[:2] != (index, width):
            self._drawn = index, width, self._draw(index, width)
        lines = [line.copy() for line in self._drawn[2]]  # they are cut to size
        line = y + self.scroll_offset.y - self._tops[index]
        text = lines[line] if line < len(lines) else Text("")
        text.plain = sanitize(text.plain)
        if index == self.marked and line == 0:
            base += Style(reverse=self.has_focus, underline=not self.has_focus, bold=True)
        text.truncate(width, overflow="ellipsis", pad=True)
        return Strip(Segment.apply_style(text.render(self.app.console), base), width).crop_extend(
            0, width, base
        )

    def on_resize(self) -> None:
        """Keep the mark in sight."""
        self.show(self._count)

    def on_focus(self) -> None:
        """Mark in reverse."""
        self.refresh()

    def on_blur(self) -> None:
        """Mark by a line alone."""
        self.refresh()

    def on_click(self, event: events.Click) -> None:
        """Mark what was clicked; what was marked already is as if Enter were pressed."""
        index = self._at(event.y + self.scroll_offset.y)
        if index >= self._count:
            return
        if index == self.marked:
            self.app.simulate_key("enter")
        else:
            self._mark(index)

    def action_move(self, by: int) -> None:
        """Move the mark by so many items."""
        self._mark(self.marked + by)

    def action_page(self, by: int) -> None:
        """Move the mark by what is in sight."""
        there = self._at(self._tops[self.marked] + by * (self.size.height - 1))
        self._mark(there if there != self.marked else self.marked + by)

    def action_go(self, index: int) -> None:
        """Mark an item, from the end where negative."""
        self._mark(index if index >= 0 else self._count + index)

    def _mark(self, index: int) -> None:
        index = max(0, min(index, self._count - 1))
        if index != self.marked:
            self.marked = index
            self._keep_in_sight()
            self.refresh()
            self.post_message(self.Moved())

    def _at(self, line: int) -> int:
        """Return the index of the item that has this line."""
        return bisect_right(self._tops, line) - 1

    def _keep_in_sight(self) -> None:
        if self._count:
            top, end = self._tops[self.marked : self.marked + 2]
            region = Region(0, top, self.size.width, end - top)
            self.scroll_to_region(region, animate=False, force=True, immediate=True)
