"""What decides in a session: pure functions of its state, its timeline and the time.

What a tap does, what time brings next, and what ends a set or the session. A decision is an event, numbered
as the next one of the session; the engine applies it.
"""

from typing import Any, Literal

from holdtimer.program.timeline import Easy, Part, PlannedSet, PlannedTest, Timeline
from holdtimer.session import events as ev
from holdtimer.session import trials
from holdtimer.session.debounce import HELD_FOR_MENU_S, NEW_SCREEN_S
from holdtimer.session.events import round_time
from holdtimer.session.schedule import schedule_of
from holdtimer.session.state import LATE_TAP_S, Phase, Session, SetState, Tap, event, last_ended

SETTLE_S = 0.25  # a key read is handled sooner than this
SETTLED_IN_S = 2.0  # from here on a tap in a count-in says "not ready"
SILENCE_S = 900.0  # with no tap for this long, the session is left


def part_of(session: Session, timeline: Timeline) -> Part | None:
    """Return the part that is running or comes next, at the rung or variant chosen; None after the last."""
    if session.part >= len(timeline.parts):
        return None
    part = timeline.parts[session.part]
    if isinstance(part, PlannedTest) and part.easier is not None and part.part in session.instead:
        return part.easier
    if not isinstance(part, PlannedSet):
        return part
    chosen = session.rungs.get(part.set)
    return part.at_rung(chosen) if chosen in [rung.name for rung in part.ladder] else part


def place(each: SetState | PlannedSet, t: float = 0.0) -> dict[str, Any]:
    """Return the fields that name a set and the moment `t` of its window; 0 before it is open."""
    opened = each.opened_t if isinstance(each, SetState) else None
    at = 0.0 if isinstance(each, PlannedSet) else max(0.0, round_time(t - (opened or 0.0)))
    return {"set": each.set, "exercise": each.exercise, "side": each.side, "at": at}


# -- what a tap does -------------------------------------------------------------------------------------


def tap_meaning(session: Session, now: float, part: Part | None, back_in_guard_s: float = 0.0) -> Tap:
    """Return what a tap at `now` (s) would do; `part` runs or comes next."""
    if session.left or session.stopped or session.phase is Phase.CLOSED:
        return Tap.NOTHING
    if late_tap_set(session, now) is not None:
        return Tap.LATE
    if isinstance(part, PlannedTest) and (does := trials.tap_meaning(session, part, now)) is not None:
        return does
    match session.phase:
        case Phase.READY:
            return Tap.NOTHING if session.is_ready else Tap.BEGIN
        case Phase.COUNT_IN:
            return Tap.NOT_READY if round_time(now - session.since) >= SETTLED_IN_S else Tap.NOTHING
        case Phase.WINDOW if session.open_set is not None:
            return _stamps(session.open_set, now, back_in_guard_s)
        case Phase.REST:
            if session.asking is not None:
                return Tap.CONFIRM
            return Tap.NOTHING if session.is_ready or part is None else Tap.READY
    return Tap.NOTHING


def _stamps(current: SetState, now: float, back_in_guard_s: float) -> Tap:
    """Return what a tap in an open window would do."""
    if current.working:
        return Tap.FAILURE
    if not current.reentry:
        return Tap.NOTHING
    since = place(current, now)["at"] - current.stamps[-1].at
    return Tap.NOT_YET if round_time(since) < back_in_guard_s else Tap.RE_ENTRY


def tap(
    session: Session, part: Part | None, at: float, handled: float, back_in_guard_s: float
) -> ev.AnyEvent | ev.DropReason:
    """Return the event that a tap at `at` brings, or why it is dropped. `handled` is now."""
    late_ms = round(max(0.0, handled - at) * 1000, 3)
    if isinstance(part, PlannedTest) and (found := trials.tap(session, part, at, late_ms)) is not None:
        return found
    ended = ended_set_at(session, at)
    current = ended or session.open_set
    does = tap_meaning(session, at, part)
    late = late_tap_set(session, at)
    if ended is None and late is not None and does is Tap.LATE:
        where = place(late, at)
        return event(
            session, ev.LateTap, at, **where, after_s=round_time(where["at"] - (late.ended_at or 0.0))
        )
    if current is not None and (ended is not None or does in (Tap.FAILURE, Tap.RE_ENTRY)):
        return _stamp(session, current, at, late_ms, back_in_guard_s)
    if session.phase is not Phase.WINDOW and round_time(at - session.since) < NEW_SCREEN_S:
        return "screen"
    if does in (Tap.BEGIN, Tap.READY, Tap.IN_PLACE):
        return event(session, ev.Ready, at)
    if does is Tap.NOT_READY:
        return event(session, ev.NotReady, at)
    if does is Tap.CONFIRM and session.asking is not None:
        return event(session, ev.Confirmed, at, **place(session.asking, at))
    return "no-use"


def _stamp(
    session: Session, current: SetState, at: float, late_ms: float, back_in_guard_s: float
) -> ev.AnyEvent | ev.DropReason:
    where = place(current, at)
    since = round_time(where["at"] - current.stamps[-1].at) if current.stamps else 0.0
    if current.opened_t is not None and at < current.opened_t:
        return "screen"
    if since < 0 or not (current.working or current.reentry):
        return "no-use"
    if not current.working and since < back_in_guard_s:
        return "back-in"
    kind = ev.Failure if current.working else ev.ReEntry
    return event(session, kind, at, **where, late_ms=late_ms)


def late_tap_set(session: Session, at: float) -> SetState | None:
    """Return the set that a tap at `at` comes just too late for: worked to its close, within 2 s of it."""
    last = session.sets[-1] if session.sets else None
    if last is None or last.opened_t is None or last.ended_at is None or session.halted:
        return None
    after = round_time(at - last.opened_t - last.ended_at)
    is_known = last.late_tap_s is not None or last.confirmed or last.denied
    return last if last.lasted and last.working and not is_known and 0 <= after < LATE_TAP_S else None


def ended_set_at(session: Session, at: float) -> SetState | None:
    """Return the set whose window was open at `at`, closed or broken off before that tap was handled."""
    for each in session.sets:
        if each.opened_t is None or each.ended_at is None or not (each.closed or each.interrupted):
            continue
        if each.opened_t <= at < round_time(each.opened_t + each.ended_at):
            return each
    return None


def adjusts(session: Session, at: float) -> bool:
    """Whether the adjusting keys are not taps: while ready or resting, but not just after a window."""
    has_just_ended = ended_set_at(session, at) is not None or late_tap_set(session, at) is not None
    return session.phase in (Phase.READY, Phase.REST) and not has_just_ended


# -- what time brings ------------------------------------------------------------------------------------


def boundary(session: Session, timeline: Timeline, heard_at: float) -> ev.AnyEvent | None:
    """Return what time alone brings next; its `t` may lie ahead. A tap was last heard at `heard_at`."""
    part = part_of(session, timeline)
    if isinstance(part, PlannedTest) and (found := trials.boundary(session, part)) is not None:
        return found
    match session.phase:
        case Phase.EASY:
            return after_easy(session, timeline, session.until)
        case Phase.COUNT_IN if isinstance(part, PlannedSet):
            return event(session, ev.WindowOpen, session.until, **target(session, part))
        case Phase.WINDOW if session.open_set is not None:
            return _in_window(session, session.open_set)
        case Phase.READY | Phase.REST:
            if isinstance(part, Easy | PlannedSet) and (session.is_ready or goes_on(session, part)):
                return _begin(session, part)
            if part is not None or session.asking is not None:
                return event(session, ev.Left, max(session.until, heard_at) + SILENCE_S, reason="silence")
    return None


def _in_window(session: Session, current: SetState) -> ev.AnyEvent:
    schedule = schedule_of(current)
    coming: list[tuple[float, type[ev.AnyEvent]]] = [(schedule.closes, ev.WindowClosed)]
    if schedule.final_stretch is not None and "final-stretch" not in current.marks:
        coming.append((schedule.final_stretch, ev.FinalStretch))
    if schedule.band is not None and "band" not in current.marks:
        coming.append((schedule.band, ev.Band))
    t, kind = min(reversed(coming), key=lambda each: each[0])  # of two at once, the band first
    return event(session, kind, t, **place(current, t))


def _begin(session: Session, part: Easy | PlannedSet) -> ev.AnyEvent:
    t = session.until
    if isinstance(part, Easy):
        return event(session, ev.EasyBegun, t, part=part.part, title=part.title, seconds=part.seconds)
    return event(session, ev.CountIn, t, **place(part), part=part.part, seconds=part.count_in_s)


def goes_on(session: Session, part: Part) -> bool:
    """Whether the rest ends by itself.

    Between two easy parts it does; before a set only if the program says so and a tap answered the last
    window. Never after the session was broken off or sent back to waiting.
    """
    if session.halted:
        return False
    if isinstance(part, Easy):
        return session.after_easy
    last = session.sets[-1] if session.sets else None
    return isinstance(part, PlannedSet) and part.advance == "auto" and last is not None and last.answered


def following(session: Session, timeline: Timeline, done: ev.AnyEvent) -> ev.AnyEvent | None:
    """Return what follows an event at once: a rest after a set or a test, and what a test goes on with."""
    part = part_of(session, timeline)
    if isinstance(done, (ev.WindowClosed, ev.Interrupted, ev.Skipped)):
        return rest(session, timeline, done.t)
    if isinstance(done, ev.Stopped) and done.scope == "set":
        return rest(session, timeline, done.t)
    if isinstance(done, (ev.TrialResult, ev.TrialVoid)) and done.over:
        if session.is_unfit and isinstance(part, PlannedTest):
            return trials.put_off(session, part, "not-today", done.t)
        return rest(session, timeline, done.t)
    return trials.following(session, part, done) if isinstance(part, PlannedTest) else None


def rest(session: Session, timeline: Timeline, t: float) -> ev.AnyEvent | None:
    """Return the rest at `t` before the next part, counted from the end of the last window."""
    part, ended = part_of(session, timeline), last_ended(session)
    if part is None:
        return None
    seconds = 0.0 if ended is None else max(0.0, ended + part.rest_s - t)
    return event(session, ev.Rest, t, part=part.part, seconds=round_time(seconds))


def after_easy(session: Session, timeline: Timeline, t: float) -> ev.AnyEvent:
    """Return the rest after easy movement, done or skipped, before what follows."""
    following = timeline.parts[session.part + 1 : session.part + 2]
    seconds = following[0].rest_s if following else 0.0
    return event(session, ev.Rest, t, part=session.part + 1, seconds=seconds)


def last_tap_until(session: Session) -> float:
    """Return until when a tap may still say how the last window went.

    One who holds the only switch down has confirmed it by the first press, and may mean to ask for the menu,
    where that can be denied.
    """
    silent = session.deniable
    is_held = silent is not None and silent.confirmed
    last = max(session.since + LATE_TAP_S, session.until + HELD_FOR_MENU_S if is_held else 0.0)
    return last + SETTLE_S


def target(session: Session, part: PlannedSet) -> dict[str, Any]:
    """Return the fields that say what the next attempt at a set is to be."""
    return vars(part.target(session.attempts.get(part.set, 0) + 1))


# -- answers and ends ------------------------------------------------------------------------------------


def ran_to_end(session: Session, at: float, value: bool | None) -> ev.AnyEvent | None:
    """Return the answer that the set just over in silence was not worked to the end; None asks again."""
    silent = session.deniable
    if silent is None:
        return None
    answer = {"id": f"n{session.n + 1}", "field": "ran_to_end", "value": value, "set": silent.set}
    return event(session, ev.Answer, at, **answer)


def no(session: Session, at: float) -> ev.AnyEvent | ev.DropReason | None:
    """Return the no that Backspace says to what is asked; not before it can have been read."""
    if session.phase is Phase.ASKED:
        return trials.deny(session, at)
    if session.asking is not None and at - session.since < LATE_TAP_S:
        return "screen"
    return ran_to_end(session, at, value=False)


def interrupted(
    session: Session, why: Literal["gap", "left"], last_known: float, now: float
) -> ev.AnyEvent | None:
    """Return the end of what was broken off: a window, known to have run until `last_known`, or a trial."""
    current = session.open_set
    if current is None:
        return trials.interrupted(session, why, now)
    at = min(place(current, last_known)["at"], current.closes_at)
    return event(session, ev.Interrupted, now, **place(current, now) | {"at": at}, why=why)


def guard_s(session: Session, usual: float) -> float:
    """Return how long no key may have been heard before a tap: less where stands are marked."""
    trial = session.open_trial
    return (
        trials.MARK_GUARD_S if trial is not None and trial.counts and session.phase is Phase.TRIAL else usual
    )


def is_stamping(session: Session, at: float) -> bool:
    """Whether each tap is a stamp: in a window, in a trial, and for a key pressed while one still ran."""
    return session.phase in (Phase.WINDOW, Phase.TRIAL) or ended_set_at(session, at) is not None


def stop(session: Session, reason: ev.StopReason, at: float) -> ev.AnyEvent:
    """Return the end of the session."""
    where = place(session.open_set, at) if session.open_set is not None else {}
    return event(session, ev.Stopped, at, reason=reason, scope="session", **where)


def skip(session: Session, timeline: Timeline, at: float) -> ev.AnyEvent | None:
    """Return the skipping of what is running or comes next."""
    part, current = part_of(session, timeline), session.open_set
    if isinstance(part, PlannedTest):
        return trials.put_off(session, part, "skipped", at)
    if isinstance(part, PlannedSet):
        where = place(current, at) if current is not None else place(part)
        return event(session, ev.Skipped, at, **target(session, part) | where)
    return None if part is None else after_easy(session, timeline, at)


# -- one switch ------------------------------------------------------------------------------------------


def may_ask_since(session: Session, held_since: float | None) -> float | None:
    """Return since when a key is held that can ask for the menu: none leant on in a window or a count-in."""
    ended = last_ended(session)
    is_leant_on = held_since is not None and (
        (session.phase is Phase.COUNT_IN and held_since > session.since)
        or (ended is not None and held_since < ended)
    )
    return None if is_leant_on else held_since


def is_on_the_way(session: Session, timeline: Timeline) -> bool:
    """Whether a count-in runs, or comes without another tap: what goes on while somebody is at the menu."""
    part = part_of(session, timeline)
    moves = session.is_ready or (part is not None and goes_on(session, part))
    return session.phase is Phase.COUNT_IN or (session.phase is Phase.REST and moves)
