"""The line that says what a tap does now: a key with TAP on it, then the words."""

from holdtimer.screens.bitmap import BLOCKS, WHOLE_CELLS, box, read_blocks
from holdtimer.screens.lettering import LEAST_ROWS, lettering, plain_lines, word

_FILLED = ("▟█████▙", "███████", "█ TAP █", "▜█████▛")
_HOLLOW = ("▛▀▀▀▀▀▜", "▌     ▐", "▌  –  ▐", "▙▄▄▄▄▄▟")


def tap_rows(words: str, columns: int, rows: int, live: bool = True) -> list[str]:
    """Draw the key and the words beside it in exactly `rows` rows.

    The key is filled when a tap counts and a bare rim with a dash when none does. It gives up its large
    letters first, so that the words keep theirs.
    """
    space = max(3, rows // 2 + 1)
    most = rows - (rows > 3) - (rows > 6)
    for key in (_large_key(rows, live), _plain_key(rows, live)):
        if key is None or len(key[0]) + space > columns // 2:
            continue
        drawn = lettering(words, columns - len(key[0]) - space, most)
        if len(drawn) >= LEAST_ROWS:
            return _beside(key, drawn, space)
    key = _plain_key(rows, live)
    return _beside(key, plain_lines(words, columns - len(key[0]) - space, most), space)


def _beside(key: list[str], words: list[str], space: int) -> list[str]:
    """Set the words at half height beside the key; large ones to the half row where there are such."""
    spare = len(key) - len(words)
    if WHOLE_CELLS or not set("".join(words)) <= set(BLOCKS):
        lines = [""] * ((spare + 1) // 2) + words + [""] * (spare // 2)
    else:
        lines = read_blocks(words).raised(spare, spare).blocks()
    return [f"{one}{'':{space}}{other}" for one, other in zip(key, lines, strict=True)]


def _large_key(rows: int, live: bool) -> list[str] | None:
    """Draw a key whose letters are cut out of it; None where they would be too small."""
    height = 2 * rows
    margin = max(1, height // 5)
    letters = word("TAP", rows - margin)
    if letters is None:
        return None
    width = (letters.width + 4 * margin + 3) // 2 * 2
    cap = box(0, 0, width, height, height, radius=margin + 0.5)
    if not live:
        cap = cap.outline(max(1, height // 14))
        half = width / 4
        dash = box(half, rows - 1, width - half, rows + max(1, margin // 2), height)
        return (cap | dash).within(width).blocks()
    above = (height - letters.height) // 2
    inside = letters.raised(above, height - letters.height - above).shifted((width - letters.width) // 2)
    return (cap - inside).blocks()


def _plain_key(rows: int, live: bool) -> list[str]:
    """Draw a key with plain letters, or a rim with a dash."""
    top, empty, label, bottom = _FILLED if live else _HOLLOW
    if rows < 3:
        return [label] + [" " * len(label)] * (rows - 1)
    inner = [label if row == rows // 2 else empty for row in range(1, rows - 1)]
    return [top, *inner, bottom]
