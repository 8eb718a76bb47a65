"""What the drawing widgets have in common: rows of text made once and kept until something changes."""

from rich.segment import Segment
from textual.strip import Strip
from textual.widget import Widget


class Painted(Widget):
    """A widget that shows the rows `paint` makes, in its own ink on its own field."""

    DEFAULT_CSS = """
    Painted { width: 1fr; height: auto; }
    """

    _painted: tuple[object, list[Strip]] | None = None

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the rows to show, at most so many; each is as wide as it likes up to `columns`."""
        raise NotImplementedError

    def repaint(self) -> None:
        """Forget the rows and show new ones."""
        self._painted = None
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return one row of the widget's content."""
        key = (self.content_size, self.rich_style)
        if self._painted is None or self._painted[0] != key:
            width, height = self.content_size
            style = self.rich_style
            strips = [Strip([Segment(row.ljust(width), style)], width) for row in self.paint(width, height)]
            self._painted = (key, strips)
        strips = self._painted[1]
        return strips[y] if y < len(strips) else Strip.blank(self.content_size.width, self.rich_style)
