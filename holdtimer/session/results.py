"""The result of each set and each function test of a session, and whether it counts."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from holdtimer.program.timeline import Series, SetKey, Target
from holdtimer.session.corrections import corrected, perhaps_slip
from holdtimer.session.events import Answer, StopReason, round_time
from holdtimer.session.state import Session, SetState, TrialState, replace_fast
from holdtimer.session.trial_events import VoidReason
from holdtimer.text import in_seconds, tenths

Tempo = tuple[float, float, float, float]
"""Seconds to lower, to pause, to lift and to pause."""
Span = tuple[float, float]
FAR_APART = ", which are far apart: was a key late?"
_MOST_APART = 1.5  # times: what two trials of a day may differ by before that is remarked (our choice)


@dataclass(frozen=True, kw_only=True)
class SetResult(Target):
    """What one set was to be, and how it went. Seconds since its window opened, to the millisecond.

    `estimated_s` are those of its stamps that a person moved or put in afterwards; `left_open` is set where
    the session ended, or was killed, while the window was open.
    """

    failures_s: tuple[float, ...]
    reentries_s: tuple[float, ...]
    first_failure_s: float | None
    ran_to_end: bool
    confirmed: bool
    late_tap_s: float | None
    tension_s: float
    interrupted: bool
    skipped: bool
    stopped: StopReason | None
    effort: int | None
    form_broke: bool | None
    pain: bool | None
    note: str | None
    perhaps_slip: int | None  # event number of the failure to ask about
    counted: bool
    counted_because: str
    estimated_s: tuple[float, ...] = ()
    left_open: bool = False
    has_gaps: bool = False  # lines of its record are lost: a first failure is the latest it can have been
    reentries: int | None = None  # how often the person got back in; on paper only where it was written down

    @property
    def worked(self) -> tuple[Span, ...]:
        """When in its window work was done, in seconds; the last time by what is left of the tension.

        On paper only the first failure is known: what was done after it has no place.
        """
        begins, ends = (0.0, *self.reentries_s), self.failures_s
        if not ends:
            end = self.tension_s if self.first_failure_s is None else self.first_failure_s
            return ((0.0, end),) if end > 0 else ()
        spans = list(zip(begins, ends, strict=False))
        if len(begins) > len(ends):
            left = max(0.0, self.tension_s - sum(end - begin for begin, end in spans))
            spans.append((begins[-1], min(self.window_s, begins[-1] + left)))
        return tuple(spans)


def results(session: Session, later: Iterable[Answer] = ()) -> tuple[SetResult, ...]:
    """Return the results of a session's sets in the order they were done, corrections in force."""
    return results_of(corrected(session, later))


def results_of(session: Session) -> tuple[SetResult, ...]:
    """Return the results of a session that is corrected already."""
    seen = set(_lost_sets(session))
    found = []
    for each in sorted(session.sets, key=lambda one: one.set):
        is_first = (each.exercise, each.side) not in seen
        if each.begun:
            seen.add((each.exercise, each.side))
        result = _result(session, known_to_run(session, each), is_first)
        found.append(replace(result, left_open=True) if each.is_open else result)
    return tuple(found)


def _lost_sets(session: Session) -> Iterator[SetKey]:
    """Yield exercise and side of the sets before the last one of which no line is left."""
    known = {each.set for each in session.sets}
    if session.has_gaps and session.opened is not None and known:
        for number, due in enumerate(session.opened.rungs, 1):
            if number not in known and number < max(known):
                yield due.exercise, due.side


def known_to_run(session: Session, each: SetState) -> SetState:
    """Return a set whose window was left open as it ran: for as long as the session is known to have run."""
    if not each.is_open or each.opened_t is None:
        return each
    stamped = each.stamps[-1].at if each.stamps else 0.0
    return replace_fast(
        each, ended_at=min(max(round_time(session.alive_t - each.opened_t), stamped), each.window_s)
    )


def tension_s(each: SetState) -> float:
    """Return the time under tension: the part of the window spent working, up to where it ended."""
    if each.paper is not None:
        return _paper_tension(each)
    end = each.ended_at if each.ended_at is not None else (each.stamps[-1].at if each.stamps else 0.0)
    total, since = 0.0, 0.0
    working = each.opened_t is not None
    for stamp in each.stamps:
        if stamp.kind == "failure" and working:
            total, working = total + min(stamp.at, end) - since, False
        elif stamp.kind == "re-entry" and not working:
            since, working = min(stamp.at, end), True
    return total + max(0.0, end - since) if working else total


def _paper_tension(each: SetState) -> float:
    paper = each.paper
    if paper is None:
        return 0.0
    if paper.tension_s is not None:
        return paper.tension_s
    failed_s = each.first_failure_s if each.stamps else paper.first_failure_s
    if failed_s is not None:
        return failed_s
    return each.window_s if paper.ran_to_end else 0.0


def _ran_to_end(each: SetState) -> bool:
    """Whether a set with no failure was worked to its end."""
    broken = each.interrupted or each.unfocused or each.skipped or each.has_gaps or each.stopped is not None
    if each.paper is not None:  # what is written down holds, even where the session was stopped after it
        broken = False
    return each.lasted and not (broken or each.denied)


def _times(each: SetState, kind: str) -> tuple[float, ...]:
    return tuple([round(stamp.at, 3) for stamp in each.stamps if stamp.kind == kind])


def _first_failure(each: SetState) -> float | None:
    stamped = each.first_failure_s
    if stamped is None and each.paper is not None:
        stamped = each.paper.first_failure_s
    return None if stamped is None else round(stamped, 3)


def _result(session: Session, each: SetState, is_first: bool) -> SetResult:
    first, slip = _first_failure(each), perhaps_slip(each)
    to_end = first is None and _ran_to_end(each)
    confirmed = to_end and (each.confirmed or each.late_tap_s is not None)
    counted, because = _counted(session, each, is_first, slip, first, confirmed)
    reentries = _times(each, "re-entry")
    return SetResult(
        **SetResult.facts(each),
        failures_s=_times(each, "failure"),
        reentries_s=reentries,
        first_failure_s=first,
        ran_to_end=to_end,
        confirmed=confirmed,
        late_tap_s=None if each.late_tap_s is None else round(each.late_tap_s, 3),
        tension_s=round(tension_s(each), 3),
        interrupted=each.interrupted,
        skipped=each.skipped,
        stopped=each.stopped,
        effort=each.effort,
        form_broke=each.form_broke,
        pain=each.pain,
        note=each.note,
        has_gaps=each.has_gaps,
        perhaps_slip=slip,
        counted=counted,
        counted_because=because,
        estimated_s=tuple([round(stamp.at, 3) for stamp in each.stamps if stamp.estimated]),
        reentries=each.paper.reentries if each.paper else len(reentries),
    )


def _counted(
    session: Session, each: SetState, is_first: bool, slip: int | None, first: float | None, confirmed: bool
) -> tuple[bool, str]:
    """Return whether a result counts, and why, in words."""
    if session.is_rehearsal:
        return False, "a rehearsal never counts"
    if session.off_day:
        return False, "an off day"
    if not is_first:
        return False, "only the first set of an exercise and side counts"
    if each.has_gaps:
        return False, "part of its record is lost"
    if slip is not None:
        return False, "a very early failure, perhaps a slip of the key: say which"
    if first is not None:
        return True, f"failed at {in_seconds(first)}"
    if confirmed:
        return True, _to_the_end(each)
    return False, _why_not(each)


def _to_the_end(each: SetState) -> str:
    if each.late_tap_s is not None:
        return f"ran to the end; you tapped {tenths(each.late_tap_s)} after it"
    return "ran to the end, confirmed"


def _why_not(each: SetState) -> str:
    if each.stopped == "symptom":
        return "stopped because something felt wrong"
    if each.skipped:
        return "skipped"
    if each.stopped == "choice":
        return "stopped by choice before any failure"
    if each.interrupted:
        return "interrupted before any failure"
    if each.unfocused:
        return "the keys did not reach the program for a part of it"
    if each.denied:
        return "not worked to the end, and no failure was stamped"
    if not each.lasted:
        return "not finished"
    return "nobody confirmed that it ran to the end"


def repetitions(stamp_at: float, tempo: Tempo, worked: Iterable[Span]) -> int:
    """Return the whole repetitions done by `stamp_at` (s), at the tempo, in the spans worked (s).

    The rhythm begins again with each span. 0 where the tempo takes no time.
    """
    each = sum(tempo)
    if each <= 0:
        return 0
    return sum(int((min(end, stamp_at) - start) / each + 1e-6) for start, end in worked if start < stamp_at)


# ---- function tests


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
    """The result of one function test of a session; `series` is None where it had no trial.

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
    """Return the result of each test of a session, in the order they were done."""
    names = dict.fromkeys([each.test for each in session.trials] + [each.test for each in session.put_off])
    return tuple(_test_result(session, name) for name in names)


def _test_result(session: Session, test: str) -> FunctionResult:
    trials = [each for each in session.trials if each.test == test]
    done = tuple(_done(each) for each in trials)
    kept = [each for each in trials if each.result is not None]
    able = all(each.result.able for each in kept if each.result is not None)
    values = [value for each in kept if (value := _value(each)) is not None]
    planned = trials[-1].planned if trials else 0
    is_whole = bool(values) and able and len(values) >= planned
    counted, because = _test_counted(session, test, trials, able=able, values=values, planned=planned)
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


def _test_counted(
    session: Session, test: str, trials: list[TrialState], *, able: bool, values: list[float], planned: int
) -> tuple[bool, str]:
    """Return whether a test counts, and why, in words."""
    if session.is_rehearsal:
        return False, "a rehearsal never counts"
    if not trials:
        return False, next(_why_put_off(session, test), "not done")
    if not able:
        return False, "not able, which is kept apart from numbers"
    if len(values) < planned:
        void = trials[-1].void
        why = _WHY_NONE.get(void.reason if void else "left", "nobody confirmed a result")
        return False, f"{len(values)} of {planned} trials" if values else why
    if any(each.off_day for each in trials if each.result is not None):
        return False, "an off day"
    apart = FAR_APART if max(values) > _MOST_APART * min(values) else ""
    return True, "confirmed" if planned == 1 else f"the mean of {planned} trials{apart}"


_WHY_NONE = {"stopped": "stopped", "not-kept": "nothing was kept", "left": "broken off", "gap": "broken off"}


def _why_put_off(session: Session, test: str) -> Iterator[str]:
    words = {"not-today": "not today", "skipped": "left out"}
    yield from (words.get(each.reason, each.reason) for each in session.put_off if each.test == test)
