"""The screen of a running session: ready, count-in, work window, rest."""

import gc
from collections.abc import Callable

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from holdtimer.live.driver import Driver
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.fit import set_lines
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.screens.layout import SIDES, USUAL, Arrangement, arrange, from_afar
from holdtimer.screens.painted import (
    HELP_ROWS,
    HelpPanel,
    MenuPanel,
    Painted,
    clock_face,
    headline,
    menu_rows,
    notice,
    tap_bar,
    word_stack,
)
from holdtimer.screens.ruler import ruler
from holdtimer.screens.view import Kept, LastFailures, View, view
from holdtimer.session.events import AnyEvent, Rest
from holdtimer.session.menu import Menu

TICKS_PER_S = 20
_TOO_SMALL = "enlarge this window, or press Ctrl - for smaller letters"

Shown = tuple[View, Menu | None, bool]


class SessionScreen(KeyedScreen):
    """Shows the state of the driver's engine; every key goes straight to the driver."""

    DEFAULT_CSS = """
    SessionScreen { padding: 0 1; overflow: hidden; }
    SessionScreen #top { height: 1; text-style: bold; }
    SessionScreen #heading { width: 1fr; height: 1; }
    SessionScreen #place { width: auto; height: 1; }
    SessionScreen #stage { height: 1fr; overflow: hidden; }
    SessionScreen.-framed #stage { border: outer $ink; padding: 0 1; }
    SessionScreen #clock { height: auto; }
    SessionScreen #left, SessionScreen #right { width: 1fr; height: 1fr; }
    SessionScreen #lines { height: 1fr; }
    SessionScreen #menu, SessionScreen #help {
        border-title-color: $ink; border-title-background: $field;
        border-subtitle-color: $ink; border-subtitle-background: $field;
    }
    SessionScreen.-in-work #menu, SessionScreen.-in-work #help {
        border: heavy $work-ink; border-title-color: $work-ink; border-title-background: $work-field;
        border-subtitle-color: $work-ink; border-subtitle-background: $work-field;
    }
    """

    def __init__(
        self,
        driver: Driver,
        last: LastFailures,
        remarks: tuple[str, ...],
        begin: Callable[[], None],
        is_far: bool = False,
    ) -> None:
        super().__init__()
        self._is_far = is_far
        self._begin = begin
        self._driver = driver
        self._last = last
        self._remarks = remarks
        self._shown: Shown | None = None
        self._heading, self._place = (Static(id=name, markup=False) for name in ("heading", "place"))
        self._top = Horizontal(self._heading, self._place, id="top")
        self._left, self._right = (Painted(word_stack, (), 0, id=name) for name in ("left", "right"))
        self._digits = Painted(clock_face, "", id="digits", is_moving=True)
        self._clock = Horizontal(self._left, self._digits, self._right, id="clock")
        self._ruler = Painted(ruler, None, id="ruler", is_moving=True)
        self._headline = Painted(headline, "", id="headline")
        self._lines = Painted(set_lines, (), id="lines")
        self._menu, self._help = MenuPanel(id="menu"), HelpPanel()
        self._notice = Painted(notice, "", id="notice", classes="notice")
        self._tap = Painted(tap_bar, "", id="tap")

    def compose(self) -> ComposeResult:
        """Lay the parts out from top to bottom."""
        yield self._top
        with Vertical(id="stage"):
            yield from (self._clock, self._ruler, self._headline, self._lines, self._menu, self._help)
        yield from (self._notice, self._tap)

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

    def on_resize(self, event: events.Resize) -> None:  # noqa: ARG002
        """Arrange all anew."""
        self._shown = None
        self._show()

    def press(self, name: str, at: float) -> None:
        """Hand the key to the driver; `?` also turns the help."""
        self._help.is_open = name == "question_mark" and not self._help.is_open
        self._driver.key(name, at)
        self._show()

    def keyboard(self, has: bool, at: float) -> None:
        """Hand on whether the keyboard reaches this program."""
        self._driver.focus(has, at)
        self._show()

    def _heard(self, new: list[AnyEvent]) -> None:
        if any(isinstance(event, Rest) for event in new):
            gc.collect()

    def _tick(self, read_until: float | None = None) -> None:
        """Let time pass; where a boundary comes before the next tick, look at the keys then and settle it."""
        if self.is_over:
            return
        self._driver.tick(read_until)
        self._show()
        if self._driver.is_done:
            self.end()
        elif read_until is None and (wait := self._driver.until_boundary()) < 1 / TICKS_PER_S:
            self.set_timer(max(wait, 0.001), self._reach_boundary)

    def _reach_boundary(self) -> None:
        if isinstance(self.app, HoldtimerApp):
            self.app.once_read(self._tick)

    # -- what is seen ------------------------------------------------------------------------------------

    def _show(self) -> None:
        """Change what differs from what is shown."""
        driver = self._driver
        kept: Kept = "noted" if driver.is_noted_only else "saved" if driver.is_saved else "written"
        seen = view(driver.engine, driver.now(), self._last, self._to_remark(), kept, driver.player.name)
        seen = from_afar(seen) if self._is_far else seen
        now_shown = (seen, driver.engine.menu, self._help.is_open)
        if now_shown == self._shown:
            return
        self._shown = now_shown
        menu, has_help = now_shown[1:]
        covered = menu_rows(menu) if menu is not None else HELP_ROWS if has_help else 0
        rows = arrange(seen, *self.app.size, covered, is_far=self._is_far)
        self._menu.menu = menu
        self._help.display = has_help and menu is None
        self._make_room(rows)
        self._show_clock(seen, rows, is_covered=covered > 0)
        self._show_words(seen, rows, is_covered=covered > 0)

    def _to_remark(self) -> tuple[str, ...]:
        spoken = self._driver.voice_trouble()
        return (*self._small(), *self._remarks, *((spoken,) if spoken else ()))

    def _small(self) -> tuple[str, ...]:
        is_small = self.app.size.width < USUAL[0] or self.app.size.height < USUAL[1]
        return (_TOO_SMALL,) if is_small else ()

    def _make_room(self, rows: Arrangement) -> None:
        """Give each part its rows."""
        self._headline.styles.padding = (rows.above, 0, rows.below, 0)
        for widget, height in (
            (self._top, rows.heading),
            (self._clock, rows.digits),
            (self._ruler, rows.ruler),
            (self._headline, rows.above + rows.headline + rows.below),
            (self._lines, rows.lines),
            (self._notice, rows.notice),
            (self._tap, rows.tap),
        ):
            widget.display = height > 0
            widget.styles.height = height

    def _show_clock(self, seen: View, rows: Arrangement, is_covered: bool) -> None:
        """Show the field, the digits and the words beside them."""
        self.set_class(seen.state == "work", "-in-work")
        self.set_class(rows.is_framed, "-framed")
        self._digits.display = bool(seen.digits)
        self._digits.styles.width = rows.digits_columns
        look = "solid" if seen.state in ("work", "count-in") else "hollow"
        self._digits.show(seen.digits, look, seen.widest)
        for stack, side in ((self._left, "left"), (self._right, "right")):
            stack.display = bool(seen.beside) and side == seen.beside_at and not is_covered
            stack.show(seen.beside, rows.beside)

    def _show_words(self, seen: View, rows: Arrangement, is_covered: bool) -> None:
        """Say what is to be said; under a menu the way out stays in sight."""
        heading = f"Way out: {seen.way_out}" if is_covered and seen.way_out else seen.heading
        loud = seen.alarm or seen.noted
        said = [loud] if loud and rows.notice > 1 else [loud, *seen.notices]
        _say(self._heading, heading)
        _say(self._place, seen.place(heading, self.app.size.width - SIDES))
        self._ruler.show(seen.ruler)
        self._headline.show(seen.headline)
        self._lines.show(seen.lines)
        is_good = bool(seen.noted) and not seen.alarm
        self._notice.show(" · ".join(filter(None, said)), " " if is_good else "!")
        self._tap.show(seen.tap, seen.tap_counts, seen.no)


def _say(widget: Static, text: str) -> None:
    """Let a widget show a text, unless it already does."""
    if text != widget.content:
        widget.update(text)
