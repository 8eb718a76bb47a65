"""What is announced and when: a fold over the state of a session, its part and its latest events."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import IntEnum

from holdtimer.program.timeline import Easy, Part, PlannedSet, PlannedTest
from holdtimer.session import events as ev
from holdtimer.session.debounce import STILL_S
from holdtimer.session.events import round_time
from holdtimer.session.menu import LINE_S, Menu
from holdtimer.session.rules import SETTLED_IN_S
from holdtimer.session.safety_questions import advice_after, question_of, statements
from holdtimer.session.schedule import COUNTED_DOWN, LAST_S, Schedule, orders_of, schedule_of, way_out_at
from holdtimer.session.state import LATE_TAP_S, Phase, Session, SetState, TrialState
from holdtimer.session.trials import OFFER_S, QUIET_S, ROUNDS, Means, Offer, offers
from holdtimer.session.words import CALL_FOR_HELP, CHOICE_WORDS, TRY_KEY, offer_words
from holdtimer.sound import phrases as say
from holdtimer.sound.cues import ASK_AGAIN_S, KEYS_LOST_EVERY_S
from holdtimer.sound.phrases import Pieces, duration, moment, number

ANSWERED_WITHIN_S = 6.0
MARKED_WITHIN_S = 3.0
HINTED_WITHIN_S = 8.0


class Priority(IntEnum):
    """Which announcement goes first where there is no room for all."""

    WAY_OUT = 0  # how to get out safely, after a failure
    COUNTDOWN = 1  # on its very second, or not at all
    ANSWER = 2  # what a tap did, and what to do now
    MARK = 3  # how far it is
    NEXT = 4  # what comes next
    HINT = 5  # what a tap does now


@dataclass(frozen=True, slots=True)
class Announcement:
    """Something to say from session time `at` (s) on, not begun after `until`.

    Of the `wordings`, best first, the first that the voice has and that there is room for is said. One that
    `interrupts` ends what is being said when it becomes due.
    """

    at: float
    priority: Priority
    wordings: tuple[Pieces, ...]
    until: float
    interrupts: bool = False


def answer(
    at: float, *wordings: Pieces, within: float = ANSWERED_WITHIN_S, interrupts: bool = True
) -> Announcement:
    """Return what a tap at `at` is answered with."""
    return Announcement(at, Priority.ANSWER, wordings, round_time(at + within), interrupts)


def mark(at: float, *wordings: Pieces, within: float = MARKED_WITHIN_S) -> Announcement:
    """Return what says at `at` how far it is."""
    return Announcement(round_time(at), Priority.MARK, wordings, round_time(at + within))


def hint(at: float, words: str, until: float) -> Announcement:
    """Return what says from `at` on what a tap does; not begun after `until`."""
    return Announcement(round_time(at), Priority.HINT, ((words,),), until)


PUSH_LEFT_S = 1.0  # "keep pushing" is not said later than this before easing off
KEYS_LOST_SOUNDS = 3  # said with every third of these sounds


def _window(current: SetState, focused: bool, part: Part | None) -> Iterator[Announcement]:
    """Yield all that is to be said in an open window, each kind in the order it is said."""
    schedule = schedule_of(current)
    for left, at in zip(range(COUNTED_DOWN, 0, -1), schedule.countdown, strict=False):
        yield Announcement(at, Priority.COUNTDOWN, (number(left),), at)
    if current.stamps:
        yield from _after_stamp(current, schedule.opens, part)
    else:
        yield hint(schedule.opens, say.TAP_WHEN_FAILED, schedule.opens + HINTED_WITHIN_S)
    if not focused:
        every = KEYS_LOST_SOUNDS * KEYS_LOST_EVERY_S
        for turn in range(int(current.closes_at // every) + 1):
            yield mark(schedule.opens + turn * every + 0.5, (say.KEYS_LOST,), within=every)
    yield from _marks(current, schedule)


def _marks(current: SetState, schedule: Schedule) -> Iterator[Announcement]:
    """Yield where the band begins, how long it is to the end, and the last ten seconds."""
    band, final, ten = schedule.band, schedule.final_stretch, schedule.last_ten
    is_apart = abs(current.window_s - current.final_s - current.band_s[0]) >= MARKED_WITHIN_S
    if band is not None and is_apart:
        yield mark(band, (say.IN_THE_BAND,))
    if final is not None and current.final_s > LAST_S:
        length = (say.THIRTY_SECONDS,) if current.final_s == 30 else duration(current.final_s)
        yield mark(final, (*length, say.TO_THE_END_OF_IT), length)
    if ten is not None:
        yield mark(ten, number(10), within=1.5)


def _after_stamp(current: SetState, opened: float, part: Part | None) -> Iterator[Announcement]:
    stamp = current.stamps[-1]
    at = round_time(opened + stamp.at)
    if stamp.kind == "re-entry":
        yield answer(at, (say.BACK_IN,))
        yield hint(at, say.TAP_WHEN_FAILED, at + HINTED_WITHIN_S)
    elif isinstance(part, PlannedSet):
        yield from _failed(current, part, opened)


def _failed(current: SetState, part: PlannedSet, opened: float) -> Iterator[Announcement]:
    """Yield one order at a time: to push, the way out, to get back in."""
    orders = orders_of(current)
    at, eases_off = round_time(opened + orders.failed), round_time(opened + orders.eases_off)
    if current.push_s > PUSH_LEFT_S:
        pushing = ((say.KEEP_PUSHING, *duration(current.push_s)), (say.KEEP_PUSHING,))
        within = current.push_s - PUSH_LEFT_S
        yield answer(at, *pushing, within=within, interrupts=orders.way_out > orders.failed)
    if current.push_s:
        yield answer(eases_off, (say.EASE_OFF,), within=MARKED_WITHIN_S, interrupts=False)
    yield answer(eases_off, (say.BREATHE,), interrupts=False)
    yield answer(eases_off, (say.FAILED_AT, *moment(orders.failed)), within=10.0, interrupts=False)
    if orders.back_in is not None:
        back_in = round_time(opened + orders.back_in)
        words = (say.BACK_IN_WHEN_READY, part.back_in) if part.back_in else (say.BACK_IN_WHEN_READY,)
        until = round_time(back_in + 20.0)
        yield Announcement(back_in, Priority.NEXT, (words, (say.BACK_IN_WHEN_READY,)), until)
        yield hint(back_in, say.TAP_WHEN_BACK, until)
    elif not current.reentry:
        yield answer(eases_off, (say.SET_OVER,), interrupts=False)


NEXT_AFTER_S = 1.0  # the sounds at the start of a rest come first
HELP_WITHIN_S = 60.0
NEARLY_OVER_S = 10.0
LONG_REST_S = 25.0


def answers(
    events: Iterable[ev.AnyEvent], part: Part | None, earlier: Iterable[Announcement] = ()
) -> list[Announcement]:
    """Return what is said of the latest events, in the part that runs, after `earlier` answers.

    Each answer takes the place of those before it, since they no longer hold; not so the end of the session.
    """
    said = list(earlier)
    for event in events:
        found = list(_answered(event, part))
        if isinstance(event, ev.Closed):
            said += found
        elif found or isinstance(event, ev.ReEntry):
            said = found
    return said


def _answered(event: ev.AnyEvent, part: Part | None) -> Iterator[Announcement]:
    simple = _SIMPLE.get(type(event))
    if simple is not None:
        yield answer(event.t, (simple,))
    elif isinstance(event, ev.Failure) and isinstance(part, PlannedSet):
        wordings = ((part.way_out,), (say.WAY_OUT,))
        at = round_time(event.t + way_out_at(event.at, part) - event.at)
        until = round_time(at + ANSWERED_WITHIN_S)
        yield Announcement(at, Priority.WAY_OUT, wordings, until, interrupts=True)
    elif isinstance(event, (ev.Answer, ev.Asked)):
        yield from _said_no(event)
    elif isinstance(event, ev.RungChosen):
        yield answer(event.t, (event.rung,), (say.CHANGED,))
    elif isinstance(event, ev.OffDay):
        yield answer(event.t, (say.OFF_DAY if event.value else say.CHANGED,))
    elif isinstance(event, ev.Stopped):
        yield answer(event.t, (say.STOPPED,))
        if event.reason == "symptom":
            for line in CALL_FOR_HELP:
                yield answer(event.t, (line,), within=HELP_WITHIN_S, interrupts=False)
    elif isinstance(event, ev.Closed) and event.reason == "finished":
        yield answer(event.t, (say.ENDED,), interrupts=False)


def _said_no(event: ev.Answer | ev.Asked) -> Iterator[Announcement]:
    if isinstance(event, ev.Asked) and event.answer is False:
        yield answer(event.t, (advice_after(event.question, event.leads),))
    elif isinstance(event, ev.Answer) and event.value is False:
        yield answer(event.t, (say.NOT_TO_THE_END,))


_SIMPLE: dict[type, str] = {
    ev.Ready: say.READY,
    ev.NotReady: say.NOT_READY,
    ev.TakenBack: say.TAKEN_BACK,
    ev.LateTap: say.AFTER_THE_END,
    ev.Confirmed: say.TO_THE_END,
    ev.Skipped: say.SKIPPED,
    ev.Redone: say.AGAIN,
    ev.Interrupted: say.INTERRUPTED,
}


def announcements(
    session: Session,
    part: Part | None,
    last_s: float | None = None,
    menu: Menu | None = None,
    answered: Iterable[Announcement] = (),
    *,
    tries_key: bool = False,
) -> list[Announcement]:
    """Return all that is to be said in the phase the session is in, each kind in the order it is said.

    `last_s` is the first failure of the same exercise and side last time.
    """
    if session.left:
        return []
    if session.stopped or session.phase is Phase.CLOSED:
        return list(answered)
    if menu is not None and menu.scanned_since is not None:
        return list(_menu(menu, menu.scanned_since))
    if tries_key:
        return [*answered, hint(session.since + NEXT_AFTER_S, TRY_KEY, math.inf)]
    return [*answered, *_phase(session, part, last_s)]


def _menu(menu: Menu, since: float) -> Iterator[Announcement]:
    """Yield each line when its turn comes; what is asked again is also said back at once."""
    if menu.asks_again:
        yield answer(round_time(since - STILL_S), (CHOICE_WORDS[menu.lines[0]],))
    for turn in range(menu.rounds * len(menu.lines)):
        at = round_time(since + turn * LINE_S)
        words = CHOICE_WORDS[menu.lines[turn % len(menu.lines)]]
        yield answer(at, (words,), within=LINE_S / 2)


def _phase(session: Session, part: Part | None, last_s: float | None) -> Iterator[Announcement]:
    match session.phase:
        case Phase.READY:
            yield from _next(session.since, part, last_s)
            if not session.is_ready:
                yield hint(session.since + NEXT_AFTER_S, say.TAP_WHEN_READY, math.inf)
        case Phase.EASY:
            yield from _easy(session, part)
        case Phase.COUNT_IN:
            yield from _counted_in(session)
        case Phase.WINDOW if session.open_set is not None:
            yield from _window(session.open_set, session.focused, part)
        case Phase.REST:
            yield from _rest(session, part, last_s)
        case Phase.ASKED | Phase.COUNTED if isinstance(part, PlannedTest):
            yield from tested(session, part)


def _next(since: float, part: Part | None, last_s: float | None) -> Iterator[Announcement]:
    """Yield what comes next: exercise, side and rung, what is needed, the setup, last time's seconds."""
    if part is None:
        return
    at = round_time(since + NEXT_AFTER_S)
    for wordings in _coming(part, last_s):
        yield Announcement(at, Priority.NEXT, wordings, math.inf)


def _coming(part: Part, last_s: float | None) -> Iterator[tuple[Pieces, ...]]:
    if isinstance(part, Easy):
        yield (say.NEXT, part.title), (say.NEXT, say.EASY_MOVEMENT)
        yield (duration(part.seconds),)
    elif isinstance(part, PlannedTest):
        yield (say.NEXT, part.name), (say.NEXT,)
    else:
        yield (say.NEXT, part.name), (say.NEXT, say.SET, *number(min(part.set, 99)))
        if part.side in say.SIDES:
            yield ((say.SIDES[part.side],),)
        yield ((part.rung.name,),)
    if part.needs:
        yield ((f"You need: {', '.join(part.needs)}.",),)
    yield from ((((line,),)) for line in part.setup)
    if isinstance(part, PlannedSet):
        if part.rung.how:
            yield ((part.rung.how,),)
        if last_s is not None:
            yield ((say.LAST_TIME, *duration(last_s)),)


def _easy(session: Session, part: Part | None) -> Iterator[Announcement]:
    if isinstance(part, Easy):
        yield answer(session.since, (part.title,), (say.EASY_MOVEMENT,), interrupts=False)
        yield Announcement(
            session.since, Priority.NEXT, (duration(part.seconds),), round_time(session.until - NEARLY_OVER_S)
        )
        if part.seconds >= LONG_REST_S:
            yield mark(session.until - NEARLY_OVER_S, (*number(10), say.SECONDS))


def _counted_in(session: Session) -> Iterator[Announcement]:
    begins = round_time(session.until - COUNTED_DOWN)
    yield Announcement(session.since, Priority.NEXT, ((say.POSITION,),), begins)
    yield hint(session.since + SETTLED_IN_S, say.TAP_NOT_READY, begins)


def _rest(session: Session, part: Part | None, last_s: float | None) -> Iterator[Announcement]:
    last = session.sets[-1] if session.sets else None
    failed_s = last.first_failure_s if last is not None and not last.reentry else None
    if failed_s is not None and not session.halted:
        yield answer(session.since, (say.FAILED_AT, *moment(failed_s)), interrupts=False)
    if session.asking is not None:
        for again in ASK_AGAIN_S:
            yield mark(session.since + LATE_TAP_S + again, *_question(session.asking), within=10.0)
    if session.is_cleared and isinstance(part, PlannedTest):
        yield from at_the_line(session, part)
    else:
        yield from _next(session.since, part, last_s)
    length = session.until - session.since
    if part is not None and length >= LONG_REST_S:
        yield mark(session.until - NEARLY_OVER_S, (say.NEARLY_OVER,))
    if part is not None and session.asking is None and not (session.is_ready or session.is_cleared):
        yield hint(session.since + NEXT_AFTER_S, say.TAP_WHEN_READY, math.inf)
        if length > 0:
            yield hint(session.until, say.TAP_WHEN_READY, session.until + HINTED_WITHIN_S)


def tested(session: Session, test: PlannedTest) -> Iterator[Announcement]:
    """Yield the question that is put, or each answer after a trial when its turn comes."""
    put = question_of(test, session.question.question) if session.question else None
    if put is not None:
        yield Announcement(
            round_time(session.since + NEXT_AFTER_S), Priority.NEXT, ((put.statement,),), session.until
        )
        yield hint(session.since + NEXT_AFTER_S, say.TAP_IF_SO, session.until)
    trial = session.open_trial
    if session.phase is not Phase.COUNTED or trial is None:
        return
    every = offers(trial)
    for turn in range(ROUNDS * len(every)):
        at = round_time(session.since + QUIET_S + turn * OFFER_S)
        yield answer(at, _offer(trial, every[turn % len(every)]), within=OFFER_S / 2)


def _offer(trial: TrialState, offer: Offer) -> Pieces:
    if offer.means is not Means.KEPT:
        return (say.OFFERS[offer.means],)
    if offer.stands is not None:
        return (*number(min(offer.stands, 99)), say.STANDS)
    is_last = trial.trial >= trial.planned  # between trials no result is said
    return say.with_tenths(trial.ended_at or 0.0) if is_last else (offer_words(trial, offer),)


def at_the_line(session: Session, test: PlannedTest) -> Iterator[Announcement]:
    """Yield the way out and how it is done, before a trial."""
    at = round_time(session.since + NEXT_AFTER_S)
    for line in (test.way_out, *test.form):
        yield Announcement(at, Priority.NEXT, ((line,),), math.inf)
    yield hint(at, say.TAP_WHEN_READY, math.inf)


def _question(asking: SetState) -> tuple[Pieces, ...]:
    """Return the question after a silent window: which set, how to say yes, and how to say no."""
    side = (say.SIDES[asking.side],) if asking.side in say.SIDES else ()
    which = (say.SET, *number(min(asking.set, 99)), *side)
    answers = (say.DID_YOU, say.IF_NOT)
    return (*which, *answers, say.OR_HOLD), (*which, *answers), answers


def pieces_ahead(parts: Iterable[Part]) -> Iterator[str]:
    """Yield every piece of speech that a session of these parts may need, those needed first at the front."""
    first, *more = [tuple(_pieces_of(part)) for part in parts] or [()]
    yield from first
    yield from say.EVERY
    for pieces in more:
        yield from pieces


def _pieces_of(part: Part) -> Iterator[str]:
    for wordings in _coming(part, None):
        yield from (piece for wording in wordings for piece in wording)
    if isinstance(part, PlannedTest):
        yield part.way_out
        yield from statements(part)
        yield from part.form
    if isinstance(part, PlannedSet):
        yield part.way_out
        if part.back_in:
            yield part.back_in
