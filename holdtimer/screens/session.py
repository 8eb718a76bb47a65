"""The screen of a running session: ready, count-in, work window, rest."""

import gc
from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from holdtimer.live.driver import Driver
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, Key
from holdtimer.live.terminal import Leave
from holdtimer.screens.app import KeyedScreen
from holdtimer.screens.fit import set_lines
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

_TOO_SMALL = "enlarge this window, or press Ctrl - for smaller letters"

Shown = tuple[View, Menu | None, bool]


class SessionScreen(KeyedScreen):
    """Shows a session that runs in another thread, as it stands whenever there is time to draw it."""

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
        is_far: bool = False,
    ) -> None:
        super().__init__()
        self._is_far = is_far
        self._driver = driver
        self._last = last
        self._remarks = remarks
        self._has_help = self._is_small = False
        self._collects = False  # whether memory is to be collected once a rest is seen
        self._now: Shown | None = None  # how things stand
        self._shown: Shown | None = None  # how they stood when they were drawn
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
        """Get ready to be followed."""
        self._driver.listen(self._heard)
        # no collection may hold the interpreter up while a key comes in
        gc.collect()
        gc.freeze()
        gc.disable()

    def on_unmount(self) -> None:
        """Let memory be collected again."""
        gc.enable()

    def on_resize(self, event: events.Resize) -> None:
        """Arrange everything again."""
        self._is_small = event.size.width < USUAL[0] or event.size.height < USUAL[1]
        self._shown = None
        self.show()

    def follow(self, came: Sequence[Key | Leave] = ()) -> None:
        """Take down how things stand, and have it drawn; in the thread that runs the session.

        `came` is what came from the keyboard; `?` turns the help, and any other key closes it.
        """
        for key in came:
            if isinstance(key, Key) and key.name not in (FOCUS_IN, FOCUS_OUT):
                self._has_help = key.name == "question_mark" and not self._has_help
        driver = self._driver
        kept: Kept = "noted" if driver.is_noted_only else "saved" if driver.is_saved else "written"
        seen = view(driver.engine, driver.now(), self._last, self._to_remark(), kept, driver.player.name)
        seen = from_afar(seen) if self._is_far else seen
        now = (seen, driver.engine.menu, self._has_help)
        if now != self._now:
            self._now = now
            self.call_later(self.show)

    def _heard(self, new: list[AnyEvent]) -> None:
        self._collects = self._collects or any(isinstance(event, Rest) for event in new)

    # -- what is seen ------------------------------------------------------------------------------------

    def show(self) -> None:
        """Draw what differs from what is shown."""
        now_shown = self._now
        if now_shown is None or now_shown == self._shown:
            return
        self._shown = now_shown
        seen, menu, has_help = now_shown
        covered = menu_rows(menu) if menu is not None else HELP_ROWS if has_help else 0
        rows = arrange(seen, *self.app.size, covered, is_far=self._is_far)
        self._menu.menu = menu
        self._help.display = has_help and menu is None
        self._make_room(rows)
        self._show_clock(seen, rows, is_covered=covered > 0)
        self._show_words(seen, rows, is_covered=covered > 0)
        if self._collects:
            self._collects = False
            self.call_after_refresh(gc.collect)

    def _to_remark(self) -> tuple[str, ...]:
        spoken = self._driver.voice_trouble()
        small = (_TOO_SMALL,) if self._is_small else ()
        return (*small, *self._remarks, *((spoken,) if spoken else ()))

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
        classes = {"-in-work": seen.state == "work", "-framed": rows.is_framed}
        self.update_classes(classes, animate=False)  # in one go: the styles of all parts follow from them
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
