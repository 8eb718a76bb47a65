"""The words of a page, set for the room there is: larger where they all fit."""

from collections.abc import Sequence
from textwrap import wrap

from holdtimer.screens.line_setting import large_text


def page_text(lines: Sequence[str], columns: int, rows: int, *, is_urgent: bool = False) -> list[str]:
    """Return the rows of a page; more than `rows` where it has to be scrolled.

    The first lines come in large letters as far as all others still fit; where the page is urgent the first
    one always does. An empty line parts paragraphs, an indented one is an item of a list.
    """
    least = 1 if is_urgent else 0
    plain = [_plain(line, columns) for line in lines]
    large = [_large(line, columns) for line in lines]
    for count in range(len(lines), least, -1):
        drawn = _rows([*large[:count], *plain[count:]])
        if len(drawn) <= rows:
            return drawn
    return _rows([*large[:least], *plain[least:]])


def _rows(blocks: Sequence[list[str]]) -> list[str]:
    return [row for block in blocks for row in block]


def _plain(line: str, columns: int) -> list[str]:
    """Return a line in ordinary letters; an item of a list hangs from its dash."""
    if line.startswith(" "):
        return wrap(line.strip(), max(8, columns), initial_indent="  - ", subsequent_indent="    ")
    return wrap(line, max(1, columns)) or [""]


def _large(line: str, columns: int) -> list[str]:
    """Return a line in large letters with an empty row below, in ordinary ones where they have no shape."""
    if not line:
        return [""]
    drawn = large_text(f"- {line.strip()}" if line.startswith(" ") else line, columns)
    return [*(drawn or _plain(line, columns)), ""]
