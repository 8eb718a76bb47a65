"""Lines of which one is marked: that one in large letters behind an arrow, the others as the room allows."""

from collections.abc import Sequence
from textwrap import wrap

from rich.text import Text

from holdtimer.screens.line_setting import LARGE_ROWS, LARGEST_ROWS, large_text

MARK = 6  # columns before the words of a line

_ARROW = ("▙▖", "██▙▖", "▛▘")
_SMALL_ARROW = " ▶"


def marked_list(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> tuple[list[Text], int]:
    """Return the rows of all lines, more than `rows` where it has to be scrolled, and the first marked one.

    All come in the largest letters in which they fit; else the marked one alone, and where there is air, a
    row of it after each.
    """
    blocks = _all_large(lines, marked, columns, rows) or _one_large(lines, marked, columns, rows)
    if sum(map(len, blocks)) + len(blocks) <= rows:
        blocks = [[*block, Text()] for block in blocks]
    first = sum(map(len, blocks[:marked])) if marked is not None else 0
    return [row for block in blocks for row in block], first


def marked_line(words: str, columns: int, rows: int) -> list[Text]:
    """Return the marked line in so many rows, in reverse where its words have no room in large letters."""
    large = _largest(words, _room(columns), rows)
    if large is None:
        return [
            Text(row.ljust(columns), "reverse")
            for row in _in_the_middle([f"{_SMALL_ARROW:{MARK}}{words}"], rows)
        ]
    return _behind_an_arrow(large, rows)


def plain_line(words: str, columns: int) -> list[Text]:
    """Return a line that is not marked, in ordinary letters."""
    return [Text(f"{'':{MARK}}{row}") for row in wrap(words, _room(columns)) or [""]]


def _room(columns: int) -> int:
    return max(1, columns - MARK - 1)


def _all_large(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> list[list[Text]] | None:
    for size in range(LARGEST_ROWS, LARGE_ROWS - 1, -1):
        drawn = [large_text(line, _room(columns), size) or [] for line in lines]
        if all(drawn) and sum(map(len, drawn)) + len(drawn) <= rows:
            arrows = [_behind_an_arrow if at == marked else _indented for at in range(len(drawn))]
            return [set_with(each, len(each)) for set_with, each in zip(arrows, drawn, strict=True)]
    return None


def _one_large(lines: Sequence[str], marked: int | None, columns: int, rows: int) -> list[list[Text]]:
    blocks = [plain_line(line, columns) for line in lines]
    if marked is not None:
        spare = rows - sum(map(len, blocks)) + len(blocks[marked])
        large = _largest(lines[marked], _room(columns), min(spare, 2 * LARGEST_ROWS + 1))
        blocks[marked] = (
            _behind_an_arrow(large, len(large))
            if large is not None
            else [
                Text(f"{_SMALL_ARROW:{MARK}}{row.plain[MARK:]}".ljust(columns), "reverse")
                for row in blocks[marked]
            ]
        )
    return blocks


def _behind_an_arrow(drawn: Sequence[str], rows: int) -> list[Text]:
    marks = _in_the_middle(_ARROW, rows)
    return [Text(f"{mark:{MARK}}{row}") for mark, row in zip(marks, _in_the_middle(drawn, rows), strict=True)]


def _indented(drawn: Sequence[str], rows: int) -> list[Text]:
    return [Text(f"{'':{MARK}}{row}") for row in _in_the_middle(drawn, rows)]


def _largest(words: str, columns: int, most: int) -> list[str] | None:
    """Return the words in the largest letters with which they take at most so many rows; None for none."""
    for size in range(most, LARGE_ROWS - 1, -1):
        large = large_text(words, columns, size)
        if large and len(large) <= most:
            return large
    return None


def _in_the_middle(rows: Sequence[str], of: int) -> list[str]:
    above = (of - len(rows)) // 2
    return [""] * above + [*rows] + [""] * (of - len(rows) - above)
