"""The trials of function tests: what a key does, what time brings, what each event leaves behind.

Pure, like the rules that call it. A test goes: its questions, waiting at the line, three sounds and "go" (or
the key itself where the start is a walking one), the trial, and its result, which the person says.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from holdtimer.program.timeline import PlannedTest, Series
from holdtimer.session import trial_events as tr
from holdtimer.session.debounce import NEW_SCREEN_S
from holdtimer.session.event_base import round_time
from holdtimer.session.events import AnyEvent, DropReason, OffDay, Ready, Rest
from holdtimer.session.safety_questions import ALL_NEED, ANSWER_S, LASTING, next_question
from holdtimer.session.state import Phase, Session, Tap, TrialState, event, last_ended, replace_fast

STAND_S = 30.0  # a chair stand test lasts this long, its end belongs to it
TOO_LONG_S = 180.0  # a trial that the key ends is "not able" after this long
GO_AFTER_S = 5.0  # from the tap at the line to "go"
MARK_GUARD_S = (
    0.5  # between two stands; five stands take healthy people 6 s, and a tremor hits again in 0.4 s
)
LEAST_S = 1.0  # no trial is over sooner: a key before it is a slip
QUIET_S = 3.0  # after a trial, before a tap says the result: the last stand may still be pressed
OFFER_S = 4.0  # each answer is offered this long
ROUNDS = 3  # after so many rounds with no tap nobody confirmed it


def stands(marks: Iterable[float]) -> int:
    """Return how many stands were marked within the 30 s.

    One more than half-way up at the end counts too (CDC STEADI 30-second chair stand sheet, 2017): of that
    only the person knows, so that one more is offered next.
    """
    return sum(at <= STAND_S for at in marks)


def speed(metres: float, seconds: float) -> float:
    """Return metres per second."""
    return metres / seconds


# -- the result of a trial -----------------------------------------------------------------------------------


class Means(StrEnum):
    """What an answer after a trial means."""

    KEPT = "kept"
    NOT_ABLE = "not-able"
    AGAIN = "again"
    NOT_KEPT = "not-kept"


@dataclass(frozen=True, slots=True)
class Offer:
    """One answer after a trial; `stands` where it is a count."""

    means: Means
    stands: int | None = None


def offers(trial: TrialState) -> tuple[Offer, ...]:
    """Return the answers offered after a trial: what was stamped first, for a count its neighbours too."""
    others = (Offer(Means.NOT_ABLE), Offer(Means.AGAIN), Offer(Means.NOT_KEPT))
    if trial.counts:
        n = stands(trial.marks)
        counts = [count for count in (n, n + 1, n - 1, n + 2) if count > 0]
        return (*(Offer(Means.KEPT, count) for count in counts), *others)
    return others if trial.ended_by == "too-long" else (Offer(Means.KEPT), *others)


def offered(session: Session, now: float) -> Offer | None:
    """Return the answer whose turn it is at `now`."""
    trial = session.open_trial
    if trial is None or session.phase is not Phase.COUNTED:
        return None
    every = offers(trial)
    turn = max(0, int(round_time(now - session.since - QUIET_S) / OFFER_S))
    return every[turn % len(every)]


def offers_until(trial: TrialState, since: float) -> float:
    """Return until when the answers are offered, from the end of the trial on."""
    return round_time(since + QUIET_S + OFFER_S * ROUNDS * len(offers(trial)))


def _settled(session: Session, test: PlannedTest, trial: TrialState, offer: Offer, at: float) -> AnyEvent:
    """Return the event that an answer brings."""
    over = trial.trial >= test.trials
    if offer.means is Means.AGAIN:
        return _void(session, trial, "again", at, over=False)
    if offer.means is Means.NOT_KEPT:
        return _void(session, trial, "not-kept", at, over=over)
    fields: dict[str, Any] = {"marked": stands(trial.marks)} if trial.counts else {}
    if offer.means is Means.NOT_ABLE:
        return _of(session, tr.TrialResult, trial, at, able=False, over=True, **fields)
    if trial.counts:
        return _of(session, tr.TrialResult, trial, at, stands=offer.stands, over=over, **fields)
    fields = {"seconds": trial.ended_at}
    if trial.unit == "m/s":
        fields["speed_m_s"] = round(speed(trial.lane_m or 0.0, trial.ended_at or 1.0), 4)
    return _of(session, tr.TrialResult, trial, at, over=over, **fields)


def _of(session: Session, kind: type[AnyEvent], trial: TrialState, t: float, /, **fields: Any) -> AnyEvent:
    return event(session, kind, t, test=trial.test, trial=trial.trial, **fields)


def _void(session: Session, trial: TrialState, reason: tr.VoidReason, at: float, *, over: bool) -> AnyEvent:
    return _of(session, tr.TrialVoid, trial, at, reason=reason, over=over)


def put_off(session: Session, test: PlannedTest, reason: tr.VoidReason, at: float) -> AnyEvent:
    """Return that the test, or the trial that runs, is over and has no result."""
    trial = session.open_trial
    if trial is not None:
        return _void(session, trial, reason, at, over=True)
    number = next_trial(session, test)
    return event(session, tr.TrialVoid, at, test=test.test, trial=number, reason=reason, over=True)


def interrupted(session: Session, why: tr.VoidReason, now: float) -> AnyEvent | None:
    """Return that a trial was broken off; it has no result, whatever was stamped."""
    trial = session.open_trial
    reason = "stopped" if session.stopped else why
    return None if trial is None else _void(session, trial, reason, now, over=False)


def next_trial(session: Session, test: PlannedTest) -> int:
    """Return the number of the next trial of a test: one that is done again keeps its number."""
    done = {each.trial for each in session.trials if each.test == test.test and not _is_repeated(each)}
    return max(done, default=0) + 1


def _is_repeated(trial: TrialState) -> bool:
    return trial.void is not None and not trial.void.over and trial.void.reason in ("again", "gap", "left")


# -- what a tap does -----------------------------------------------------------------------------------------


def tap_meaning(session: Session, test: PlannedTest, now: float) -> Tap | None:
    """Return what a tap does where a test decides it; None where it is as before any part."""
    match session.phase:
        case Phase.ASKED:
            return Tap.TRUE
        case Phase.TRIAL:
            ends = Tap.ACROSS if test.protocol == "timed-walk" else Tap.SEATED
            return Tap.STAND if test.counts else ends
        case Phase.COUNTED:
            return Tap.NOT_YET if round_time(now - session.since) < QUIET_S else Tap.TAKE
        case Phase.REST if session.is_cleared and not session.is_ready:
            return Tap.START if test.begins_with_key else Tap.IN_PLACE
    return None


def tap(session: Session, test: PlannedTest, at: float, late_ms: float) -> AnyEvent | DropReason | None:
    """Return the event of a tap at `at`, or why it is dropped; None where it is as before any part."""
    trial = session.open_trial
    if trial is not None and trial.counts and at >= trial.opened_t and _is_running(trial, at):
        return _of(session, tr.Mark, trial, at, at=round_time(at - trial.opened_t), late_ms=late_ms)
    if session.phase is Phase.TRIAL and trial is not None:
        passed = round_time(at - trial.opened_t)
        if passed < LEAST_S:
            return "guard"
        return _of(session, tr.TrialClosed, trial, at, at=passed, reason="key", late_ms=late_ms)
    if session.phase is Phase.COUNTED and trial is not None:
        offer = offered(session, at)
        is_early = round_time(at - session.since) < QUIET_S or offer is None
        return "screen" if is_early or offer is None else _settled(session, test, trial, offer, at)
    if session.phase not in (Phase.ASKED, Phase.REST) or not (session.question or session.is_cleared):
        return None
    if round_time(at - session.since) < NEW_SCREEN_S:
        return "screen"
    if session.phase is Phase.ASKED:
        return answer(session, at, value=True)
    return _opened(session, test, at, late_ms) if _starts_by_key(session, test) else None


def _starts_by_key(session: Session, test: PlannedTest) -> bool:
    return test.begins_with_key and session.is_cleared and not session.is_ready


def _is_running(trial: TrialState, at: float) -> bool:
    """Whether a trial that the clock ends ran at `at`, its end included, though it may be closed since."""
    return round_time(at - trial.opened_t) <= trial.length_s


def answer(session: Session, at: float, *, value: bool, silent: bool | None = None) -> AnyEvent | None:
    """Return the answer to the question that is put."""
    put = session.question
    if put is None:
        return None
    leads = None if value else put.if_no
    return event(
        session, tr.Asked, at, test=put.test, trial=put.trial, part=put.part, question=put.question,
        answer=value, silent=silent, leads=leads,
    )  # fmt: skip


def deny(session: Session, at: float) -> AnyEvent | DropReason | None:
    """Return the no that Backspace says to a question."""
    if session.phase is not Phase.ASKED:
        return None
    return "screen" if round_time(at - session.since) < NEW_SCREEN_S else answer(session, at, value=False)


def put_again(session: Session, said: tr.Asked, at: float) -> AnyEvent:
    """Return a question put again whose yes was not meant."""
    number = {"test": said.test, "trial": said.trial, "part": said.part}
    return event(session, tr.Asked, at, **number, question=said.question, if_no=said.if_no)


# -- what time brings ----------------------------------------------------------------------------------------


def boundary(session: Session, test: PlannedTest) -> AnyEvent | None:
    """Return what time alone brings next before, in and after a trial."""
    trial = session.open_trial
    match session.phase:
        case Phase.READY | Phase.REST if session.is_ready:
            return _put(session, test, session.until)
        case Phase.COUNT_IN:
            return _opened(session, test, session.until)
        case Phase.ASKED if session.question is not None:
            return answer(session, session.until, value=False, silent=True)
        case Phase.TRIAL if trial is not None:
            reason: tr.TrialEnd = "time" if trial.counts else "too-long"
            return _of(session, tr.TrialClosed, trial, session.until, at=trial.length_s, reason=reason)
        case Phase.COUNTED if trial is not None:
            over = trial.trial >= test.trials
            return _void(session, trial, "not-confirmed", session.until, over=over)
    return None


def _put(session: Session, test: PlannedTest, t: float) -> AnyEvent:
    """Return the next question; where none is left, the waiting at the line."""
    if session.is_unfit:
        return put_off(session, test, "not-today", t)
    asked = next_question(session, test)
    if asked is None:
        ended = last_ended(session)
        rest_s = 0.0 if ended is None else max(0.0, ended + test.rest_s - t)
        return event(session, Rest, t, part=test.part, seconds=round_time(rest_s))
    number = next_trial(session, test)
    if_no = asked.no if asked.no != "variant" or test.easier else "not-today"
    return event(
        session, tr.Asked, t, test=test.test, trial=number, part=test.part, question=asked.id, if_no=if_no
    )


def _opened(session: Session, test: PlannedTest, t: float, late_ms: float = 0.0) -> AnyEvent:
    seconds = STAND_S if test.counts else TOO_LONG_S
    number, facts = next_trial(session, test), Series.facts(test)
    return event(
        session, tr.TrialOpen, t, test=test.test, trial=number, seconds=seconds, trials=test.trials,
        late_ms=late_ms, **facts,
    )  # fmt: skip


def following(session: Session, test: PlannedTest, done: AnyEvent) -> AnyEvent | None:
    """Return what follows an event at once: the next question, a rest, an off day, or putting it off."""
    if isinstance(done, (tr.TrialResult, tr.TrialVoid)):
        return _rest_between(session, test, done)
    if isinstance(done, Ready) and session.phase in (Phase.READY, Phase.REST):
        return _put(session, test, done.t)  # the rest is kept at the line
    if isinstance(done, OffDay) and session.phase is Phase.ASKED and session.question is None:
        return _put(session, test, done.t)
    if not isinstance(done, tr.Asked) or done.answer is None:
        return None
    match done.leads:
        case "off-day" if not session.off_day:
            return event(session, OffDay, done.t, value=True)
        case "set-up":
            return event(session, Rest, done.t, part=test.part, seconds=0.0)
        case "not-today":
            return put_off(session, test, "not-today", done.t)
    return _put(session, test, done.t)


def _rest_between(
    session: Session, test: PlannedTest, done: tr.TrialResult | tr.TrialVoid
) -> AnyEvent | None:
    """Return the rest before the next trial of a test, counted from the end of the last one."""
    if session.stopped or not session.is_cleared:
        return None
    last = session.trials[-1]
    rested = done.t - last.opened_t - (last.ended_at or 0.0)
    seconds = round_time(max(0.0, test.trial_rest_s - rested))
    return event(session, Rest, done.t, part=test.part, seconds=seconds)


# -- the fold ------------------------------------------------------------------------------------------------


def _asked(session: Session, done: tr.Asked) -> Session:
    if done.answer is None:
        until = round_time(done.t + ANSWER_S)
        put = {"phase": Phase.ASKED, "since": done.t, "until": until, "question": done}
        before = tuple(each for each in session.asked if each.question != done.question)
        put |= {"asked": before, "lasting": session.lasting - {done.question}, "refusal": None}
        return replace_fast(session, **put, is_ready=False, is_cleared=False, halted=False)
    holds = {done.question} & LASTING if done.answer else set()
    instead = {done.part} if done.leads == "variant" else set()
    is_no = done.answer is False
    return replace_fast(
        session,
        question=None,
        asked=(*session.asked, done),
        lasting=session.lasting | holds,
        instead=session.instead | instead,
        refusal=done if is_no else None,
        is_unfit=session.is_unfit or (is_no and not done.silent and done.question in ALL_NEED),
    )


def _trial_open(session: Session, done: tr.TrialOpen) -> Session:
    trial = TrialState(
        **Series.facts(done),
        test=done.test,
        trial=done.trial,
        opened_t=done.t,
        length_s=done.seconds,
        planned=done.trials,
        off_day=session.off_day,
    )
    until = round_time(done.t + done.seconds)
    begun = {"phase": Phase.TRIAL, "since": done.t, "until": until, "is_ready": False, "is_cleared": False}
    begun["refusal"] = None
    return replace_fast(session, **begun, halted=False, trials=(*session.trials, trial))


def _changed(session: Session, done: tr.InTest, **fields: Any) -> Session:
    """Return the session with its open trial changed; as it is where another one is meant."""
    trial = session.open_trial
    if trial is None or (trial.test, trial.trial) != (done.test, done.trial):
        return session
    return replace_fast(session, trials=(*session.trials[:-1], replace_fast(trial, **fields)))


def _mark(session: Session, done: tr.Mark) -> Session:
    marks = session.open_trial.marks if session.open_trial else ()
    return _changed(session, done, marks=tuple(sorted((*marks, done.at))))


def _trial_closed(session: Session, done: tr.TrialClosed) -> Session:
    session = _changed(session, done, ended_at=done.at, ended_by=done.reason)
    trial = session.open_trial
    until = done.t if trial is None else offers_until(trial, done.t)
    return replace_fast(session, phase=Phase.COUNTED, since=done.t, until=until)


def _trial_over(session: Session, done: tr.TrialResult | tr.TrialVoid) -> Session:
    """Go on to waiting: for the next trial, or for the next part where the test is over."""
    is_broken_off = isinstance(done, tr.TrialVoid) and done.reason in ("gap", "left", "stopped")
    if session.open_trial is None and isinstance(done, tr.TrialVoid):
        session = replace_fast(session, put_off=(*session.put_off, done))
    field = "result" if isinstance(done, tr.TrialResult) else "void"
    session = _changed(session, done, **{field: done})
    return replace_fast(
        session,
        phase=Phase.REST,
        part=session.part + done.over,
        since=done.t,
        until=done.t,
        is_ready=False,
        is_cleared=not done.over and not is_broken_off,
        question=None,
        asked=(),
    )


HANDLERS: Mapping[type, Callable[[Session, Any], Session]] = {
    tr.Asked: _asked,
    tr.TrialOpen: _trial_open,
    tr.Mark: _mark,
    tr.TrialClosed: _trial_closed,
    tr.TrialResult: _trial_over,
    tr.TrialVoid: _trial_over,
}
"""What each event of a test makes of a session."""


def at_the_line(session: Session, part: int) -> bool:
    """Whether a rest before that part is the waiting at the line: all questions of the test are answered."""
    has_answered = session.phase is Phase.ASKED and bool(session.asked) and session.question is None
    is_set_up = has_answered and session.asked[-1].leads != "set-up"
    return part == session.part and (session.is_cleared or is_set_up)


def count_in(session: Session, at: float, *, is_cut: bool) -> Session:
    """Return the session after a tap at the line: three sounds and "go" follow, once the rest is over."""
    until = round_time(at + GO_AFTER_S)
    until = until if is_cut else max(until, session.until)
    return replace_fast(session, phase=Phase.COUNT_IN, since=at, until=until, is_ready=False, halted=False)
