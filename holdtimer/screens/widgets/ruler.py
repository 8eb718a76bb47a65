"""The ruler under the clock."""

from typing import Any

from textual.reactive import reactive

from holdtimer.screens.ruler import RulerData, ruler
from holdtimer.screens.widgets.painted import Painted


class Ruler(Painted):
    """The work window over the full width; it is drawn again only when a row of it changes."""

    DEFAULT_CSS = """
    Ruler { width: 1fr; height: 5; }
    """

    data: reactive[RulerData | None] = reactive(None, repaint=False)

    def __init__(self, data: RulerData | None = None, **named: Any) -> None:
        super().__init__(**named)
        self.set_reactive(Ruler.data, data)

    def watch_data(self, before: RulerData | None, now: RulerData | None) -> None:
        """Show the window as it stands now, unless it looks the same as before."""
        width, height = self.content_size
        if width and before and now and ruler(before, width, height) == ruler(now, width, height):
            return
        self.repaint()

    def paint(self, columns: int, rows: int) -> list[str]:
        """Return the rows of the ruler; none without a window."""
        return ruler(self.data, columns, rows) if self.data else []
