"""What the screens of the review share: a heading, the footer of keys, questions, work in a thread."""

import asyncio
from collections.abc import Awaitable, Callable, Coroutine
from typing import Any, ClassVar, TypeVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen, Screen
from textual.widgets import Button, Footer, Input, Static

from holdtimer.live.review import Review
from holdtimer.report.pages import TAP, PageText
from holdtimer.session.events import MAX_TEXT
from holdtimer.text import sanitize

Found = TypeVar("Found")
Ask = Callable[[PageText], Awaitable[str]]


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
        """Return what stands between heading and footer."""
        raise NotImplementedError

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
        answer = await self.app.push_screen_wait(Question(page))
        return TAP if answer is None else answer


class Question(ModalScreen[str]):
    """A page with its answers as keys and buttons; Escape is the answer that changes nothing."""

    CSS = """
    Question { align: center middle; background: $field; }
    Question VerticalScroll { width: 76; max-width: 100%; height: auto; max-height: 100%; padding: 0 1; }
    Question VerticalScroll { border: heavy $ink; background: $field; color: $ink; }
    Question Static { height: auto; }
    Question .title { text-style: bold; margin: 0 0 1 0; }
    Question Button { width: 100%; height: 1; min-width: 10; border: none; margin: 1 0 0 0; }
    Question Button { background: $field; color: $ink; content-align: left middle; text-align: left; }
    Question Button:focus { background: $ink; color: $field; text-style: bold; }
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
        if event.key in dict(self._page.keys):
            event.stop()
            self.dismiss(event.key)

    def action_answer(self) -> None:
        """Change nothing."""
        self.dismiss(TAP)


class Typed(ModalScreen[str | None]):
    """One line to type: returns it on Enter where `fault` finds none, None on Escape."""

    CSS = """
    Typed { align: center middle; background: $field 60%; }
    Typed VerticalScroll { width: 72; max-width: 100%; height: auto; border: heavy $ink; padding: 0 1; }
    Typed VerticalScroll { background: $field; color: $ink; }
    Typed Static { height: auto; }
    Typed Input { border: none; height: 1; padding: 0; background: $ink; color: $field; margin: 1 0; }
    Typed Input .input--cursor { background: $field; color: $ink; }
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
