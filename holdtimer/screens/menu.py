"""The menu laid over a running session."""

from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget

from holdtimer.screens.line_setting import LARGE_ROWS, large_text
from holdtimer.session.menu import Choice, Menu
from holdtimer.session.words import CHOICE_WORDS

_BORDER = 2
_MARK = 6  # columns before the words of a line
_CHOSEN = "arrows and Enter choose; any other key closes this and is a tap"
_SCANNED = "the mark moves by itself; a tap chooses what is marked"
_ARROW = ("▙▖", "██▙▖", "▛▘")


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
            self.border_title = "Why a harder rung?" if menu.asks_reason_for else "Menu"
            is_scanned = menu.scanned_since is not None
            self.border_subtitle = _SCANNED if is_scanned else _CHOSEN

    def render(self) -> Text:
        """Return the lines, the marked one over three rows."""
        if self.menu is None:
            return Text()
        rows = [row for choice in self.menu.lines for row in self._rows(choice, choice is self.menu.marked)]
        return Text("\n").join(rows)

    def _rows(self, choice: Choice, is_marked: bool) -> list[Text]:
        words, width = CHOICE_WORDS[choice], self.content_size.width
        if not is_marked:
            return [Text(f"{'':{_MARK}}{words}")]
        large = large_text(words, width - _MARK - 1)
        if large and len(large) == LARGE_ROWS:
            return [Text(f"{mark:{_MARK}}{row}") for mark, row in zip(_ARROW, large, strict=True)]
        rows = ("", f" ▶  {words}", "")
        return [Text(row.ljust(width), "reverse") for row in rows]


def menu_rows(menu: Menu) -> int:
    """Return the rows an open menu takes."""
    return len(menu.lines) + LARGE_ROWS - 1 + _BORDER
