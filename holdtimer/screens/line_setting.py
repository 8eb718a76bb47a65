"""Lines of smaller words: set in large letters as far as there is room, in ordinary ones below that."""

from collections.abc import Sequence
from functools import lru_cache
from textwrap import wrap

from holdtimer.screens.bitmap import WHOLE_CELLS
from holdtimer.screens.lettering import word
from holdtimer.screens.view import Line

LARGE_ROWS = 3
LARGEST_ROWS = 5  # lines never come larger, so that they stay smaller than the headline above them
LABEL_COLUMNS = 11


def set_lines(lines: Sequence[Line], columns: int, rows: int) -> list[str]:
    """Set lines under each other in at most so many rows.

    All come in the largest letters in which they fit. Where not even the smallest large ones do, the first
    lines come in those as far as all others still fit. Where not even ordinary letters fit, the last lines
    give way, each as a whole.
    """
    for size in range(LARGEST_ROWS, LARGE_ROWS, -1):
        larger = [large_line(line, columns, size) for line in lines]
        if all(larger) and _height([block for block in larger if block], gap=1) < rows:
            return _joined([block for block in larger if block], gap=1)
    plain = _fitting([plain_line(line, columns, any(each.label for each in lines)) for line in lines], rows)
    large = [large_line(line, columns) for line in lines[: len(plain)]]
    for count in range(len(plain), 0, -1):
        grown = [block for block in large[:count] if block]
        others = _joined(plain[count:], gap=0)
        drawn = _joined([*grown, others] if others else grown, gap=1)
        if len(grown) == count and len(drawn) <= rows:
            return drawn
    return _joined(plain, gap=1 if _height(plain, gap=1) <= rows else 0)


def plain_rows(lines: Sequence[Line], columns: int) -> int:
    """Return how many rows lines take in ordinary letters."""
    has_labels = any(line.label for line in lines)
    return sum(len(plain_line(line, columns, has_labels)) for line in lines)


def large_rows(lines: Sequence[Line], columns: int) -> int | None:
    """Return how many rows lines take in large letters; None where one can't come in them."""
    blocks = [large_line(line, columns) for line in lines]
    if not all(blocks):
        return None
    return _height([block for block in blocks if block], gap=1)


def plain_line(line: Line, columns: int, has_labels: bool) -> list[str]:
    """Return a line in ordinary letters, its label in a column of its own."""
    room = max(1, columns - LABEL_COLUMNS * has_labels)
    if len(line.label) >= LABEL_COLUMNS:
        return wrap(f"{line.label}: {line.text}", max(1, columns)) or [""]
    texts = wrap(line.text, room) or [""]
    labels = [line.label] + [""] * (len(texts) - 1)
    width = LABEL_COLUMNS * has_labels
    return [f"{label:{width}}{text}" if width else text for label, text in zip(labels, texts, strict=True)]


def large_line(line: Line, columns: int, rows: int = LARGE_ROWS) -> list[str] | None:
    """Return a line in large letters, broken between words; None where a word has no shape or no room."""
    text = f"{line.label}: {line.text}" if line.label else line.text
    return large_text(text, columns, rows)


def large_notice(text: str, columns: int, rows: int) -> list[str] | None:
    """Return a text in one line of large letters with air above and below; None where there is no room."""
    shape = word(text, rows - 1)
    if shape is None or shape.width > 2 * columns - 4:
        return None
    return shape.raised(*((0, 2) if WHOLE_CELLS else (1, 1))).shifted(4).blocks()


@lru_cache(maxsize=256)
def large_text(text: str, columns: int, rows: int = LARGE_ROWS) -> list[str] | None:
    """Return a text in large letters of so many rows, broken between words, an empty row between two lines.

    None where a word has no large shape or is wider than the columns.
    """
    lines, begun = [], ""
    for each in text.split():
        longer = f"{begun} {each}".strip()
        if not begun or _fits(longer, columns, rows):
            begun = longer
        else:
            lines.append(begun)
            begun = each
    lines.append(begun)
    if not all(_fits(line, columns, rows) for line in lines):
        return None
    shapes = [word(line, rows) for line in lines]
    return _joined([shape.blocks() for shape in shapes if shape is not None], gap=1)


def _fits(text: str, columns: int, rows: int) -> bool:
    shape = word(text, rows)
    return shape is not None and (shape.width + 1) // 2 <= columns


def _fitting(blocks: list[list[str]], rows: int) -> list[list[str]]:
    """Return the blocks from the first on that fit; of the first alone, as many rows as do."""
    while len(blocks) > 1 and _height(blocks, gap=0) > rows:
        blocks = blocks[:-1]
    return [block[:rows] for block in blocks]


def _height(blocks: Sequence[list[str]], gap: int) -> int:
    return sum(map(len, blocks)) + gap * (len(blocks) - 1)


def _joined(blocks: Sequence[list[str]], gap: int) -> list[str]:
    return [row for block in blocks for row in [*[""] * gap, *block]][gap:]
