"""The menu laid over a running session."""

from rich.text import Text
from textual.reactive import reactive
from textual.widgets import Static

from holdtimer.report.words import CHOICE_WORDS
from holdtimer.session.menu import Menu


class MenuPanel(Static):
    """The lines of the open menu, the marked one in reverse; it takes no room while closed."""

    DEFAULT_CSS = """
    MenuPanel { width: 1fr; height: auto; display: none; border: heavy; padding: 0 1; text-style: bold; }
    MenuPanel.-open { display: block; }
    """

    menu: reactive[Menu | None] = reactive(None)

    def watch_menu(self, menu: Menu | None) -> None:
        """Show the lines, or nothing."""
        self.set_class(menu is not None, "-open")
        if menu is None:
            self.update("")
            return
        self.border_title = "Why a harder rung?" if menu.asks_reason_for else "Menu"
        self.border_subtitle = "arrows and Enter; any other key closes this and is a tap"
        self.update(_lines(menu))


def _lines(menu: Menu) -> Text:
    text = Text()
    for choice in menu.lines:
        is_marked = choice is menu.marked
        line = f" {'▶' if is_marked else ' '} {CHOICE_WORDS[choice]} "
        text.append(line, "reverse" if is_marked else "")
        text.append("\n")
    text.rstrip()
    return text
