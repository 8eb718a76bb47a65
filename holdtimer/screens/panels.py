"""What is laid over a running session: the menu and the help."""

from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from holdtimer.screens.fit import LARGE_ROWS, marked_line, plain_unmarked_line
from holdtimer.session.rules import Choice, Menu
from holdtimer.session.words import CHOICE_WORDS

_BORDER = 2
_QUESTION_ROWS = 7  # of the marked line where something may be wrong: two lines of large letters
_CHOSEN = "arrows and Enter choose; any other key closes this and is a tap"
_SCANNED = "the mark moves by itself; a tap chooses what is marked"
_ASKED_AGAIN = "the mark moves by itself; with no tap the session stops"


class MenuPanel(Widget):
    """The lines of the open menu, the marked one large behind an arrow; it takes no room while closed."""

    DEFAULT_CSS = """
    MenuPanel { width: 1fr; height: auto; display: none; border: heavy $ink; padding: 0 1; text-style: bold; }
    MenuPanel.-open { display: block; }
    """

    menu: reactive[Menu | None] = reactive(None, layout=True)

    def watch_menu(self, menu: Menu | None) -> None:
        """Show the lines, or nothing."""
        self.set_class(menu is not None, "-open")
        if menu is not None:
            self.border_title, self.border_subtitle = _title(menu), _hint(menu)

    def render(self) -> Text:
        """Return the lines, the marked one over several rows."""
        if self.menu is None:
            return Text()
        rows = [row for choice in self.menu.lines for row in self._rows(choice, choice is self.menu.marked)]
        return Text("\n").join(rows)

    def _rows(self, choice: Choice, is_marked: bool) -> list[Text]:
        words, width = CHOICE_WORDS[choice], self.content_size.width
        return (
            marked_line(words, width, _marked_rows(self.menu))
            if is_marked
            else plain_unmarked_line(words, width)[:1]
        )


def _title(menu: Menu) -> str:
    """Return what the menu asks."""
    if menu.asks_again:
        return "Does something feel wrong?"
    return "Why a harder rung?" if menu.asks_reason_for else "Menu"


def _hint(menu: Menu) -> str:
    """Return how it is answered."""
    if menu.asks_again:
        return _ASKED_AGAIN
    return _CHOSEN if menu.scanned_since is None else _SCANNED


def menu_rows(menu: Menu) -> int:
    """Return the rows an open menu takes."""
    return len(menu.lines) - 1 + _marked_rows(menu) + _BORDER


def _marked_rows(menu: Menu | None) -> int:
    return _QUESTION_ROWS if menu is not None and menu.asks_again else LARGE_ROWS


_HELP = """\
Any key or a touch is a tap. What it does now stands at the bottom.

Esc         menu: something feels wrong, stop, skip, end
Backspace   twice: takes the last stamp back
+  -        another rung (while ready or resting)
o           this is an off day (while ready or resting)
?           this help
Ctrl+Q      leave; the session can be resumed"""
HELP_ROWS = _HELP.count("\n") + 3


class HelpPanel(Static):
    """The keys in words; it takes no room while closed."""

    DEFAULT_CSS = """
    HelpPanel { width: 1fr; height: auto; display: none; border: heavy $ink; padding: 0 1; }
    HelpPanel.-open { display: block; }
    """

    def __init__(self) -> None:
        super().__init__(_HELP, id="help", markup=False)
        self.border_title = "Help"
        self.border_subtitle = "? closes this; any other key closes it and is a tap"

    @property
    def is_open(self) -> bool:
        """Whether it is shown."""
        return self.has_class("-open")

    def turn(self, is_open: bool) -> None:
        """Show it or lay it away."""
        self.set_class(is_open, "-open")
