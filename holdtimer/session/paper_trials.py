"""Function tests from a table, one row a trial, sorted into the sessions they add to what is known.

What a clinic has measured comes in this way: where no presser is named a helper has pressed, so that it is a
series of its own.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta

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
    def start_key(self) -> StartKey | None:
        """What distinguishes its session from another."""
        return None if self.started is None else start_key(self.started, date_only=self.date_only)

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
        if series is not None and not plan.faults:
            is_new, warning = kept.add(row, series)
            plan.new += is_new
            plan.known += not is_new
            plan.warnings += [(row.line, warning)] if warning else []
    plan.sessions += () if plan.faults else kept.sessions()
    return plan


def kept_trials(session: SessionSummary) -> Iterator[tuple[FunctionResult, Series, TrialDone]]:
    """Yield every trial with a result of a session that has a start, with its test and its series."""
    for test in session.tests if session.started is not None else ():
        for trial in test.trials:
            if test.series is not None and trial.able is not None:
                yield test, test.series, trial


# ---- what must hold of a row


def _series(row: TrialRow) -> tuple[Series | None, list[str]]:
    """Return the series of a row, or what is wrong with it by the rules of program files."""
    cells = {name: getattr(row, name) for name in Series.__dataclass_fields__}
    given = {name: _as_written(value) for name, value in cells.items() if value is not None}
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


def _as_written(value: str | float) -> str | float:
    """Return a whole number without a decimal point, as messages are to show it."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _start_faults(row: TrialRow, now: datetime) -> Iterator[str]:
    if row.started is None:
        if "started" not in row.faults:
            yield "started is missing; write when the test was, such as 2026-05-12 10:00, or its date"
    elif row.started > now:
        yield "started is in the future; write when the test was done"


def _result_faults(row: TrialRow, series: Series) -> Iterator[str]:
    needed, found = _OF_UNIT[series.unit], _results(row, series)
    written = [name for name in RESULTS if getattr(row, name)]
    if row.able is False and written:
        yield f"able is no, and {written[0]} is {found[written[0]]:g}; clear one of them"
        return
    if row.able is not False and not found[needed]:
        yield f"{needed} is missing or 0; write it, or able = no where the person was not able"
        return
    for name, value in found.items():
        if value is not None and value > _MOST[name]:
            yield f"{name} is {value:g}; that is more than {_MOST[name]}; check it"
    if series.unit == "m/s" and row.speed_m_s and row.seconds:
        follows = speed(series.lane_m or 0.0, row.seconds)
        if abs(row.speed_m_s - follows) > 0.01 + 0.02 * follows:  # more than rounding
            told = f"{series.lane_m:g} m in {row.seconds:g} s are {follows:.2f} m/s"
            yield f"speed_m_s is {row.speed_m_s:g}, but {told}; correct one of them, or leave it out"


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


@dataclass(slots=True)
class _Session:
    """A session on paper, the `known` one of this id or a new one: its tests, and the rows it gets."""

    known: str | None = None
    tests: dict[str, Series] = field(default_factory=dict)
    rows: list[tuple[TrialRow, Series]] = field(default_factory=list)


class _Kept:
    """The trials of a person, those that are kept and those that are to be."""

    def __init__(self, summaries: Iterable[SessionSummary]):
        # the result of each trial, and the line it is in, 0 for one that is in the log
        self._trials: dict[tuple[StartKey | None, Series, int], tuple[float | None, int]] = {}
        self._sessions: dict[tuple[StartKey | None, str, str], list[_Session]] = defaultdict(list)
        for each in summaries:
            if each.started is None or each.rehearsal:
                continue
            start, tests = start_key(each.started, date_only=each.date_only), dict[str, Series]()
            keys = {start}
            if each.on_paper and each.started.time() == time():
                keys.add(each.started.date())  # a date alone was once kept as if its midnight was measured
            for test, series, trial in kept_trials(each):
                tests[test.test] = series
                value = getattr(trial, _OF_UNIT[series.unit]) if trial.able else None
                self._trials |= {(key, series, trial.trial): (value, 0) for key in keys}
            if each.on_paper and tests:
                self._sessions[start, each.program, each.script].append(_Session(each.session, tests))

    def add(self, row: TrialRow, series: Series) -> tuple[bool, str | None]:
        """Add a trial where it is new, and return whether it is; and a warning, where there is one.

        It goes to the first session of its start in which its test is of the same series.
        """
        start, value = row.start_key, _value(row, series)
        was, line = self._trials.setdefault((start, series, row.number), (value, row.line))
        if line == row.line:
            name = _test_id(row, series)
            sessions = self._sessions[start, row.program or ELSEWHERE, row.script or ""]
            session = next((each for each in sessions if each.tests.get(name, series) == series), None)
            if session is None:
                sessions.append(session := _Session())
            session.tests[name] = series
            session.rows.append((row, series))
            return True, None
        if line:
            return False, f"line {line} has this test too; if you did it twice, number them in a column trial"
        differs = was is not value if was is None or value is None else abs(was - value) > ROUNDED
        words = "this test is in the log already, with another result; the kept one stays"
        return False, words if differs else None

    def sessions(self) -> Iterator[PaperSession]:
        """Yield what is to be kept."""
        for (_, program, script), sessions in self._sessions.items():
            for each in sessions:
                if each.rows:
                    first, results = each.rows[0][0], tuple(_events(each))
                    assert first.started is not None  # noqa: S101 - a row without is a fault
                    anchor = _anchor(first.started, date_only=first.date_only)
                    yield PaperSession(first.started, program, script, results, each.known, anchor)


def _test_id(row: TrialRow, series: Series) -> str:
    return row.test or ", ".join((series.protocol, *series.conditions()))


def _anchor(started: datetime, *, date_only: bool) -> Anchor:
    offset = started.utcoffset() or timedelta()
    wall = started.astimezone(UTC).isoformat(timespec="milliseconds")
    at = {"wall": wall, "offset_s": int(offset.total_seconds()), "date_only": date_only or None}
    return Anchor(n=1, t=0.0, why="opening", mono_ns=0, **at)


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
