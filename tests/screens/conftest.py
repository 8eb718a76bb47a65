"""What every test of a screen shares: the demo apps, and a screen written down as text.

A screen is kept as text with its styles beside it, not as SVG: 80x24 is a few kB instead of some 60, no
random id or font is in it, and in a review two screens can be compared letter by letter, colours named.
"""

import importlib.util
from collections.abc import Callable
from functools import cache
from io import StringIO
from itertools import groupby
from pathlib import Path
from types import ModuleType

import pytest
from rich.console import Console
from rich.segment import Segment
from rich.style import Style
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from textual._compositor import Compositor
from textual.app import App
from textual.pilot import Pilot
from textual.theme import Theme

from holdtimer.screens.bitmap import Bitmap
from holdtimer.screens.themes import DAYLIGHT
from tests.published.letter_heights import ROWS, SIZES

DEMOS = Path(__file__).parent / "demos"


def load(path: Path) -> ModuleType:
    """Load a file that belongs to no package."""
    spec = importlib.util.spec_from_file_location(f"demos_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def demos() -> dict[str, Callable[[], App]]:
    """Every `demo_NAME` function of the files in `demos/`, as `file.NAME`."""
    return {
        f"{path.stem}.{name.removeprefix('demo_')}": function
        for path in sorted(DEMOS.glob("*.py"))
        for name, function in vars(load(path)).items()
        if name.startswith("demo_")
    }


def screen_lines(app: App) -> list[list[Segment]]:
    """What the terminal shows now: one list of segments a row."""
    console = Console(
        width=app.size.width,
        height=app.size.height,
        file=StringIO(),
        force_terminal=True,
        color_system="truecolor",
        legacy_windows=False,
    )
    shown = app.screen._compositor.render_update(full=True, screen_stack=app._background_screens)
    segments = [segment for segment in console.render(shown) if not segment.control]
    return [list(line) for line in Segment.split_lines(segments)]


@cache
def written_style(style: Style | None) -> str:
    """A style without what a person can't see (links and handlers)."""
    return str((style or Style()).clear_meta_and_links())


def written(app: App) -> str:
    """The screen as text: its rows, then per row which style runs over how many cells, then the styles."""
    names: dict[str, str] = {}
    rows, runs = [], []
    for line in screen_lines(app):
        rows.append("".join(segment.text for segment in line).rstrip())
        cells = [
            (names.setdefault(written_style(segment.style), f"s{len(names)}"), segment.cell_length)
            for segment in line
            if segment.cell_length
        ]
        runs.append(
            " ".join(
                f"{name}x{sum(length for _, length in group)}"
                for name, group in groupby(cells, key=lambda each: each[0])
            )
        )
    styles = [f"{name}  {style}" for style, name in names.items()]
    size = f"{app.size.width}x{app.size.height}"
    return "\n".join([size, *rows, "", "styles", *runs, "", *styles, ""])


class WrittenScreen(SingleFileSnapshotExtension):
    """One text file a picture, so that a review shows one screen at a time."""

    file_extension = "txt"
    _write_mode = WriteMode.TEXT


def enclosed(shape: Bitmap) -> int:
    """Count the parts of a field that its shape encloses."""
    row = shape.width + 2  # an empty rim all round, all of it as one number
    inked = sum(dots << row * y + 1 for y, dots in enumerate(shape.rows, 1))
    empty = (1 << row * (shape.height + 2)) - 1 & ~inked
    found = -1
    while empty:
        part, grown = 0, empty & -empty
        while part != grown:
            part = grown
            grown = (part | part << 1 | part >> 1 | part << row | part >> row) & empty
        empty &= ~part
        found += 1
    return found


@pytest.fixture
def holes() -> Callable[[Bitmap], int]:
    """Count the counters of a glyph."""
    return enclosed


@pytest.fixture
def screen_picture() -> Callable[[App], str]:
    """Write down what a running app shows."""
    return written


@pytest.fixture
def kept(snapshot: SnapshotAssertion, monkeypatch: pytest.MonkeyPatch) -> SnapshotAssertion:
    """The screens kept from before: `assert screen_picture(app) == kept(name="ready-80x24")`.

    A picture draws all of the screen; the frames between, which nobody sees, are not drawn.
    """
    draw = Compositor.render_update

    def render_update(self: Compositor, full: bool = False, **more: object) -> object:
        if full:
            return draw(self, full, **more)
        self._dirty_regions.clear()
        return None

    monkeypatch.setattr(Compositor, "render_update", render_update)
    return snapshot.use_extension(WrittenScreen)


@pytest.fixture
def demo() -> Callable[[str], App]:
    """A demo app by its name, as `tests/bench/pictures.py` names it."""
    found = demos()
    return lambda name: found[name]()


@pytest.fixture
def sized() -> Callable:
    """Bring a running app into another size of terminal."""

    async def sized(pilot: Pilot, size: tuple[int, int]) -> str:
        if pilot.app.size != size:
            await pilot.resize_terminal(*size)
            await pilot.pause()
        return "{}x{}".format(*size)

    return sized


@pytest.fixture
def rows_of_digits() -> Callable[[App], int]:
    """Count the rows in which the large digits have ink."""

    def count(app: App) -> int:
        digits = app.screen.query_one("#digits")
        return sum(bool(digits.render_line(y).text.strip()) for y in range(digits.size.height))

    return count


@pytest.fixture
def digits_as_high_as_listed(rows_of_digits: Callable[[App], int]) -> Callable[[App, str, str], bool]:
    """Whether the digits have the rows that `tests/published/letter_heights.py` gives them, if it does."""

    def check(app: App, layout: str, moment: str) -> bool:
        listed = ROWS.get((layout, moment))
        return listed is None or rows_of_digits(app) == listed[SIZES.index(tuple(app.size))]

    return check


IN_WORK = ("working", "final_stretch", "back_in")
OUT_OF_WORK = ("ready", "count_in", "failed", "rest", "asks")
FEW_COLOURS = {"TERM": "xterm"}, {"TERM": "vt100"}, {"TERM": "linux"}


class FewColours:
    """Terminals that have no colours for us: work is told from the rest by reverse video there."""

    def __init__(self, filters: list[tuple]) -> None:
        self.filters = filters

    def check(self, app: App, moment: str, theme: Theme) -> None:
        """Look at a moment through the filters of each of these terminals, in one running app."""
        own = app._terminal_filters
        for filters in self.filters if moment in IN_WORK + OUT_OF_WORK else ():
            wear_filters(app, filters)
            self.check_shown(app, moment, theme)
        wear_filters(app, own)

    def check_shown(self, app: App, moment: str, theme: Theme) -> None:
        """Look at what the app shows now."""
        shown = [
            (character, segment.style)
            for line in screen_lines(app)
            for segment in line
            for character in segment.text
        ]
        assert all(style.color is None and style.bgcolor is None for _, style in shown)
        share = sum(bool(style.reverse) != (character == "█") for character, style in shown) / len(shown)
        light = 1 - share if theme is DAYLIGHT else share
        assert light > 0.5 if moment in IN_WORK else light < 0.45, (moment, theme.name, light)


def wear_filters(app: App, filters: tuple) -> None:
    """Give a running app the filters of another terminal; nothing drawn for the last one is kept."""
    app._terminal_filters = filters
    for widget in (app.screen, *app.screen.walk_children()):
        widget._styles_cache.clear()


@cache
def filters_of_few_colours() -> list[tuple]:
    """What the app puts between itself and terminals of few colours; where two get the same, once."""
    filters = {}
    for given in FEW_COLOURS:
        with pytest.MonkeyPatch.context() as terminal:
            for name, value in given.items():
                terminal.setenv(name, value)
            found = demos()["session.working"]()._terminal_filters
        assert found
        filters[str([(type(each), vars(each)) for each in found])] = found
    return list(filters.values())


@pytest.fixture
def few_colours() -> FewColours:
    """What the app puts between itself and terminals of few colours."""
    return FewColours(filters_of_few_colours())


@pytest.fixture(autouse=True)
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing moves by itself, and no setting of this machine reaches a picture."""
    monkeypatch.setattr("textual.constants.TEXTUAL_ANIMATIONS", "none")
    for name in ("NO_COLOR", "TEXTUAL_THEME", "COLORTERM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")


@pytest.fixture
def segments() -> Callable[[App], list[list[Segment]]]:
    """What a running app shows, cell by cell with its colours."""
    return screen_lines
