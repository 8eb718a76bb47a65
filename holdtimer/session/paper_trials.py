"""Function tests from a table, one row a trial, sorted into the sessions they add to what is known.

What a clinic has measured comes in this way: where no presser is named a helper has pressed, so that it is a
series of its own.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from pydantic import ValidationError

from holdtimer.program.compiling import series_of
from holdtimer.program.loading import value_words
from holdtimer.program.models import FunctionTest
from holdtimer.program.rules import test_rules
from holdtimer.program.timeline import Series
from holdtimer.session.events import Anchor, AnyEvent, OffDay, TrialOpen, TrialResult
from holdtimer.session.paper import ImportPlan, PaperSession
from holdtimer.session.paper_row import ROUNDED, StartKey, start_key
from holdtimer.session.results import FunctionResult, TrialDone
from holdtimer.session.summary import SessionSummary
from holdtimer.session.trials import speed

ELSEWHERE = "clinic"  # the program of a row that names none
RESULTS = ("stands", "seconds", "speed_m_s")

_OF_UNIT = dict(zip(("stands", "s", "m/s"), RESULTS, strict=True))
_MOST = dict(zip(RESULTS, (100, 600, 10), strict=True))
_FOUND = "it"  # stands for the test in rules that are made for program files
_FIXED = {"name": "-", "way_out": "-"}  # which a program file has, and a result has not


@dataclass(frozen=True, slots=True)
class TrialRow:
    """One row. An empty cell is None; `started` is aware, at midnight where `date_only`.

    `faults` says by column what could not be read; such a cell is None too.
    """

    line: int
    faults: Mapping[str, str] = field(default_factory=dict)
    started: datetime | None = None
    date_only: bool = False
    program: str | None = None
    script: str | None = None
    test: str | None = None
    protocol: str | None = None
    variant: str | None = None
    seat_cm: float | None = None
    lane_m: float | None = None
    pace: str | None = None
    start: str | None = None
    aid: str | None = None
    presser: str | None = None
    trial: int | None = None
    trials: int | None = None
    stands: int | None = None
    seconds: float | None = None
    speed_m_s: float | None = None
    able: bool | None = None
    off_day: bool | None = None

    @property
    def number(self) -> int:
        """Which trial of its test it is, from 1."""
        return max(1, self.trial or 1)


def plan_tests(rows: Iterable[TrialRow], summaries: Iterable[SessionSummary], now: datetime) -> ImportPlan:
    """Sort rows into the sessions that are new among those of one person; they have a session a start.

    A trial that is kept already with another result is named, and changes nothing.
    """
    plan, kept = ImportPlan(), _Kept(summaries)
    for row in rows:
        series, faults = _series(row)
        faults = [*row.faults.values(), *_start_faults(row, now), *faults]
        if series is not None and not faults:
            faults = list(_result_faults(row, series))
        plan.faults += [(row.line, words) for words in faults]
        if series is None or faults or plan.faults:
            continue
        known, value = kept.find(row, series), _value(row, series)
        if known is None:
            kept.add(row, series, value)
            plan.new += 1
        else:
            plan.known += 1
            plan.warnings += [(row.line, words) for words in _warnings(known, value)]
    plan.sessions += () if plan.faults else kept.sessions()
    return plan


def kept_trials(session: SessionSummary) -> Iterator[tuple[FunctionResult, TrialDone]]:
    """Yield every trial with a result of a session that has a start."""
    for test in session.tests if session.started is not None else ():
        for trial in test.trials if test.series is not None else ():
            if trial.able is not None:
                yield test, trial


# ---- what must hold of a row


def _series(row: TrialRow) -> tuple[Series | None, list[str]]:
    """Return the series of a row, or what is wrong with it by the rules of program files."""
    cells = {name: getattr(row, name) for name in Series.__dataclass_fields__}
    given = {name: value for name, value in cells.items() if value is not None}
    try:
        test = FunctionTest.model_validate({"presser": "helper"} | given | _FIXED)
    except ValidationError as error:
        wrong = error.errors(include_url=False)
        return None, [value_words(each) for each in wrong if each["loc"][0] not in row.faults]
    # an export writes what a protocol fills in, which a program file leaves out
    usual = series_of(FunctionTest.model_validate({"protocol": test.protocol} | _FIXED))
    filled_in = [name for name in given if name not in ("protocol", "presser")]
    test = test.model_copy(
        update={name: None for name in filled_in if getattr(test, name) == getattr(usual, name)}
    )
    rules = () if row.faults else test_rules(test, ("tests", _FOUND))
    faults = [message.replace(f' in test "{_FOUND}"', "") for _, message in rules]
    return None if faults else series_of(test), faults


def _start_faults(row: TrialRow, now: datetime) -> Iterator[str]:
    if row.started is None:
        if "started" not in row.faults:
            yield "started is missing; write when the test was, such as 2026-05-12 10:00, or its date"
    elif row.started > now:
        yield "started is in the future; write when the test was done"


def _result_faults(row: TrialRow, series: Series) -> Iterator[str]:
    needed, found = _OF_UNIT[series.unit], _results(row, series)
    if row.able is not False and not found[needed]:
        yield f"{needed} is missing or 0; write it, or able = no where the person was not able"
        return
    for name, value in found.items():
        if value is not None and value > _MOST[name]:
            yield f"{name} is {value:g}; that is more than {_MOST[name]}; check it"


def _results(row: TrialRow, series: Series) -> dict[str, float | None]:
    """Return the results that are written in a row; the speed of a walk also follows from its time."""
    found = {name: getattr(row, name) for name in RESULTS}
    if series.unit == "m/s" and row.speed_m_s is None and row.seconds:
        found["speed_m_s"] = round(speed(series.lane_m or 0.0, row.seconds), 4)
    return found


def _value(row: TrialRow, series: Series) -> float | None:
    """Return the result in the unit of its series; None where the person was not able."""
    return None if row.able is False else _results(row, series)[_OF_UNIT[series.unit]]


# ---- what is kept, and what comes to it

_Key = tuple[StartKey, Series, int]
_Place = tuple[StartKey, str, str]  # start, program and script of a session


@dataclass(frozen=True, slots=True)
class _Trial:
    """A trial by its result: one that is kept, or that is in this `line` of the file."""

    value: float | None
    line: int | None = None


def _warnings(known: _Trial, value: float | None) -> Iterator[str]:
    """Yield what there is to say about a row whose trial is known."""
    if known.line is not None:
        yield f"line {known.line} has this test too; if you did it twice, number the trials in a column trial"
    elif _differs(known.value, value):
        yield "this test is in the log already, with another result; the kept one stays"


def _differs(old: float | None, new: float | None) -> bool:
    return old is not new if old is None or new is None else abs(old - new) > ROUNDED


@dataclass(slots=True)
class _Session:
    """A session on paper, the `known` one of this id or a new one: its tests, and the rows it gets."""

    known: str | None = None
    tests: dict[str, Series] = field(default_factory=dict)
    rows: list[tuple[TrialRow, Series]] = field(default_factory=list)


class _Kept:
    """The trials of a person, those that are kept and those that are to be."""

    def __init__(self, summaries: Iterable[SessionSummary]):
        self._trials: dict[_Key, _Trial] = {}
        self._sessions: dict[_Place, list[_Session]] = defaultdict(list)
        for each in summaries:
            if each.started is None or each.rehearsal:
                continue
            start = start_key(each.started, date_only=each.date_only)
            for test, trial in kept_trials(each):
                if test.series is not None:
                    value = getattr(trial, _OF_UNIT[test.series.unit]) if trial.able else None
                    self._trials[start, test.series, trial.trial] = _Trial(value)
            if each.on_paper and each.tests:
                tests = {test.test: test.series for test in each.tests if test.series is not None}
                self._sessions[start, each.program, each.script].append(_Session(each.session, tests))

    def find(self, row: TrialRow, series: Series) -> _Trial | None:
        """Return the trial that a row is about, where there is one."""
        return next(
            (each for key in _keys(row) if (each := self._trials.get((key, series, row.number)))), None
        )

    def add(self, row: TrialRow, series: Series, value: float | None) -> None:
        """Add a trial to the first session of its start in which its test is of the same series."""
        start = _keys(row)[0]
        self._trials[start, series, row.number] = _Trial(value, row.line)
        sessions = self._sessions[start, row.program or ELSEWHERE, row.script or ""]
        name = _test_id(row, series)
        session = next((each for each in sessions if each.tests.get(name, series) == series), None)
        if session is None:
            sessions.append(session := _Session())
        session.tests[name] = series
        session.rows.append((row, series))

    def sessions(self) -> Iterator[PaperSession]:
        """Yield what is to be kept."""
        for (_, program, script), sessions in self._sessions.items():
            for each in sessions:
                if each.rows:
                    first, _ = each.rows[0]
                    started, anchor = _anchored(first)
                    results = tuple(_events(each))
                    yield PaperSession(started, program, script, results, each.known, anchor)


def _keys(row: TrialRow) -> list[StartKey]:
    """Return by what a trial of this start may be known, its own key first.

    A date alone was once kept as if its midnight had been measured.
    """
    assert row.started is not None  # noqa: S101 - a row without is a fault
    return [start_key(row.started, date_only=each) for each in sorted({row.date_only, False}, reverse=True)]


def _test_id(row: TrialRow, series: Series) -> str:
    return row.test or ", ".join((series.protocol, *series.conditions()))


def _anchored(row: TrialRow) -> tuple[datetime, Anchor]:
    """Return when a row was, and the event that says so."""
    assert row.started is not None  # noqa: S101 - a row without is a fault
    offset = row.started.utcoffset()
    return row.started, Anchor(
        n=1,
        t=0.0,
        why="opening",
        mono_ns=0,
        wall=row.started.astimezone(UTC).isoformat(timespec="milliseconds"),
        offset_s=int(offset.total_seconds()) if offset else 0,
        date_only=row.date_only or None,
    )


def _events(session: _Session) -> Iterator[AnyEvent]:
    is_off = None if session.known else False  # what held at the end of a known one is said anew
    for row, series in session.rows:
        if bool(row.off_day) is not is_off:  # it holds for the tests after it
            is_off = bool(row.off_day)
            yield OffDay(n=0, t=0.0, value=is_off)
        able, trials = row.able is not False, max(1, row.trials or row.number)
        place = {"n": 0, "t": 0.0, "test": _test_id(row, series), "trial": row.number}
        yield TrialOpen(**place, seconds=row.seconds or 30.0, trials=trials, **Series.facts(series))
        results = _results(row, series) if able else dict.fromkeys(RESULTS)
        yield TrialResult(**place, able=able, over=row.number >= trials, **results)
