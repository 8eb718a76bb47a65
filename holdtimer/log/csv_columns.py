"""What the two ways of a CSV file share: its columns, and cells that no spreadsheet takes for a formula."""

import re
import unicodedata

from holdtimer.text import is_control

COLUMNS = (
    "started", "ended", "program", "script", "set", "attempt", "exercise", "side", "rung",
    "window_s", "band_low_s", "band_high_s", "first_failure_s", "ran_to_end", "confirmed", "late_tap_s",
    "tension_s", "reentries", "interrupted", "skipped", "stopped", "effort", "form_broke", "pain",
    "off_day", "note",
)  # fmt: skip

_MARK = "'"
_BEGINS_FORMULA = frozenset("=+-@\t\r\n")
_LAYOUT = frozenset("\t\n\r")


def guarded(text: str) -> str:
    """Return a cell that is text to every spreadsheet: a mark before what would begin a formula.

    What begins with marks and then a formula gets one more, so that `unguarded` gives back what was there.
    """
    plain = harmless_cell(text)
    return _MARK + plain if _begins_formula(plain) else plain


def unguarded(cell: str) -> str:
    """Return what a guarded cell stands for: exactly one mark before a formula is taken off."""
    return cell[1:] if cell.startswith(_MARK) and _begins_formula(cell) else cell


def harmless_cell(text: str) -> str:
    """Return a text with control characters as `?`; line breaks and tabs stay."""
    return "".join("?" if is_control(char) and char not in _LAYOUT else char for char in text)


def _begins_formula(text: str) -> bool:
    """Whether a text begins like a formula, in any width of its sign, marks before it aside."""
    first = re.sub(f"^{_MARK}+", "", text)[:1]
    return bool(first) and unicodedata.normalize("NFKC", first) in _BEGINS_FORMULA
