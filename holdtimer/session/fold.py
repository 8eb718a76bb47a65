"""The one fold: events in, state out. It never raises: a log with lines missing still adds up."""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from functools import reduce
from operator import attrgetter
from typing import Any

from holdtimer.session import events as ev
from holdtimer.session import trials
from holdtimer.session.events import round_time
from holdtimer.session.state import Phase, Session, SetState, Stamp, replace_fast

Handler = Callable[[Session, Any], Session]

_AFTER_A_BREAK = (ev.Anchor, ev.Gap, ev.Resumed, ev.Closed)  # their time says nothing of the time before


def fold(
    events: Iterable[ev.AnyEvent], session: Session | None = None, lost: Sequence[range] = ()
) -> Session:
    """Return the state after `events`, from an empty session or from the one given.

    `lost` are the numbers missing among them, in order: the sets they belong to are marked.
    """
    session = session or Session()
    if not lost:
        return reduce(step, events, session)
    gaps = list(reversed(lost))
    for event in events:
        while gaps and gaps[-1].start < event.n:
            session = _with_gap(session, gaps.pop())
        session = step(session, event)
    return reduce(_with_gap, reversed(gaps), session)


def _with_gap(session: Session, gap: range) -> Session:
    """Mark the open set, and one that closed in silence: what was said of it may be lost."""
    session = replace_fast(session, n=max(session.n, gap[-1]), has_gaps=True)
    last = session.open_set or session.deniable
    return session if last is None else put(session, replace_fast(last, has_gaps=True))


def step(session: Session, event: ev.AnyEvent) -> Session:
    """Return the state after one more event."""
    handler = _HANDLERS.get(type(event))
    after = handler(session, event) if handler else session
    alive = session.alive_t if isinstance(event, _AFTER_A_BREAK) else max(session.alive_t, event.t)
    numbers = {"n": max(session.n, event.n), "t": max(session.t, event.t), "alive_t": alive}
    if after is session:
        return replace_fast(session, **numbers)
    after.__dict__.update(numbers)  # it was made just now, and nobody else holds it
    return after


def _opened(session: Session, event: ev.Opened) -> Session:
    session = replace_fast(session, opened=event, off_day=event.off_day)
    if session.phase is not Phase.NEW:  # a torn log: what already happened is not undone by its first line
        return session
    return replace_fast(session, phase=Phase.READY, since=event.t, until=event.t)


def _anchor(session: Session, event: ev.Anchor) -> Session:
    return replace_fast(session, anchors=(*session.anchors, event))


def _ready(session: Session, event: ev.Ready) -> Session:
    if session.is_cleared:
        return trials.count_in(session, event.t, is_cut=event.cut)
    until = event.t if event.cut else max(session.until, event.t)
    return replace_fast(session, is_ready=True, until=until)


def _waiting(session: Session, t: float) -> Session:
    """Back to waiting before the same part: nothing starts by itself."""
    phase = Phase.READY if session.phase is Phase.READY else Phase.REST
    return replace_fast(session, phase=phase, is_ready=False, halted=True, since=t, until=t)


def _not_ready(session: Session, event: ev.NotReady) -> Session:
    if session.phase is Phase.REST:
        return replace_fast(session, is_ready=False, halted=True)
    return _waiting(session, event.t)


def _easy(session: Session, event: ev.EasyBegun) -> Session:
    return _begin(session, Phase.EASY, event.part, event.t, event.seconds, halted=False)


def _rest(session: Session, event: ev.Rest) -> Session:
    after_easy = session.phase is Phase.EASY
    more = {"after_easy": after_easy, "is_cleared": trials.at_the_line(session, event.part), "asked": ()}
    return _begin(session, Phase.REST, event.part, event.t, event.seconds, **more)


def _count_in(session: Session, event: ev.CountIn) -> Session:
    return _begin(session, Phase.COUNT_IN, event.part, event.t, event.seconds, halted=False)


def _begin(session: Session, phase: Phase, part: int, t: float, seconds: float, **fields: Any) -> Session:
    until = round_time(t + seconds)
    return replace_fast(session, phase=phase, part=part, since=t, until=until, is_ready=False, **fields)


def _window_open(session: Session, event: ev.WindowOpen) -> Session:
    opened = SetState(**SetState.facts(event), opened_t=event.t, unfocused=not session.focused)
    others = session.sets
    if _find(session, event.set) is not None:
        others = tuple(each for each in others if each.set != event.set)
    return replace_fast(
        session,
        phase=Phase.WINDOW,
        since=event.t,
        until=round_time(event.t + event.window_s),
        is_ready=False,
        halted=False,
        sets=(*others, opened),
    )


def _find(session: Session, number: int | None) -> SetState | None:
    for each in reversed(session.sets):  # nearly always the last
        if each.set == number:
            return each
    return None


def put(session: Session, new: SetState) -> Session:
    """Return the session with one of its sets changed; the clock of an open window follows."""
    sets = session.sets
    if sets and sets[-1].set == new.set:
        session = replace_fast(session, sets=(*sets[:-1], new))
    else:
        session = replace_fast(session, sets=tuple([new if each.set == new.set else each for each in sets]))
    if new.is_open and new.opened_t is not None and session.phase is Phase.WINDOW:
        session = replace_fast(session, until=round_time(new.opened_t + new.closes_at))
    return session


def _change(session: Session, number: int | None, **fields: Any) -> Session:
    found = _find(session, number)
    return session if found is None else put(session, replace_fast(found, **fields))


def _stamp(session: Session, event: ev.Failure | ev.ReEntry) -> Session:
    found = _find(session, event.set)
    if found is None or found.opened_t is None:
        return session
    stamps, new = found.stamps, Stamp(event.n, event.ev, event.at)
    place = bisect_right(stamps, event.at, key=_at)
    return put(session, replace_fast(found, stamps=(*stamps[:place], new, *stamps[place:])))


_at = attrgetter("at")


def _taken_back(session: Session, event: ev.TakenBack) -> Session:
    found = _find(session, event.set)
    if found is None:
        return session
    return put(session, replace_fast(found, stamps=tuple(s for s in found.stamps if s.n != event.of)))


def _late_tap(session: Session, event: ev.LateTap) -> Session:
    return _change(session, event.set, late_tap_s=event.after_s)


def _confirmed(session: Session, event: ev.Confirmed) -> Session:
    """Take a yes; what was said before then about the same does not hold any more."""
    is_earlier = [each.field == "ran_to_end" and each.set == event.set for each in session.answers]
    if any(is_earlier):
        kept = tuple(each for each, out in zip(session.answers, is_earlier, strict=True) if not out)
        session = replace_fast(session, answers=kept)
    session = replace_fast(session, until=max(session.until, event.t))
    return _change(session, event.set, confirmed=True)


def _mark(session: Session, event: ev.Band | ev.FinalStretch) -> Session:
    found = _find(session, event.set)
    return session if found is None else put(session, replace_fast(found, marks=found.marks | {event.ev}))


def _over(session: Session, number: int | None, t: float, at: float | None, **fields: Any) -> Session:
    """End the open window: on to waiting for the next part."""
    found = _find(session, number)
    if found is not None and found.is_open:
        session = put(session, replace_fast(found, ended_at=at, **fields))
    return _begin(session, Phase.REST, session.part + 1, t, 0.0)


def _window_closed(session: Session, event: ev.WindowClosed) -> Session:
    return _over(session, event.set, event.t, event.at, closed=True)


def _interrupted(session: Session, event: ev.Interrupted) -> Session:
    return _over(session, event.set, event.t, event.at, interrupted=True)


def _skipped(session: Session, event: ev.Skipped) -> Session:
    found = _find(session, event.set)
    if found is None:
        session = replace_fast(session, sets=(*session.sets, SetState(**SetState.facts(event), skipped=True)))
    return _over(session, event.set, event.t, event.at, skipped=True)


def _redone(session: Session, event: ev.Redone) -> Session:
    sets = tuple(each for each in session.sets if each.set != event.set)
    attempts = {**session.attempts, event.set: event.attempt}
    return _waiting(replace_fast(session, sets=sets, attempts=attempts), event.t)


def _stopped(session: Session, event: ev.Stopped) -> Session:
    if event.set is not None or event.scope == "set":
        session = _over(session, event.set, event.t, event.at, stopped=event.reason)
    if event.scope == "session":
        session = replace_fast(session, stopped=event.reason, is_ready=False)
    return session


def _rung_chosen(session: Session, event: ev.RungChosen) -> Session:
    return replace_fast(session, rungs={**session.rungs, event.set: event.rung})


def _off_day(session: Session, event: ev.OffDay) -> Session:
    return replace_fast(session, off_day=event.value)


def _focus(session: Session, event: ev.Focus) -> Session:
    session = replace_fast(session, focused=event.has)
    current = session.open_set
    if event.has or current is None:
        return session
    return put(session, replace_fast(current, unfocused=True))


def _gap(session: Session, event: ev.Gap) -> Session:
    return _halted(session, event.t)


def _resumed(session: Session, event: ev.Resumed) -> Session:
    return replace_fast(_halted(session, event.t), left=None)


def _halted(session: Session, t: float) -> Session:
    session = replace_fast(session, is_cleared=False, question=None, asked=())  # a test asks again
    if session.open_set is None and session.phase not in (Phase.REST, Phase.NEW, Phase.CLOSED):
        return _waiting(session, t)
    return replace_fast(session, is_ready=False, halted=True)


def _silent(session: Session, event: ev.Silent) -> Session:
    return replace_fast(session, silent=event.why)


def _log_trouble(session: Session, event: ev.LogTrouble) -> Session:
    return replace_fast(session, log_trouble=event.why)


def _left(session: Session, event: ev.Left) -> Session:
    return replace_fast(session, left=event.reason)


def _answer(session: Session, event: ev.Answer) -> Session:
    session = replace_fast(session, answers=(*session.answers, event))
    if event.field == "ran_to_end" and event.value is not True and event.session is None:
        session = replace_fast(session, until=max(session.until, event.t))
        is_no = event.value is False
        return _change(session, event.set, denied=is_no, confirmed=False)
    return session


def _paper(session: Session, event: ev.PaperResult) -> Session:
    paper = SetState(
        **SetState.facts(event),
        paper=event,
        ended_at=event.window_s if event.ran_to_end else None,
        closed=event.ran_to_end,
        confirmed=event.confirmed,
        late_tap_s=event.late_tap_s,
        interrupted=event.interrupted,
        skipped=event.skipped,
        stopped=event.stopped,
        effort=event.effort,
        form_broke=event.form_broke,
        pain=event.pain,
        note=event.note,
    )
    off_day = session.off_day or event.off_day
    return replace_fast(session, sets=(*session.sets, paper), off_day=off_day)


def _closed(session: Session, event: ev.Closed) -> Session:
    return replace_fast(session, phase=Phase.CLOSED, finished=event.reason, since=event.t, until=event.t)


_HANDLERS: dict[type, Handler] = {
    ev.Opened: _opened,
    ev.Anchor: _anchor,
    ev.Ready: _ready,
    ev.NotReady: _not_ready,
    ev.EasyBegun: _easy,
    ev.Rest: _rest,
    ev.CountIn: _count_in,
    ev.WindowOpen: _window_open,
    ev.Failure: _stamp,
    ev.ReEntry: _stamp,
    ev.TakenBack: _taken_back,
    ev.LateTap: _late_tap,
    ev.Confirmed: _confirmed,
    ev.Band: _mark,
    ev.FinalStretch: _mark,
    ev.WindowClosed: _window_closed,
    ev.Interrupted: _interrupted,
    ev.Skipped: _skipped,
    ev.Redone: _redone,
    ev.Stopped: _stopped,
    ev.RungChosen: _rung_chosen,
    ev.OffDay: _off_day,
    ev.Focus: _focus,
    ev.Gap: _gap,
    ev.Resumed: _resumed,
    ev.Silent: _silent,
    ev.LogTrouble: _log_trouble,
    ev.Left: _left,
    ev.Answer: _answer,
    ev.PaperResult: _paper,
    ev.Closed: _closed,
    **trials.HANDLERS,
}
