"""What a single cell of a CSV file says, however it is spelt; ValueError tells what would be right."""

import re
from datetime import date, datetime, time, tzinfo

from holdtimer.log.clocks import YEARS
from holdtimer.log.csv_columns import harmless_cell, unguarded
from holdtimer.program.timeline import Side
from holdtimer.session.events import StopReason
from holdtimer.text import one_line

MAX_NOTE = 2000
MAX_SECONDS = 86_400.0

_CLOCK = re.compile(
    r"(?:(\d{1,4}):(?=[0-5]?\d(?:\D|$)))?(\d{1,8}(?:[.,]\d{1,9})?)\s*s?", re.IGNORECASE | re.ASCII
)
_TRUE = frozenset({"yes", "true", "1", "y", "x"})
_FALSE = frozenset({"no", "false", "0", "n"})
_SIDES: dict[str, Side] = {"l": "left", "left": "left", "r": "right", "right": "right", "both": "both"}
_STOPS: dict[str, StopReason] = {"choice": "choice", "symptom": "symptom"}


def words(cell: str) -> str:
    """Return a name or an id, on one line."""
    return one_line(harmless_cell(unguarded(cell)))


def note(cell: str) -> str:
    """Return a text as it is."""
    text = harmless_cell(unguarded(cell))
    if len(text) > MAX_NOTE:
        raise ValueError(f"it may have {MAX_NOTE} characters at most")
    return text


def seconds(cell: str) -> float:
    """Return seconds, from `72`, `72.5`, `1:12` or `1:12.5`."""
    found = _CLOCK.fullmatch(unguarded(cell).strip())
    if found is None:
        raise ValueError("write seconds such as 72.5, or minutes and seconds such as 1:12.5")
    total = 60 * int(found[1] or 0) + float(found[2].replace(",", "."))
    if total > MAX_SECONDS:
        raise ValueError("that is longer than a day; write the seconds since the window opened")
    return round(total, 3)


def count(cell: str) -> int:
    """Return a whole number, 0 to 1,000."""
    found = re.fullmatch(r"(\d{1,4})(?:[.,]0+)?", cell.strip(), re.ASCII)
    if found is None or int(found[1]) > 1000:
        raise ValueError("write a whole number such as 3")
    return int(found[1])


def effort(cell: str) -> int:
    """Return an effort, 0 to 10."""
    try:
        value = count(cell)
    except ValueError:
        value = 11
    if value > 10:
        raise ValueError("write a whole number from 0 (none) to 10 (all there was)")
    return value


def flag(cell: str) -> bool:
    """Return yes or no."""
    word = cell.strip().casefold()
    if word not in _TRUE | _FALSE:
        raise ValueError("write yes or no, or leave it empty")
    return word in _TRUE


def side(cell: str) -> Side:
    """Return a side."""
    found = _SIDES.get(cell.strip().casefold())
    if found is None:
        raise ValueError("write left, right or both")
    return found


def stop(cell: str) -> StopReason | None:
    """Return why a set was stopped; None for a plain no."""
    word = cell.strip().casefold()
    if word in _FALSE:
        return None
    if word not in _STOPS:
        raise ValueError("write choice, or symptom where something felt wrong, or leave it empty")
    return _STOPS[word]


def moment(cell: str, zone: tzinfo) -> tuple[datetime, bool]:
    """Return an aware time to the millisecond, and whether it was a date only (then it is midnight)."""
    text = unguarded(cell).strip()
    try:
        found = _moment(text, zone)
        found[0].utcoffset()
    except (ValueError, OverflowError):
        raise ValueError(
            "write a time such as 2026-05-12 18:40 or 2026-05-12T18:40+02:00, or a date such as 2026-05-12"
        ) from None
    if found[0].year not in YEARS:
        raise ValueError(f"write the year with four digits, {YEARS[0]} to {YEARS[-1]}")
    return found


def _moment(text: str, zone: tzinfo) -> tuple[datetime, bool]:
    try:
        return datetime.combine(date.fromisoformat(text), time(), zone), True
    except ValueError:
        found = datetime.fromisoformat(text)
    found = found.replace(microsecond=found.microsecond // 1000 * 1000)
    return (found if found.tzinfo else found.replace(tzinfo=zone)), False
