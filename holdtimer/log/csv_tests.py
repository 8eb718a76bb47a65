"""Function tests as a CSV file, the second kind: one row a trial with a result, both ways.

What makes it the second kind is its column `protocol`. What a clinic has measured comes in this way: where
no presser is named a helper has pressed, so that it is a series of its own. What is kept adds nothing.
"""

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from holdtimer import __version__
from holdtimer.errors import Fault, NotWrittenError
from holdtimer.log.csv_columns import (
    guarded,
    read_count,
    read_flag,
    read_seconds,
    read_time,
    read_words,
    time_text,
)
from holdtimer.log.csv_file import MAX_ROWS, Sheet, column_name, decoded, has_cells_beyond, records
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.writer import LogWriter
from holdtimer.program.compiling import series_of
from holdtimer.program.models import FunctionTest
from holdtimer.program.rules import test_rules
from holdtimer.program.timeline import Series
from holdtimer.session.events import Anchor, AnyEvent, Closed, OffDay, Opened, TrialOpen, TrialResult
from holdtimer.session.summary import SessionSummary
from holdtimer.session.trials import speed
from holdtimer.text import did_you_mean, harmless

COLUMNS = (
    "started", "program", "script", "test", *Series.__dataclass_fields__,
    "trial", "trials", "stands", "seconds", "speed_m_s", "able", "off_day",
)  # fmt: skip
NEEDED = ("started", "protocol")
ELSEWHERE = "clinic"  # the program of what names none
_MOST = {"stands": 100, "seconds": 600, "speed_m_s": 10}

_NUMBERS = ("seat_cm", "lane_m", "seconds", "speed_m_s")
_RESULT = {"stands": "stands", "s": "seconds", "m/s": "speed_m_s"}
_FOUND = "it"  # stands for the test in rules that are made for program files


@dataclass(frozen=True, slots=True)
class TrialRow:
    """One trial on paper; `started` is aware. Without any result the person was not `able`."""

    line: int
    started: datetime
    series: Series
    program: str
    script: str
    test: str
    trial: int
    trials: int
    able: bool
    off_day: bool
    stands: int | None = None
    seconds: float | None = None
    speed_m_s: float | None = None

    @property
    def value(self) -> float | None:
        """The result in the unit of its series."""
        found: float | None = getattr(self, _RESULT[self.series.unit])
        return found if self.able else None


@dataclass(slots=True)
class TestPlan:
    """What the rows come to: the new ones, how many are known, and what is said of others."""

    __test__ = False

    rows: list[TrialRow] = field(default_factory=list)
    known: int = 0
    warnings: list[Fault] = field(default_factory=list)


def is_of_tests(content: bytes, name: str) -> bool:
    """Whether a file holds function tests, by its first line."""
    sheet = Sheet(name)
    text = decoded(sheet, content)
    header = None if text is None else next(records(sheet, text), None)
    return header is not None and "protocol" in map(column_name, header[1])


# ---- reading


def read_tests(content: bytes, name: str, zone: tzinfo, now: datetime) -> tuple[list[TrialRow], Sheet]:
    """Return the rows of a file, and its sheet with every fault; times without a zone are taken in `zone`."""
    sheet = Sheet(name)
    text = decoded(sheet, content) or ""
    lines = records(sheet, text)
    number, header = next(lines, (1, []))
    names = _names(sheet, number, header)
    rows: list[TrialRow] = []
    for line, cells in lines if not sheet.faults else ():
        if len(rows) >= MAX_ROWS:
            sheet.fault(line, f"the file has more than {MAX_ROWS} rows; split it into several")
            break
        if has_cells_beyond(sheet, line, cells, len(names)):
            continue
        row = _row(sheet, line, dict(zip(names, cells, strict=False)), zone)  # a row may be shorter
        if row is not None and row.started > now:
            sheet.fault(line, "started is in the future; write when the test was done")
        elif row is not None:
            rows.append(row)
    return rows, sheet


def _names(sheet: Sheet, line: int, header: Iterable[str]) -> list[str]:
    """Return the names of the columns, those that are ignored too."""
    names = [column_name(cell) for cell in header]
    for each, count in Counter(filter(None, names)).items():
        if each not in COLUMNS:
            warning = f'column "{harmless(each)}" is unknown and ignored{did_you_mean(each, COLUMNS)}'
            sheet.warnings.append(Fault(sheet.name, line, warning))
        elif count > 1:
            sheet.fault(line, f'there are two columns "{each}"; keep one')
    for each in NEEDED:
        if each not in names:
            sheet.fault(line, f'column "{each}" is missing; needed are {", ".join(NEEDED)} and a result')
    return names


def _row(sheet: Sheet, line: int, cells: Mapping[str, str], zone: tzinfo) -> TrialRow | None:
    values: dict[str, Any] = {}
    before = len(sheet.faults)
    for name, cell in cells.items():
        if name in COLUMNS and cell.strip():
            try:
                values[name] = _read(name, cell, zone)
            except ValueError as error:
                sheet.fault(line, f'{name} is "{harmless(cell.strip())}"; {error}')
    if "started" not in values and len(sheet.faults) == before:
        sheet.fault(line, "started is missing; write when the test was, such as 2026-05-12 10:00")
    series = _series(sheet, line, values)
    if series is None or len(sheet.faults) > before:
        return None
    return _with_result(sheet, line, values, series)


def _read(name: str, cell: str, zone: tzinfo) -> Any:
    if name == "started":
        return read_time(cell, zone)[0]
    if name in ("trial", "trials", "stands"):
        return read_count(cell)
    if name in ("able", "off_day"):
        return read_flag(cell)
    return read_seconds(cell) if name in _NUMBERS else read_words(cell)


def _series(sheet: Sheet, line: int, values: Mapping[str, Any]) -> Series | None:
    """Return the series of a row; None with every fault noted where a program file could not have it."""
    given = {name: values[name] for name in Series.__dataclass_fields__ if name in values}
    try:
        fixed = {"name": "-", "way_out": "-"}  # which a program file has, and a result has not
        protocol = {name: each for name, each in given.items() if name == "protocol"}
        filled_in = series_of(FunctionTest.model_validate(protocol | fixed))
        given = {
            name: value
            for name, value in given.items()
            if name in ("protocol", "presser") or value != getattr(filled_in, name)
        }
        test = FunctionTest.model_validate({"presser": "helper"} | given | fixed)
    except ValidationError as error:
        for each in error.errors():
            name = str(each["loc"][0])
            sheet.fault(line, f'{name} is "{harmless(str(given.get(name, "")))}"; {each["msg"]}')
        return None
    faults = [message for _, message in test_rules(test, ("tests", _FOUND))]
    for message in faults:
        sheet.fault(line, message.replace(f' in test "{_FOUND}"', ""))
    return None if faults else series_of(test)


def _with_result(sheet: Sheet, line: int, values: dict[str, Any], series: Series) -> TrialRow | None:
    if series.unit == "m/s" and "seconds" in values and "speed_m_s" not in values:
        values["speed_m_s"] = round(speed(series.lane_m or 0.0, max(values["seconds"], 0.1)), 4)
    needed = _RESULT[series.unit]
    if not values.get(needed) and values.get("able", True):
        sheet.fault(line, f"{needed} is missing or 0; write it, or able = no where the person was not able")
        return None
    for name, most in _MOST.items():
        if values.get(name, 0) > most:
            sheet.fault(line, f"{name} is {values[name]:g}; that is more than {most}; check it")
            return None
    return TrialRow(
        line=line,
        started=values["started"],
        series=series,
        program=values.get("program", ELSEWHERE),
        script=values.get("script", ""),
        test=values.get("test") or ", ".join((series.protocol, *series.conditions())),
        trial=max(1, values.get("trial", 1)),
        trials=max(1, values.get("trials", values.get("trial", 1))),
        able=values.get("able", True),
        off_day=values.get("off_day", False),
        **{name: values.get(name) for name in _RESULT.values()},
    )


def plan_tests(rows: Iterable[TrialRow], past: Iterable[SessionSummary], name: str) -> TestPlan:
    """Return the rows that are new to one person; one that is kept with another result is named."""
    plan, kept = TestPlan(), {key: value for each in past for key, value in _kept(each)}
    for row in rows:
        key = _key(row.started, row.series, row.trial)
        if key not in kept:
            kept[key] = row.value
            plan.rows.append(row)
            continue
        plan.known += 1
        was = kept[key]
        if (was is None) is not (row.value is None) or abs((was or 0.0) - (row.value or 0.0)) > 0.0015:
            plan.warnings.append(
                Fault(name, row.line, "this test is in the log already, with another result")
            )
    return plan


_Key = tuple[datetime, Series, int]


def _key(started: datetime, series: Series, trial: int) -> _Key:
    return started.astimezone(UTC), series, trial


def _kept(session: SessionSummary) -> Iterator[tuple[_Key, float | None]]:
    for test in session.tests if session.started is not None else ():
        for trial in test.trials if test.series is not None else ():
            if trial.able is not None and test.series is not None and session.started is not None:
                value: float | None = getattr(trial, _RESULT[test.series.unit])
                yield _key(session.started, test.series, trial.trial), value if trial.able else None


# ---- keeping and writing


def keep_tests(data: Path, person: str, rows: Iterable[TrialRow]) -> int:
    """Write a file for each start among the rows; return how many. Raises NotWrittenError."""
    by_start: dict[tuple[datetime, str, str], list[TrialRow]] = {}
    for row in rows:
        by_start.setdefault((row.started, row.program, row.script), []).append(row)
    for (started, program, script), group in by_start.items():
        session = new_session_id(started)
        writer = LogWriter(session_folder(data, person), session)
        about = {"session": session, "person": person, "program": program, "script": script}
        opened = Opened(n=0, t=0.0, kind="paper", version=__version__, **about)
        offset = started.utcoffset()
        wall = started.astimezone(UTC).isoformat(timespec="milliseconds")
        anchor = Anchor(
            n=1,
            t=0.0,
            why="opening",
            mono_ns=0,
            wall=wall,
            offset_s=int(offset.total_seconds()) if offset else 0,
        )
        for event in (opened, anchor, *_events(group)):
            writer.append(event)
        if not writer.close():
            raise NotWrittenError(f"{writer.why_not_saved}: import the file again to add the rest")
    return len(by_start)


def _events(rows: list[TrialRow]) -> Iterator[AnyEvent]:
    n, is_off = 2, False
    for row in rows:
        if row.off_day is not is_off:  # it holds for the tests after it
            is_off = row.off_day
            yield OffDay(n=n, t=0.0, value=is_off)
            n += 1
        place = {"t": 0.0, "test": row.test, "trial": row.trial}
        yield TrialOpen(
            n=n, **place, seconds=row.seconds or 30.0, trials=row.trials, **Series.facts(row.series)
        )
        results = {name: getattr(row, name) if row.able else None for name in _RESULT.values()}
        over = row.trial >= row.trials
        yield TrialResult(n=n + 1, **place, able=row.able, over=over, **results)
        n += 2
    yield Closed(n=n, t=0.0, reason="finished")


def tests_text(sessions: Iterable[SessionSummary]) -> str:
    """Return the file that holds the trials with a result of these sessions, its header first."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, COLUMNS, restval="")
    writer.writeheader()
    for session in sessions:
        writer.writerows(_rows_of(session))
    return file.getvalue()


def _rows_of(session: SessionSummary) -> Iterator[dict[str, str]]:
    for test in session.tests if session.started is not None else ():
        if test.series is None or session.started is None:
            continue
        done = [trial for trial in test.trials if trial.able is not None]
        for trial in done:
            values: dict[str, Any] = {
                **Series.facts(test.series),
                "program": session.program,
                "script": session.script,
                "test": test.test,
                "trial": trial.trial,
                "trials": test.planned,
                "stands": trial.stands,
                "seconds": trial.seconds,
                "speed_m_s": trial.speed_m_s,
                "able": trial.able,
                "off_day": test.is_off_day,
            }
            yield {"started": time_text(session.started)} | {key: _cell(each) for key, each in values.items()}


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    return guarded(value) if isinstance(value, str) else f"{value:.3f}".rstrip("0").rstrip(".")
