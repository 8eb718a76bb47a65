"""Work windows and weeks drawn in one line of text: rulers, what is expected, the curve of results."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from holdtimer.session.results import SetResult
from holdtimer.text import clock

_STEPS = (15, 30, 60, 120, 300)  # seconds between numbers on the scale


@dataclass(frozen=True, slots=True)
class Glyphs:
    """The characters that are drawn with; `levels` are those of a curve, lowest first."""

    worked: str
    idle: str
    failed: str
    back: str
    likely: str
    middle: str
    levels: str
    to_end: str


UNICODE = Glyphs("━", "·", "▼", "▽", "─", "◆", "▁▂▃▄▅▆▇", "█")
ASCII = Glyphs("=", ".", "x", "o", "-", "*", "_.-=^", "+")
BAND = ("[", "]")
ANOTHER_RUNG = "|"
_LOWEST = 1 / 3  # the share of a window that a curve begins at


@dataclass(frozen=True, slots=True)
class Axis:
    """Seconds across so many columns, from the opening of a window."""

    seconds: float
    columns: int

    def edge(self, at: float) -> int:
        """Return the edge between two columns that is nearest to an instant."""
        return round(max(0.0, min(1.0, at / self.seconds)) * self.columns)

    def cell(self, at: float, window_s: float) -> int:
        """Return the column that shows an instant of a window."""
        return min(self.edge(at), self.edge(window_s) - 1)

    def scale(self, marks: Iterable[float] = ()) -> str:
        """Return seconds as numbers, each at its place: both ends, these marks, and others that have room."""
        line = [" "] * self.columns
        least_s = (len(clock(self.seconds)) + 1) * self.seconds / self.columns
        step = next((each for each in _STEPS if each > least_s), _STEPS[-1])
        for at in (0.0, self.seconds, *marks, *range(step, int(self.seconds), step)):
            text = clock(at)
            start = min(self.edge(at), self.columns - len(text))
            if not "".join(line[max(0, start - 1) : start + len(text) + 1]).strip():
                line[start : start + len(text)] = text
        return "".join(line)


def ruler(result: SetResult, axis: Axis, glyphs: Glyphs) -> str:
    """Draw the window of a set: when it was worked, the band, each stamp; the first failure above all."""
    window = result.window_s
    cells = _track(axis, window, result.worked, glyphs.worked, glyphs.idle)
    _bracket(cells, axis, window, result.band_s)
    first = [] if result.first_failure_s is None else [result.first_failure_s]
    for sign, times in (
        (glyphs.back, result.reentries_s),
        (glyphs.failed, (*result.failures_s, *first)),
    ):
        for at in times:
            cells[axis.cell(at, window)] = sign
    return "".join(cells)


def expectation(
    expected_s: tuple[float, float, float],
    window_s: float,
    band_s: tuple[float, float],
    axis: Axis,
    glyphs: Glyphs,
) -> str:
    """Draw where failure is expected on most days, and the middle of it, in a window with its band."""
    low, middle, high = expected_s
    cells = _track(axis, window_s, [(min(low, window_s), min(high, window_s))], glyphs.likely, glyphs.idle)
    _bracket(cells, axis, window_s, band_s)
    if middle < window_s:
        cells[axis.cell(middle, window_s)] = glyphs.middle
    return "".join(cells)


def _track(
    axis: Axis, window_s: float, spans: Iterable[tuple[float, float]], within: str, outside: str
) -> list[str]:
    cells = [outside] * axis.edge(window_s)
    for start, end in spans:
        cells[axis.edge(start) : axis.edge(end)] = within * (axis.edge(end) - axis.edge(start))
    return cells


def _bracket(cells: list[str], axis: Axis, window_s: float, band_s: tuple[float, float]) -> None:
    low, high = band_s
    cells[axis.cell(low, window_s)] = BAND[0]
    cells[axis.edge(high) - 1] = BAND[1]


@dataclass(frozen=True, slots=True)
class Bar:
    """One result in a curve: the share of its window that it lasted (None: to the end), and its rung."""

    share: float | None
    rung: int


def curve(bars: Sequence[Bar], columns: int, glyphs: Glyphs) -> str:
    """Draw the last results that have room, oldest first, a bar where the rung changed between two."""
    drawn: list[str] = []
    for at, bar in enumerate(bars):
        if at and bar.rung != bars[at - 1].rung:
            drawn.append(ANOTHER_RUNG)
        drawn.append(_level(bar, glyphs))
    return "".join(drawn[-columns:])


def curve_columns(bars: Sequence[Bar]) -> int:
    """Return the columns of the curve of all these results."""
    return len(curve(bars, 2 * len(bars), ASCII))


def _level(bar: Bar, glyphs: Glyphs) -> str:
    if bar.share is None:
        return glyphs.to_end
    height = (bar.share - _LOWEST) / (1 - _LOWEST) * len(glyphs.levels)
    return glyphs.levels[min(max(int(height), 0), len(glyphs.levels) - 1)]
