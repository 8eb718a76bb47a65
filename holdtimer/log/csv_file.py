"""CSV files of results: read in any common spelling, written as in RFC 4180.

Reading gives rows, and every error of form with its line. Of sets there is one row each. Sessions are written
with corrections in force. Two things have no column of their own. A very early failure that may be a slip of
the key is no result yet: its cell stays empty, and the re-entries beside it show that there was one. A
session that was stopped because something felt wrong says so in its last row, or in the row of the set that
was to come first. That it has settled since is not in the file: a person who imports it is asked again.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import tzinfo
from pathlib import Path
from typing import Any, Generic, TypeVar

from holdtimer import __version__
from holdtimer.errors import Fault, NotWrittenError
from holdtimer.log.clocks import take_anchor
from holdtimer.log.csv_columns import COLUMNS, Column, guarded, read_words
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.session_log import SessionLog
from holdtimer.log.writer import LogWriter
from holdtimer.program.loading import Loaded
from holdtimer.session.events import Anchor, AnyEvent, Closed, Opened
from holdtimer.session.paper import PaperSession
from holdtimer.session.paper_row import PaperRow
from holdtimer.session.summary import SessionSummary
from holdtimer.text import harmless, nearest

MAX_BYTES = 5_000_000
MAX_ROWS = 20_000
MAX_CELL = 100_000
MAX_COLUMNS = 200

Row = TypeVar("Row")

_DELIMITERS = ",;\t"
_SEPARATOR_LINE = re.compile(r'"?sep=([,;\t])"?')  # with which some spreadsheets begin a file


@dataclass(frozen=True, slots=True)
class Kind(Generic[Row]):
    """A kind of file: its columns, those it needs, those it needs one of, and how a row is made.

    A row is made of its line, what could not be read by column, and the fields that its cells fill.
    """

    columns: Mapping[str, Column]
    needed: tuple[str, ...]
    results: tuple[str, ...]
    row: Callable[..., Row]


SETS = Kind(COLUMNS, ("started", "exercise", "side", "rung"), ("first_failure_s", "ran_to_end"), PaperRow)


@dataclass(slots=True)
class Sheet(Generic[Row]):
    """What a file holds: its rows, what is wrong with the file as a whole, and warnings."""

    name: str
    rows: list[Row] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)

    def fault(self, line: int, message: str) -> None:
        """Note a fault."""
        self.faults.append(Fault(self.name, line, message))


def read_sheet(content: bytes, name: str, zone: tzinfo) -> Sheet[PaperRow]:
    """Return what a file of sets holds; times without a zone are taken in `zone`. Never raises."""
    return read_table(content, name, zone, SETS)


def read_table(content: bytes, name: str, zone: tzinfo, kind: Kind[Row]) -> Sheet[Row]:
    """Return what a file of this kind holds; times without a zone are taken in `zone`. Never raises."""
    sheet: Sheet[Row] = Sheet(name)
    rows = _records(sheet, content)
    header = next(rows, None)
    if header is not None:
        columns = _columns(sheet, *header, kind)
        if not sheet.faults:
            _read_rows(sheet, columns, rows, zone, kind)
    elif not sheet.faults:
        sheet.fault(1, "the file is empty; its first line names the columns")
    return sheet


def has_column(content: bytes, column: str) -> bool:
    """Whether the first line of a file names this column."""
    _, header = next(_records(Sheet(""), content), (1, []))
    return column in map(_column_name, header)


def _decoded(sheet: Sheet[Any], content: bytes) -> str | None:
    """Return the text of a file; None where it is too large or no text, which is noted."""
    if len(content) > MAX_BYTES:
        sheet.fault(1, f"the file is larger than {MAX_BYTES // 1_000_000} MB; split it into several")
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        sheet.fault(line, "this is not UTF-8 text; save it again as CSV with the encoding UTF-8")
        return None


def _records(sheet: Sheet[Any], content: bytes) -> Iterator[tuple[int, list[str]]]:
    """Yield the records of a file that are not empty, each with the line it begins on."""
    text = _decoded(sheet, content) or ""
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = _SEPARATOR_LINE.fullmatch(first.strip())
    delimiter = separator[1] if separator else max(_DELIMITERS, key=first.count)
    csv.field_size_limit(MAX_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    is_separator_ahead = separator is not None
    line = 1
    try:
        for record in reader:
            if any(cell.strip() for cell in record):
                if not is_separator_ahead:
                    yield line, record
                is_separator_ahead = False
            line = reader.line_num + 1
    except csv.Error as error:
        sheet.fault(line, _csv_words(error))


def _csv_words(error: csv.Error) -> str:
    if "field limit" in str(error):
        return f"a cell is longer than {MAX_CELL} characters, or a quotation mark is never closed"
    return 'a quotation mark is never closed, or text follows one; inside a cell write it twice ("")'


def _columns(sheet: Sheet[Any], line: int, header: list[str], kind: Kind[Any]) -> list[Column | None]:
    """Return the column each place in a row belongs to, None for one that is ignored."""
    named = sum(map(bool, header))
    if named > MAX_COLUMNS:
        sheet.fault(line, f"the first line names {named} columns; there may be {MAX_COLUMNS} at most")
        return []
    names = [cell and _column_name(cell) for cell in header]
    for index, name in enumerate(names):
        if name and name not in kind.columns:
            close = nearest(name, kind.columns)
            hint = f'; did you mean "{close}"?' if close else ""
            warning = f'column "{harmless(name)}" is unknown and ignored{hint}'
            sheet.warnings.append(Fault(sheet.name, line, warning))
        elif name and name in names[:index]:
            sheet.fault(line, f'there are two columns "{name}"; keep one')
    either = " or ".join(kind.results)
    for name in kind.needed:
        if name not in names:
            sheet.fault(line, f'column "{name}" is missing; needed are {", ".join(kind.needed)} and {either}')
    if not set(kind.results) & set(names):
        sheet.fault(line, f"there is no column of results; {either} is needed")
    return [kind.columns.get(name) for name in names]


def _column_name(cell: str) -> str:
    """Return the name of a column as we write it, however it is spelt."""
    return re.sub(r"[\s_-]+", "_", read_words(cell).casefold()).strip("_")


def _read_rows(
    sheet: Sheet[Row],
    columns: list[Column | None],
    records: Iterator[tuple[int, list[str]]],
    zone: tzinfo,
    kind: Kind[Row],
) -> None:
    for line, record in records:
        if len(sheet.rows) >= MAX_ROWS:
            sheet.fault(line, f"the file has more than {MAX_ROWS} rows; split it into several")
            return
        if any(cell.strip() for cell in record[len(columns) :]):
            counts = f"this row has {len(record)} cells, but the first line names {len(columns)} columns"
            sheet.fault(line, f"{counts}; a cell with a separator in it needs quotation marks around it")
            continue
        faults: dict[str, str] = {}
        values: dict[str, Any] = {}
        for column, cell in zip(columns, record, strict=False):  # a row may be shorter
            if column is None or not cell.strip():
                continue
            try:
                values |= column.read(cell, zone)
            except ValueError as error:
                faults[column.name] = f'{column.name} is "{harmless(cell.strip())}"; {error}'
        sheet.rows.append(kind.row(line, faults, **values))


# ---- writing


def csv_text(sessions: Iterable[SessionSummary]) -> str:
    """Return the file that holds the sets of these sessions, its header first."""
    return table_text(COLUMNS, (cells for session in sessions for cells in _session_rows(session)))


def table_text(columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> str:
    """Return the file of these rows, the names of the columns first; a cell that is not given is empty."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(columns), restval="")
    writer.writeheader()
    writer.writerows(rows)
    return file.getvalue()


def has_lost_its_stop(session: SessionSummary) -> bool:
    """Whether no row can show that a session was stopped for a symptom: it names no set at all."""
    return session.symptom and not session.results and not session.planned


def _session_rows(session: SessionSummary) -> Iterator[dict[str, str]]:
    set_columns = [column for column in COLUMNS.values() if not column.of_session]
    sets = [{each.name: each.write(result) for each in set_columns} for result in session.results]
    sets = sets or _first_planned(session)
    if session.symptom and sets and not any(cells["stopped"] == "symptom" for cells in sets):
        sets[-1]["stopped"] = "symptom"
    day = {each.name: each.write(session) for each in COLUMNS.values() if each.of_session}
    for cells in sets:
        yield day | cells


def _first_planned(session: SessionSummary) -> list[dict[str, str]]:
    """Return the set a session would have begun with, where it was stopped for a symptom before any."""
    if not session.symptom or not session.planned:
        return []
    due = session.planned[0]
    named = {"exercise": guarded(due.exercise), "side": due.side, "rung": guarded(due.rung)}
    return [{"set": "1", "attempt": "1", **named, "ran_to_end": "false", "skipped": "true", "stopped": ""}]


# ---- keeping what was read


def keep_paper_sessions(
    data: Path,
    person: str,
    loaded: Loaded | None,
    sessions: Sequence[PaperSession],
    logs: Iterable[SessionLog],
) -> None:
    """Write a file for each session, named after the one in `logs` it adds to.

    `loaded` is the program the rows were checked against, None where they need none. Raises NotWrittenError,
    which says how many were kept; what was begun of another one is deleted.
    """
    known = {log.session: log for log in logs}
    for index, session in enumerate(sessions):
        log = known.get(session.known or "")
        anchor = session.anchor or Anchor(n=1, t=0.0, why="opening", **take_anchor()._asdict())
        opened = (log.opened if log else None) or _opened(person, loaded, session, anchor.mono_ns)
        begun: list[AnyEvent] = [opened]
        if log is None or log.opened is None:
            begun.append(anchor)
        first = log.end + 1 if log else len(begun)
        results = [each.model_copy(update={"n": n}) for n, each in enumerate(session.results, start=first)]
        writer = LogWriter(session_folder(data, person), opened.session)
        for event in (*begun, *results, Closed(n=first + len(results), t=0.0, reason="finished")):
            writer.append(event)
        if not writer.close():
            kept = f"{index} of {len(sessions)} sessions were kept"
            why, is_gone = writer.why_not_saved, writer.discard()
            part = "" if is_gone else ", perhaps a part of one more"
            raise NotWrittenError(f"{why}: {kept}{part}; import the file again to add the rest")


def _opened(person: str, loaded: Loaded | None, session: PaperSession, mono_ns: int) -> Opened:
    return Opened(
        n=0,
        t=0.0,
        kind="paper",
        session=new_session_id(session.started),
        person=person,
        program=session.program,
        script=session.script,
        program_text=loaded.text if loaded else "",
        mono_ns=mono_ns,
        version=__version__,
    )
