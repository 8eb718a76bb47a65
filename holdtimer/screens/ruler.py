"""The ruler of one work window as rows of text: what was worked, the band, the final stretch, the stamps.

From top to bottom: the stamps in words, the bar (filled where worked, empty where not, a low track for what
is to come, a higher one in the final stretch), the scale with the band as a heavy bracketed stretch, last
time's first failure. Where words would touch, the less important are left out; their marks stay.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from holdtimer.session.results import known_to_run
from holdtimer.session.state import Session, SetState
from holdtimer.text import clock, in_seconds

Stamp = tuple[float, Literal["failure", "re-entry"]]

_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 300)  # seconds between numbers on the scale
_SIGNS = {"failure": "▼", "re-entry": "▽"}
_WORDS = {"failure": "failed", "re-entry": "back in"}


@dataclass(frozen=True, slots=True)
class RulerData:
    """One work window, in seconds since it opened; `now_s` is None before it opens."""

    window_s: float
    band_s: tuple[float, float]
    final_s: float
    now_s: float | None = None
    stamps: tuple[Stamp, ...] = ()
    last_first_failure_s: float | None = None

    def worked(self) -> list[tuple[float, float]]:
        """Return the stretches worked so far, as from and to."""
        now = 0.0 if self.now_s is None else min(self.now_s, self.window_s)
        times = [0.0, *(min(at, now) for at, _ in self.stamps), now]
        kinds = ["re-entry", *(kind for _, kind in self.stamps)]
        return [span for span, kind in zip(pairwise(times), kinds, strict=True) if kind == "re-entry"]


@dataclass(slots=True)
class _Row:
    """A row being filled with words that must not touch."""

    cells: list[str]
    taken: list[bool]

    @classmethod
    def of(cls, width: int) -> "_Row":
        return cls([" "] * width, [False] * width)

    def put(self, start: int, text: str, before: int = 1, after: int = 1) -> bool:
        """Write a text when it fits with so many blanks before and after it; say whether it did."""
        end = start + len(text)
        if start < 0 or end > len(self.cells) or any(self.taken[max(0, start - before) : end + after]):
            return False
        self.cells[start:end] = text
        self.taken[start:end] = [True] * len(text)
        return True

    def name(self, at: int, words: str) -> bool:
        """Put words right or left of the mark at `at`, nearer to it than to any other."""
        return self.put(at + 2, words, after=2) or self.put(at - 1 - len(words), words, before=2)

    def __str__(self) -> str:
        return "".join(self.cells)


def column(data: RulerData, at: float, width: int) -> int:
    """Return the column of an instant, the window's ends being the first and the last column."""
    return round(max(0.0, min(1.0, at / data.window_s)) * (width - 1))


def ruler(width: int, rows: int, data: RulerData | None) -> list[str]:
    """Draw the ruler over the whole width in 3 rows or more; with 3, last time's mark is among the stamps.

    Nothing where no window is open.
    """
    if data is None:
        return []
    stamps = _stamp_row(data, width)
    last = _Row.of(width) if rows > 3 else stamps
    _mark_last(data, last, width, "▲" if rows > 3 else "△")
    out = [str(stamps), *_bar(data, width, max(1, rows - 3)), _scale(data, width)]
    if rows > 3:
        _mark_final(data, last, width)
        out.append(str(last))
    return out


def _stamp_row(data: RulerData, width: int) -> _Row:
    """Mark the stamps, then name them: the first failure before all, then the newest first."""
    row = _Row.of(width)
    for at, kind in data.stamps:
        row.put(column(data, at, width), _SIGNS[kind], before=0, after=0)
    first = next((stamp for stamp in data.stamps if stamp[1] == "failure"), None)
    others = [stamp for stamp in reversed(data.stamps) if stamp is not first]
    for at, kind in [first, *others] if first else others:
        row.name(column(data, at, width), f"{clock(at)} {_WORDS[kind]}")
    return row


def _mark_last(data: RulerData, row: _Row, width: int, sign: str) -> None:
    if data.last_first_failure_s is not None:
        at = column(data, data.last_first_failure_s, width)
        if row.put(at, sign):
            row.name(at, f"last time {clock(data.last_first_failure_s)}")


def _mark_final(data: RulerData, row: _Row, width: int) -> None:
    words = f"final {in_seconds(data.final_s)}"
    row.put(width - len(words), words, before=3)


def _bar(data: RulerData, width: int, rows: int) -> list[str]:
    """Draw what was worked as filled, what was not as empty, and what is to come as a low track."""

    def edge(at: float) -> int:
        return round(max(0.0, min(1.0, at / data.window_s)) * width)

    now = edge(data.now_s or 0)
    past = [" "] * now
    for start, end in data.worked():
        past[edge(start) : edge(end)] = "█" * (edge(end) - edge(start))
    here = "▌" if data.now_s is not None and now < width else ""
    track = ["▁" if at < edge(data.window_s - data.final_s) else "▄" for at in range(now + len(here), width)]
    high = "".join(past) + here
    return [high.ljust(width)] * (rows - 1) + [high + "".join(track)]


def _scale(data: RulerData, width: int) -> str:
    """Write the seconds, the band as a heavy bracketed stretch with its name before all else."""
    row = _Row.of(width)
    low, high = (column(data, at, width) for at in data.band_s)
    line = ["━" if low <= at <= high else "─" for at in range(width)]
    line[low], line[high] = "┣", "┫"
    _band_words(data, row, low, high)
    step = next((step for step in _STEPS if width * step / data.window_s >= 9), _STEPS[-1])
    for at in (0.0, data.window_s, *range(step, int(data.window_s), step)):
        text = clock(at)
        start = min(max(0, column(data, at, width) - len(text) // 2), width - len(text))
        if not {low, high} & set(range(start, start + len(text))):
            row.put(start, text)
    blank = [any(row.taken[max(0, at - 1) : at + 2]) and line[at] in "━─" for at in range(width)]
    return "".join(
        cell if taken else " " if air else rule
        for cell, taken, air, rule in zip(row.cells, row.taken, blank, line, strict=True)
    )


def _band_words(data: RulerData, row: _Row, low: int, high: int) -> None:
    """Write the ends of the band inside its brackets and its name between them, as far as there is room."""
    left, right = (clock(at) for at in data.band_s)
    room = high - low - 1
    row.taken[low] = row.taken[high] = False
    name = "band"
    if room >= len(left) + len(right) + len(name) + 4:
        row.put(low + 1, left)
        row.put(high - len(right), right)
        row.put((low + high + 1 - len(name)) // 2, name)
    elif room >= len(name):
        row.put(low + 1 + (room - len(name)) // 2, name)
        row.put(low - len(left) - 1, left)
        row.put(high + 2, right)
    else:
        row.put(low - len(name) - 1, name) or row.put(high + 2, name)


def ruler_data(session: Session, each: SetState) -> RulerData | None:
    """Return what the ruler of a set that is over shows; None where its window was never opened."""
    if not each.begun:
        return None
    ran = known_to_run(session, each)
    stamps = tuple((stamp.at, stamp.kind) for stamp in ran.stamps)
    end = ran.ended_at
    if each.paper is not None:
        if not stamps and each.paper.first_failure_s is not None:
            stamps = ((each.paper.first_failure_s, "failure"),)
        end = each.window_s
    return RulerData(each.window_s, each.band_s, each.final_s, end, stamps)


UNKNOWN = str.maketrans("█", "▒")  # of a window that closed in silence nobody knows how long it was worked


def small_ruler(width: int, data: RulerData | None) -> list[str]:
    """Draw a ruler in two rows: what was worked with the stamps in it, and the band."""
    if data is None:
        return ["", ""]
    end = round(min(data.now_s or 0.0, data.window_s) / data.window_s * width)
    row = ["─" if at < end else " " for at in range(width)]
    for begin, stop in data.worked():
        first, last = (round(at / data.window_s * width) for at in (begin, stop))
        row[first:last] = "█" * (last - first)
    for at, kind in data.stamps:
        row[column(data, at, width)] = "▼" if kind == "failure" else "▽"
    low, high = (column(data, at, width) for at in data.band_s)
    scale = ["━" if low <= at <= high else "╌" for at in range(width)]
    scale[low], scale[high] = "┣", "┫"
    for at, words in ((low + 2, f" {data.band_s[0]:g} "), (high - 5, f" {data.band_s[1]:g} ")):
        if high - low > 20:
            scale[at : at + len(words)] = words
    return ["".join(row), "".join(scale)]
