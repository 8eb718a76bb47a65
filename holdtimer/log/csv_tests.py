"""Function tests as a CSV file, the second kind: one row a trial with a result, both ways.

What makes it the second kind is its column `protocol`.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import tzinfo
from operator import attrgetter
from typing import Any, NamedTuple

from holdtimer.log.csv_columns import (
    Column,
    column,
    guarded,
    number_text,
    read_count,
    read_flag,
    read_number,
    read_seconds,
    read_started,
    read_words,
    started_text,
    yes_no,
)
from holdtimer.log.csv_file import Kind, Sheet, has_column, read_table, table_text
from holdtimer.program.timeline import Series
from holdtimer.session.paper_trials import RESULTS, TrialRow, kept_trials
from holdtimer.session.results import FunctionResult, TrialDone
from holdtimer.session.summary import SessionSummary


class _Done(NamedTuple):
    """A trial with a result, and what it is part of."""

    session: SessionSummary
    test: FunctionResult
    series: Series
    trial: TrialDone


def _column(place: str, read: Callable[[str], Any], write: Callable[[Any], str] = str) -> Column:
    """Return a column by the place of its value in a trial that is done; it bears the name of its field."""
    return column(place.rpartition(".")[2], read, write, attrgetter(place))


_TABLE = (
    Column("started", read_started, lambda done: started_text(done.session)),
    _column("session.program", read_words, guarded),
    _column("session.script", read_words, guarded),
    _column("test.test", read_words, guarded),
    _column("series.protocol", read_words),
    _column("series.variant", read_words),
    _column("series.seat_cm", read_number, number_text),
    _column("series.lane_m", read_number, number_text),
    _column("series.pace", read_words),
    _column("series.start", read_words),
    _column("series.aid", read_words, guarded),
    _column("series.presser", read_words),
    _column("trial.trial", read_count),
    column("trials", read_count, value=attrgetter("test.planned")),
    _column("trial.stands", read_count),
    _column("trial.seconds", read_seconds, number_text),
    _column("trial.speed_m_s", read_number, number_text),
    _column("trial.able", read_flag, yes_no),
    column("off_day", read_flag, yes_no, attrgetter("test.is_off_day")),
)
COLUMNS: Mapping[str, Column] = {each.name: each for each in _TABLE}
"""Every column of function tests by its name, in the order they are written."""

_TESTS = Kind(COLUMNS, ("started", "protocol"), (*RESULTS, "able"), TrialRow)


def is_of_tests(content: bytes) -> bool:
    """Whether a file holds function tests, by its first line."""
    return has_column(content, "protocol")


def read_tests(content: bytes, name: str, zone: tzinfo) -> Sheet[TrialRow]:
    """Return what a file of tests holds; times without a zone are taken in `zone`. Never raises."""
    return read_table(content, name, zone, _TESTS)


def tests_text(sessions: Iterable[SessionSummary]) -> str:
    """Return the file that holds the trials with a result of these sessions, its header first."""
    done = (_Done(session, *each) for session in sessions for each in kept_trials(session))
    return table_text(COLUMNS, ({each.name: each.write(found) for each in _TABLE} for found in done))
