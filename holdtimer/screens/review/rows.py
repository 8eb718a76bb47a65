"""A list of items of equal height with one of them marked; only what is in sight is drawn.

So a list of ten years is there at once.
"""

from collections.abc import Callable
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from holdtimer.text import sanitize

Draw = Callable[[int, int], list[Text]]
"""Returns the lines of the item with this index, in so many columns."""


class Rows(ScrollView, can_focus=True):
    """Lists `count` items of `height` lines each.

    Up and down move the mark, a click on the marked one chooses it; Enter is left to the screen. Of several
    lines the first is marked.
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

        def __init__(self, rows: "Rows") -> None:
            super().__init__()
            self.rows = rows

        @property
        def control(self) -> "Rows":
            """The list."""
            return self.rows

    class Chosen(Moved):
        """The marked item was chosen."""

    def __init__(self, draw: Draw, height: int = 1, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._draw, self._height = draw, height
        self._count = 0
        self._base = Style()
        self._drawn: tuple[int, int, list[Text]] | None = None  # the item drawn last, and how wide
        self.marked = 0

    def show(self, count: int, marked: int | None = None) -> None:
        """Show so many items anew, this one marked; the mark stays where it was when left out."""
        self._count, self._drawn = count, None
        self.marked = max(0, min(self.marked if marked is None else marked, count - 1))
        self.virtual_size = Size(self.scrollable_content_region.width, count * self._height)
        self._keep_in_sight()
        self.refresh()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Draw what is in sight, all of it in one style."""
        self._base = self.rich_style
        return super().render_lines(crop)

    def render_line(self, y: int) -> Strip:
        """Draw one line in sight."""
        width = self.scrollable_content_region.width
        index, line = divmod(y + self.scroll_offset.y, self._height)
        base = self._base
        if index >= self._count:
            return Strip.blank(width, base)
        if self._drawn is None or self._drawn[:2] != (index, width):
            self._drawn = index, width, self._draw(index, width)
        lines = [line.copy() for line in self._drawn[2]]  # they are cut to size
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
        """Mark what was clicked, or choose what was marked already."""
        index = (event.y + self.scroll_offset.y) // self._height
        if index >= self._count:
            return
        if index == self.marked:
            self.post_message(self.Chosen(self))
        else:
            self._mark(index)

    def action_move(self, by: int) -> None:
        """Move the mark by so many items."""
        self._mark(self.marked + by)

    def action_page(self, by: int) -> None:
        """Move the mark by what is in sight."""
        self._mark(self.marked + by * max(1, self.size.height // self._height - 1))

    def action_go(self, index: int) -> None:
        """Mark an item, from the end where negative."""
        self._mark(index if index >= 0 else self._count + index)

    def _mark(self, index: int) -> None:
        index = max(0, min(index, self._count - 1))
        if index != self.marked:
            self.marked = index
            self._keep_in_sight()
            self.refresh()
            self.post_message(self.Moved(self))

    def _keep_in_sight(self) -> None:
        region = Region(0, self.marked * self._height, self.size.width, self._height)
        self.scroll_to_region(region, animate=False, force=True, immediate=True)
