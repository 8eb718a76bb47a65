"""What the record says of one exercise on one side: verdict, due rung, and how long to expect."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from holdtimer.program.endurance import exponent
from holdtimer.program.models import Exercise, Program
from holdtimer.progression.history import History, Key, Result, read_history
from holdtimer.progression.ladder import due_rung
from holdtimer.progression.prediction import Prediction, Trial, predict
from holdtimer.progression.standing import Standing
from holdtimer.progression.verdicts import Verdict, judge
from holdtimer.session.summary import SessionSummary

LATEST = 8  # counted results a prediction rests on
RECENT = timedelta(weeks=12)


@dataclass(frozen=True, slots=True)
class Outlook:
    """Verdict, due rung (its place on the ladder) and, for holds with loads, the seconds to expect there.

    `expected_s` is low, middle and high: the central 80 % of the next result. `last` is the newest counted
    result.
    """

    verdict: Verdict
    rung: int
    expected_s: tuple[float, float, float] | None
    last: Result | None


def outlook(
    program: Program, history: History, key: Key, band_s: tuple[float, float], now: datetime
) -> Outlook:
    """Return the outlook of an exercise and side of the program, to be done with the band given."""
    exercise = program.exercises[key[0]]
    standing = _standing(exercise, history, key, now)
    verdict, loads = judge(standing), loads_of(exercise)
    prediction = _prediction(exercise, loads, standing)
    rung = due_rung(verdict, loads, band_s, prediction, len(standing.counted))
    expected = prediction.expected_s(loads[rung]) if prediction is not None else None
    return Outlook(verdict, rung, expected, standing.newest)


def verdicts_after(
    session: SessionSummary, past: Iterable[SessionSummary], program: Program
) -> dict[Key, Verdict]:
    """Return the verdicts as they were after a session, with the corrections known now.

    One for each exercise and side the session has results of; none where the program no longer knows them,
    and none after a rehearsal or a session that can't be placed in time. `past` may hold the session itself
    or not.
    """
    if session.started is None or session.rehearsal:
        return {}
    now = until = session.started.astimezone(UTC)
    earlier = [each for each in past if each.session != session.session and _by(each, until)]
    return verdicts_in(read_history(program, [*earlier, session], now), session, program)


def verdicts_in(history: History, session: SessionSummary, program: Program) -> dict[Key, Verdict]:
    """Return the same from a history that holds the session, and perhaps later ones."""
    if session.started is None or session.rehearsal:
        return {}
    then = history.until(session.started.astimezone(UTC))
    now = max(session.started, session.ended or session.started).astimezone(session.started.tzinfo)
    return {
        key: judge(_standing(program.exercises[key[0]], then, key, now))
        for key, results in then.results.items()
        if results[-1].session == session.session
    }


def loads_of(exercise: Exercise) -> tuple[float, ...]:
    """Return the loads of the rungs of a hold, easiest first; empty where not given, and for repetitions."""
    if exercise.kind != "hold":
        return ()
    return tuple(rung.load for rung in exercise.ladder if rung.load is not None)


def _standing(exercise: Exercise, history: History, key: Key, now: datetime) -> Standing:
    start = exercise.rung_index(exercise.start) if exercise.start is not None else None
    return Standing(history.of(key), history.stops, len(exercise.ladder), start or 0, now)


def _prediction(exercise: Exercise, loads: tuple[float, ...], standing: Standing) -> Prediction | None:
    if not loads:
        return None
    recent = [each for each in standing.counted if standing.since(each.at) <= RECENT][-LATEST:]
    trials = [Trial(loads[each.rung], each.lasted_s, each.failed_s is not None) for each in recent]
    return predict(trials, exponent(exercise.joint))


def _by(session: SessionSummary, until: datetime) -> bool:
    return session.started is not None and session.started.astimezone(UTC) <= until
