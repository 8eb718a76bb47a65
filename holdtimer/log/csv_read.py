"""A CSV file of results, read with patience: rows and cells, and every fault of their form with its line."""

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import tzinfo
from itertools import zip_longest
from typing import Any

from holdtimer.errors import Fault
from holdtimer.log import csv_cells as cells
from holdtimer.log.csv_columns import COLUMNS
from holdtimer.session.paper_row import PaperRow
from holdtimer.text import harmless, nearest

MAX_BYTES = 5_000_000
MAX_ROWS = 20_000
MAX_CELL = 100_000
NEEDED = ("started", "exercise", "side", "rung")
RESULTS = ("first_failure_s", "ran_to_end")  # one of them is needed

_DELIMITERS = ",;\t"
_SEPARATOR_LINE = re.compile(r'"?sep=([,;\t])"?')  # with which some spreadsheets begin a file

_Parser = Callable[[str], Any]
_PARSERS: Mapping[str, _Parser] = {
    "program": cells.words, "script": cells.words, "exercise": cells.words, "rung": cells.words,
    "set": cells.count, "attempt": cells.count, "reentries": cells.count, "effort": cells.effort,
    "side": cells.side, "stopped": cells.stop, "note": cells.note,
    "window_s": cells.seconds, "band_low_s": cells.seconds, "band_high_s": cells.seconds,
    "first_failure_s": cells.seconds, "late_tap_s": cells.seconds, "tension_s": cells.seconds,
    "ran_to_end": cells.flag, "confirmed": cells.flag, "interrupted": cells.flag, "skipped": cells.flag,
    "form_broke": cells.flag, "pain": cells.flag, "off_day": cells.flag,
}  # fmt: skip


@dataclass(slots=True)
class Sheet:
    """What a file holds: its rows, the faults of the file as a whole, and warnings."""

    name: str
    rows: list[PaperRow] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)

    def fault(self, line: int, message: str) -> None:
        """Take note of a fault."""
        self.faults.append(Fault(self.name, line, message))


def read_sheet(content: bytes, name: str, zone: tzinfo) -> Sheet:
    """Return what the content of a file says; times that name no zone are of `zone`. Never raises."""
    sheet = Sheet(name)
    text = _decoded(sheet, content)
    if text is None:
        return sheet
    lines = _Lines(text)
    try:
        header = next(lines, None)
        if header is None:
            sheet.fault(1, "the file is empty; its first line names the columns")
            return sheet
        columns = _columns(sheet, *header)
        if not sheet.faults:
            _read_rows(sheet, columns, lines, zone)
    except csv.Error as error:
        sheet.fault(lines.line, _csv_words(error))
    return sheet


def _decoded(sheet: Sheet, content: bytes) -> str | None:
    if len(content) > MAX_BYTES:
        sheet.fault(1, f"the file is larger than {MAX_BYTES // 1_000_000} MB; split it into several")
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        sheet.fault(line, "this is not UTF-8 text; save it again as CSV with the encoding UTF-8")
        return None


class _Lines:
    """The records of a file with the line each begins on; empty ones are passed over."""

    def __init__(self, text: str) -> None:
        first = next((line for line in text.splitlines() if line.strip()), "")
        told = _SEPARATOR_LINE.fullmatch(first.strip())
        delimiter = told[1] if told else max(_DELIMITERS, key=first.count)
        csv.field_size_limit(MAX_CELL)
        self._reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        self._has_line_of_its_own = told is not None
        self.line = 1

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        return self

    def __next__(self) -> tuple[int, list[str]]:
        while True:
            self.line = self._reader.line_num + 1
            record = next(self._reader)
            if not any(cell.strip() for cell in record):
                continue
            if self._has_line_of_its_own:
                self._has_line_of_its_own = False
                continue
            return self.line, record


def _csv_words(error: csv.Error) -> str:
    if "field limit" in str(error):
        return f"a cell is longer than {MAX_CELL} characters, or a quotation mark is never closed"
    return 'a quotation mark is never closed, or text follows one; inside a cell write it twice ("")'


def _columns(sheet: Sheet, line: int, header: list[str]) -> list[str | None]:
    """Return the column each place in a row belongs to, None for one that is passed over."""
    names = [re.sub(r"[\s_-]+", "_", cells.words(cell).casefold()).strip("_") for cell in header]
    for index, name in enumerate(names):
        if name and name not in COLUMNS:
            close = nearest(name, COLUMNS)
            hint = f'; did you mean "{close}"?' if close else ""
            warning = f'column "{harmless(name)}" is not known and passed over{hint}'
            sheet.warnings.append(Fault(sheet.name, line, warning))
        elif name and name in names[:index]:
            sheet.fault(line, f'there are two columns "{name}"; keep one')
    for name in NEEDED:
        if name not in names:
            sheet.fault(line, f'column "{name}" is missing; needed are {", ".join(NEEDED)} and {_EITHER}')
    if not set(RESULTS) & set(names):
        sheet.fault(line, f"a column of results is missing; needed is {_EITHER}")
    return [name if name in COLUMNS else None for name in names]


_EITHER = f"{RESULTS[0]} or {RESULTS[1]}"


def _read_rows(sheet: Sheet, columns: list[str | None], lines: _Lines, zone: tzinfo) -> None:
    for line, record in lines:
        if len(sheet.rows) >= MAX_ROWS:
            sheet.fault(line, f"the file has more than {MAX_ROWS} rows; split it into several")
            return
        if any(cell.strip() for cell in record[len(columns) :]):
            named = f"this row has {len(record)} cells, and the first line names {len(columns)} columns"
            sheet.fault(line, f"{named}; a cell with a separator in it needs quotation marks around it")
        else:
            sheet.rows.append(_row(line, columns, record, zone))


def _row(line: int, columns: list[str | None], record: list[str], zone: tzinfo) -> PaperRow:
    values: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for column, cell in zip_longest(columns, record, fillvalue=""):
        if not column or not cell.strip():
            continue
        try:
            values |= _value(column, cell, zone)
        except ValueError as error:
            faults[column] = f'{column} is "{harmless(cell.strip())}"; {error}'
    return PaperRow(line, faults, **values)


def _value(column: str, cell: str, zone: tzinfo) -> dict[str, Any]:
    """Return the fields of a row that a cell fills."""
    if column == "started":
        return dict(zip(("started", "date_only"), cells.moment(cell, zone), strict=True))
    if column == "ended":
        return dict(zip(("ended", "ended_date_only"), cells.moment(cell, zone), strict=True))
    return {column: _PARSERS[column](cell)}
