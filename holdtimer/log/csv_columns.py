"""The columns of a CSV file: how each cell is read, however it is spelt, and how it is written.

Here are those of sets; `csv_tests` has those of function tests.

Reading raises ValueError, whose text says what would be right.
"""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from operator import attrgetter
from typing import Any

from holdtimer.program.timeline import Side
from holdtimer.session.events import MAX_TEXT, StopReason
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary
from holdtimer.text import YEARS, is_control, one_line

MAX_SECONDS = 86_400.0

_MARK = "'"
_BEGINS_FORMULA = frozenset("=+-@\t\r\n")
_LAYOUT = frozenset("\t\n\r")
_CLOCK = re.compile(
    r"(?:(\d{1,4}):(?=[0-5]?\d(?:\D|$)))?(\d{1,8}(?:[.,]\d{1,9})?)\s*s?", re.IGNORECASE | re.ASCII
)
_TRUE = frozenset({"yes", "true", "1", "y", "x"})
_FALSE = frozenset({"no", "false", "0", "n"})
_SIDES: dict[str, Side] = {"l": "left", "left": "left", "r": "right", "right": "right", "both": "both"}
_STOPS: dict[str, StopReason] = {"choice": "choice", "symptom": "symptom"}


# ---- no spreadsheet may take a cell for a formula


def guarded(text: str) -> str:
    """Return a cell that is text to every spreadsheet: a mark before what would begin a formula.

    What begins with marks and then a formula gets one more, so that `unguarded` gives back what was there.
    """
    plain = _harmless_cell(text)
    return _MARK + plain if _begins_formula(plain) else plain


def unguarded(cell: str) -> str:
    """Return what a guarded cell stands for: exactly one mark before a formula is taken off."""
    return cell[1:] if cell.startswith(_MARK) and _begins_formula(cell) else cell


def _harmless_cell(text: str) -> str:
    """Return a text with control characters as `?`; line breaks and tabs stay."""
    return "".join("?" if is_control(char) and char not in _LAYOUT else char for char in text)


def _begins_formula(text: str) -> bool:
    """Whether a text begins like a formula, in any width of its sign, whatever marks stand before it."""
    first = re.sub(f"^{_MARK}+", "", text)[:1]
    return bool(first) and unicodedata.normalize("NFKC", first) in _BEGINS_FORMULA


# ---- reading one cell


def read_words(cell: str) -> str:
    """Return a name or an id, on one line."""
    return one_line(_harmless_cell(unguarded(cell)))


def _read_note(cell: str) -> str:
    text = _harmless_cell(unguarded(cell))
    if len(text) > MAX_TEXT:
        raise ValueError(f"it may have {MAX_TEXT} characters at most")
    return text


def read_seconds(cell: str) -> float:
    """Return seconds, from `72`, `72.5`, `1:12` or `1:12.5`."""
    found = _CLOCK.fullmatch(unguarded(cell).strip())
    if found is None:
        raise ValueError("write seconds such as 72.5, or minutes and seconds such as 1:12.5")
    total = 60 * int(found[1] or 0) + float(found[2].replace(",", "."))
    if total > MAX_SECONDS:
        raise ValueError("that is longer than a day; write the seconds since the window opened")
    return round(total, 3)


def read_number(cell: str) -> float:
    """Return a number, to four decimal places."""
    found = re.fullmatch(r"\d{1,8}(?:[.,]\d{1,9})?", unguarded(cell).strip(), re.ASCII)
    if found is None:
        raise ValueError("write a number such as 46 or 7.62")
    return round(float(found[0].replace(",", ".")), 4)


def read_count(cell: str) -> int:
    """Return a whole number up to 1000."""
    found = re.fullmatch(r"(\d{1,4})(?:[.,]0+)?", cell.strip(), re.ASCII)
    if found is None or int(found[1]) > 1000:
        raise ValueError("write a whole number such as 3")
    return int(found[1])


def _read_effort(cell: str) -> int:
    try:
        value = read_count(cell)
    except ValueError:
        value = 11
    if value > 10:
        raise ValueError("write a whole number from 0 (no effort) to 10 (all you had)")
    return value


def read_flag(cell: str) -> bool:
    """Return a yes or a no, however it is spelt."""
    word = cell.strip().casefold()
    if word not in _TRUE | _FALSE:
        raise ValueError("write yes or no, or leave it empty")
    return word in _TRUE


def _read_side(cell: str) -> Side:
    found = _SIDES.get(cell.strip().casefold())
    if found is None:
        raise ValueError("write left, right or both")
    return found


def _read_stop(cell: str) -> StopReason | None:
    """Return why a set was stopped; None for a plain no."""
    word = cell.strip().casefold()
    if word in _FALSE:
        return None
    if word not in _STOPS:
        raise ValueError("write choice, or symptom if something felt wrong, or leave it empty")
    return _STOPS[word]


def read_started(cell: str, zone: tzinfo) -> dict[str, Any]:
    """Return the start of a row as its fields `started` and `date_only`."""
    return dict(zip(("started", "date_only"), _read_time(cell, zone), strict=True))


def _read_time(cell: str, zone: tzinfo) -> tuple[datetime, bool]:
    """Return an aware time to the millisecond, and whether it was a date only (then it is midnight)."""
    text = unguarded(cell).strip()
    try:
        try:
            found, date_only = datetime.combine(date.fromisoformat(text), time(), zone), True
        except ValueError:
            found, date_only = datetime.fromisoformat(text), False
            found = found.replace(microsecond=found.microsecond // 1000 * 1000, tzinfo=found.tzinfo or zone)
        found.utcoffset()
    except (ValueError, OverflowError):
        raise ValueError(
            "write a time such as 2026-05-12 18:40 or 2026-05-12T18:40+02:00, or a date such as 2026-05-12"
        ) from None
    if found.year not in YEARS:
        raise ValueError(f"write the year with four digits, {YEARS[0]} to {YEARS[-1]}")
    return found, date_only


# ---- writing one cell


def started_text(session: SessionSummary) -> str:
    """Return the start of a session, or its date where only that is known."""
    if session.started is None:
        return ""
    return session.started.date().isoformat() if session.date_only else _time_text(session.started)


def _ended(session: SessionSummary) -> str:
    """Return the end; nothing where a clock that was set back made it the earlier of the two."""
    is_set_back = session.started and session.ended and session.ended < session.started
    return "" if session.ended is None or session.date_only or is_set_back else _time_text(session.ended)


def _time_text(moment: datetime) -> str:
    return moment.isoformat("T", "milliseconds")


def yes_no(value: bool) -> str:
    """Return a yes or a no."""
    return str(value).lower()


def _stamp(seconds: float) -> str:
    return f"{seconds:.3f}"


def number_text(value: float) -> str:
    """Return a number with as many of four decimal places as it needs."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


# ---- the table


@dataclass(frozen=True, slots=True)
class Column:
    """One column; `write` takes the session where it is `of_session`, else the set or the trial.

    `read` returns the fields of a row that a cell fills; times without a zone are of the one given.
    """

    name: str
    read: Callable[[str, tzinfo], dict[str, Any]]
    write: Callable[[Any], str]
    of_session: bool = False


def column(
    name: str,
    read: Callable[[str], Any],
    write: Callable[[Any], str] = str,
    value: Callable[[Any], Any] | None = None,
    *,
    of_session: bool = False,
) -> Column:
    """Return a column that reads one field and writes a value, the field of the same name by default."""
    get = value or attrgetter(name)

    def written(source: object) -> str:
        found = get(source)
        return "" if found is None else write(found)

    return Column(name, lambda cell, _: {name: read(cell)}, written, of_session)


def _first_failure(result: SetResult) -> float | None:
    """Return the first failure; none where it may be a slip of the key, or part of the record is lost."""
    is_sure = result.perhaps_slip is None and not result.has_gaps
    return result.first_failure_s if is_sure else None


def _tension(result: SetResult) -> float | None:
    """Return the time under tension; none where the set was skipped before it began."""
    return None if result.skipped and not result.tension_s else result.tension_s


_TABLE = (
    Column("started", read_started, started_text, of_session=True),
    Column(
        "ended",
        lambda cell, zone: dict(zip(("ended", "ended_date_only"), _read_time(cell, zone), strict=True)),
        _ended,
        of_session=True,
    ),
    column("program", read_words, guarded, of_session=True),
    column("script", read_words, guarded, of_session=True),
    column("set", read_count),
    column("attempt", read_count),
    column("exercise", read_words, guarded),
    column("side", _read_side),
    column("rung", read_words, guarded),
    column("window_s", read_seconds, number_text),
    column("band_low_s", read_seconds, number_text, lambda result: result.band_s[0]),
    column("band_high_s", read_seconds, number_text, lambda result: result.band_s[1]),
    column("first_failure_s", read_seconds, _stamp, _first_failure),
    column("ran_to_end", read_flag, yes_no),
    column("confirmed", read_flag, yes_no),
    column("late_tap_s", read_seconds, _stamp),
    column("tension_s", read_seconds, _stamp, _tension),
    column("reentries", read_count),
    column("interrupted", read_flag, yes_no),
    column("skipped", read_flag, yes_no),
    column("stopped", _read_stop),
    column("effort", _read_effort),
    column("form_broke", read_flag, yes_no),
    column("pain", read_flag, yes_no),
    column("off_day", read_flag, yes_no, of_session=True),
    column("note", _read_note, guarded),
)
COLUMNS: Mapping[str, Column] = {column.name: column for column in _TABLE}
"""Every column of sets by its name, in the order they are written."""
