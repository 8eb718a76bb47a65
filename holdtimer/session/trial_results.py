"""What the function tests of a session came to, and whether each counts."""

from collections.abc import Iterator
from dataclasses import dataclass

from holdtimer.program.timeline import Series
from holdtimer.session.event_base import round_time
from holdtimer.session.state import Session, TrialState
from holdtimer.session.trial_events import VoidReason


@dataclass(frozen=True, kw_only=True)
class TrialDone:
    """One trial: its result where it has one, the stands that were marked (s), else why it has none."""

    trial: int
    able: bool | None = None
    stands: int | None = None
    seconds: float | None = None
    speed_m_s: float | None = None
    marks_s: tuple[float, ...] = ()
    void: VoidReason | None = None


@dataclass(frozen=True, kw_only=True)
class FunctionResult:
    """What one function test of a session came to; `series` is None where it had no trial.

    `value` is in the unit of the series: the mean of its trials where there are several.
    """

    test: str
    series: Series | None
    trials: tuple[TrialDone, ...]
    planned: int  # how many trials there were to be
    value: float | None
    able: bool
    is_off_day: bool  # as said before it
    counted: bool
    counted_because: str


def function_results(session: Session) -> tuple[FunctionResult, ...]:
    """Return what each test of a session came to, in the order they were done."""
    names = dict.fromkeys([each.test for each in session.trials] + [each.test for each in session.put_off])
    return tuple(_result(session, name) for name in names)


def _result(session: Session, test: str) -> FunctionResult:
    trials = [each for each in session.trials if each.test == test]
    done = tuple(_done(each) for each in trials)
    kept = [each for each in trials if each.result is not None]
    able = all(each.result.able for each in kept if each.result is not None)
    values = [value for each in kept if (value := _value(each)) is not None]
    planned = trials[-1].planned if trials else 0
    is_whole = bool(values) and able and len(values) >= planned
    counted, because = _counted(session, test, trials, able=able, kept=len(values), planned=planned)
    return FunctionResult(
        test=test,
        series=Series(**Series.facts(trials[-1])) if trials else None,
        trials=done,
        planned=planned,
        value=round_time(sum(values) / len(values)) if is_whole else None,
        able=able,
        is_off_day=any(each.off_day for each in kept),
        counted=counted,
        counted_because=because,
    )


def _value(trial: TrialState) -> float | None:
    result = trial.result
    if result is None or not result.able:
        return None
    by_unit = {"stands": result.stands, "s": result.seconds, "m/s": result.speed_m_s}
    return by_unit[trial.unit]


def _done(trial: TrialState) -> TrialDone:
    result = trial.result
    if result is None:
        return TrialDone(
            trial=trial.trial, marks_s=trial.marks, void=trial.void.reason if trial.void else "left"
        )
    return TrialDone(
        trial=trial.trial,
        able=result.able,
        stands=result.stands,
        seconds=result.seconds,
        speed_m_s=result.speed_m_s,
        marks_s=trial.marks,
    )


def _counted(
    session: Session, test: str, trials: list[TrialState], *, able: bool, kept: int, planned: int
) -> tuple[bool, str]:
    """Return whether a test counts, and why, in words."""
    if session.is_rehearsal:
        return False, "a rehearsal never counts"
    if not trials:
        return False, next(_why_put_off(session, test), "not done")
    if not able:
        return False, "not able, which is kept apart from numbers"
    if kept < planned:
        return False, "nobody confirmed a result" if kept == 0 else f"{kept} of {planned} trials"
    if any(each.off_day for each in trials if each.result is not None):
        return False, "an off day"
    return True, "confirmed" if planned == 1 else f"the mean of {planned} trials"


def _why_put_off(session: Session, test: str) -> Iterator[str]:
    words = {"not-today": "not today", "skipped": "left out"}
    yield from (words.get(each.reason, each.reason) for each in session.put_off if each.test == test)
