"""Help, laid over a running session."""

from textual.widgets import Static

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
