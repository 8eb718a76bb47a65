"""The screen of a running session: ready, count-in, work window, rest."""

import gc
from collections.abc import Callable

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Static

from holdtimer.live.driver import Driver
from holdtimer.screens.help import HelpPanel
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.menu import MenuPanel
from holdtimer.screens.session_view import LastFailures, View, view
from holdtimer.screens.widgets.big_digits import BigDigits
from holdtimer.screens.widgets.big_words import BigWords
from holdtimer.screens.widgets.notice import Notice
from holdtimer.screens.widgets.ruler import Ruler
from holdtimer.screens.widgets.tap_bar import TapBar
from holdtimer.session.events import AnyEvent, Rest

TICKS_PER_S = 20


class SessionScreen(KeyedScreen):
    """Shows the state of the driver's engine; every key goes straight to the driver."""

    DEFAULT_CSS = """
    SessionScreen { padding: 0 1; }
    SessionScreen #top { height: 1; }
    SessionScreen #heading { width: 1fr; text-style: bold; }
    SessionScreen #place { width: auto; text-style: bold; }
    SessionScreen #digits { height: 1fr; min-height: 1; }
    SessionScreen #remaining { width: 1fr; text-align: center; text-style: bold; }
    SessionScreen #lines { height: auto; max-height: 12; }
    SessionScreen .-none { display: none; }
    SessionScreen.-no-clock #digits { display: none; }
    SessionScreen.-no-clock #headline { margin-top: 1; }
    SessionScreen.-no-clock #lines { height: 1fr; margin-top: 1; }
    """

    def __init__(
        self, driver: Driver, last: LastFailures, remarks: tuple[str, ...], begin: Callable[[], None]
    ) -> None:
        super().__init__()
        self._begin = begin
        self._driver = driver
        self._last = last
        self._remarks = remarks
        self._shown: View | None = None

    def compose(self) -> ComposeResult:
        """Lay the parts out from top to bottom."""
        with Horizontal(id="top"):
            yield Static(id="heading", markup=False)
            yield Static(id="place", markup=False)
        yield Notice(id="notice")
        yield BigDigits(id="digits")
        yield Static(id="remaining", markup=False)
        yield Ruler(id="ruler")
        yield BigWords(id="headline")
        yield Static(id="lines", markup=False)
        yield MenuPanel(id="menu")
        yield HelpPanel()
        yield TapBar(id="tap")

    def on_mount(self) -> None:
        """Begin to tick."""
        self._driver.listen(self._heard)
        self._begin()
        self.set_interval(1 / TICKS_PER_S, self._tick)
        self._show()
        # no collection may hold the interpreter up while a key comes in
        gc.collect()
        gc.freeze()
        gc.disable()

    def on_unmount(self) -> None:
        """Let memory be collected again."""
        gc.enable()

    def on_resize(self, event: events.Resize) -> None:
        """Give the words as much room as the terminal has."""
        rows = event.size.height
        self.query_one("#tap", TapBar).styles.height = 4 if rows < 30 else 6 if rows < 50 else 8
        self.query_one("#ruler", Ruler).styles.height = 4 if rows < 30 else 5 if rows < 50 else 6
        self.query_one("#headline", BigWords).max_rows = 3 if rows < 30 else 6 if rows < 50 else 9

    def press(self, name: str, at: float) -> None:
        """Hand the key to the driver; `?` also turns the help."""
        panel = self.query_one(HelpPanel)
        panel.turn(name == "question_mark" and not panel.is_open)
        self._driver.key(name, at)
        self._show()

    def keyboard(self, has: bool, at: float) -> None:
        """Hand on whether the keyboard reaches this program."""
        self._driver.focus(has, at)
        self._show()

    def _heard(self, new: list[AnyEvent]) -> None:
        if any(isinstance(event, Rest) for event in new):
            gc.collect()

    def _tick(self) -> None:
        self._driver.tick()
        self._show()
        if self._driver.is_done:
            self.dismiss()

    def _troubles(self) -> tuple[str, ...]:
        noted = ("noted, not yet saved",) if self._driver.is_noted_only else ()
        return (*noted, *self._remarks)

    def _show(self) -> None:
        """Change what differs from what is shown."""
        engine = self._driver.engine
        now_shown = view(engine, self._driver.now(), self._last, self._troubles())
        self.query_one("#menu", MenuPanel).menu = engine.menu
        if now_shown == self._shown:
            return
        self._shown = now_shown
        self.set_class(now_shown.tone == "work", "-in-work")
        self.set_class(not now_shown.digits, "-no-clock")
        self.query_one("#heading", Static).update(now_shown.heading)
        self.query_one("#place", Static).update(now_shown.place)
        self.query_one("#notice", Notice).text = " · ".join(now_shown.notices)
        digits = self.query_one("#digits", BigDigits)
        digits.look = "solid" if now_shown.tone == "work" else "hollow"
        digits.text = now_shown.digits
        self._put("#remaining", now_shown.remaining)
        self._put("#lines", "\n".join(now_shown.lines))
        headline = self.query_one("#headline", BigWords)
        headline.text = now_shown.headline
        headline.set_class(not now_shown.headline, "-none")
        ruler = self.query_one("#ruler", Ruler)
        ruler.data = now_shown.ruler
        ruler.set_class(now_shown.ruler is None, "-none")
        tap = self.query_one("#tap", TapBar)
        tap.words, tap.live = now_shown.tap, now_shown.tap_counts

    def _put(self, selector: str, text: str) -> None:
        widget = self.query_one(selector, Static)
        widget.update(text)
        widget.set_class(not text, "-none")
