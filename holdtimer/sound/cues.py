"""Which sound comes when: the cue list of a session, from its state and its latest events.

Everything that is known ahead is in the list with its time. Cues less than 1 s apart merge: the one that
comes first in `_ORDER` is heard, the other is not.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from holdtimer.program.timeline import Part, PlannedSet
from holdtimer.session import events as ev
from holdtimer.session.events import round_time
from holdtimer.session.rules import goes_on
from holdtimer.session.schedule import schedule_of
from holdtimer.session.state import LATE_TAP_S, Phase, Session, SetState, TrialState
from holdtimer.sound.patterns import Sound

MERGE_S = 1.0
TESTED_AFTER_S = 0.4
ASKED_AFTER_S = 0.5  # a question before a test: after the sound that answered the one before
PAUSE_FROM_S = 1.0  # a shorter pause of a repetition has no sound
COUNTED = 3  # sounds before a window opens
KEYS_LOST_EVERY_S = 4.0
ASK_AGAIN_S = (0.0, 15.0, 60.0)

_ORDER = (
    Sound.WINDOW_OVER,
    Sound.FAILURE,
    Sound.RE_ENTRY,
    Sound.BAND,
    Sound.FINAL_STRETCH,
    Sound.LAST_TEN,
    Sound.TICK,
    Sound.BREATHE,
    Sound.LOWER,
    Sound.LIFT,
    Sound.PAUSE,
)
_RANK = {sound: 1 if sound in (Sound.FAILURE, Sound.RE_ENTRY) else rank for rank, sound in enumerate(_ORDER)}
_ACKNOWLEDGED: dict[type, Sound] = {
    ev.Ready: Sound.READY,
    ev.NotReady: Sound.NOT_READY,
    ev.Failure: Sound.FAILURE,
    ev.LateTap: Sound.FAILURE,
    ev.ReEntry: Sound.RE_ENTRY,
    ev.TakenBack: Sound.TAKEN_BACK,
    ev.Confirmed: Sound.READY,
    ev.RungChosen: Sound.READY,
    ev.OffDay: Sound.READY,
    ev.Mark: Sound.RE_ENTRY,
    ev.TrialResult: Sound.READY,
    ev.Closed: Sound.SESSION_OVER,
}


@dataclass(frozen=True, slots=True, order=True)
class Cue:
    """A sound and its session time (s)."""

    at: float
    sound: Sound


def acknowledgements(events: Iterable[ev.AnyEvent]) -> list[Cue]:
    """Return the sounds that answer what the person just did."""
    found = ((each.t, _acknowledged(each)) for each in events)
    return [Cue(t, sound) for t, sound in found if sound is not None]


def _acknowledged(event: ev.AnyEvent) -> Sound | None:
    if isinstance(event, ev.Asked):
        return None if event.answer is None else Sound.READY if event.answer else Sound.NOT_READY
    if isinstance(event, ev.TrialOpen):  # the key began it: "go" is known ahead
        return Sound.WINDOW_OPEN if event.start == "walking" else None
    if isinstance(event, ev.TrialClosed):
        return Sound.RE_ENTRY if event.reason == "key" else None
    return _ACKNOWLEDGED.get(type(event))


def cues(session: Session, part: Part | None, acknowledged: Iterable[Cue] = ()) -> list[Cue]:
    """Return every cue of the phase the session is in, in order of time, merged with the latest answers."""
    if session.left or session.stopped:
        return merged(acknowledged)
    return merged([*_planned(session, part), *acknowledged])


def merged(due: Iterable[Cue]) -> list[Cue]:
    """Leave out each cue that a higher one lies less than 1 s from."""
    every = sorted(set(due))
    return [cue for cue in every if not any(_covers(other, cue) for other in every)]


def _covers(other: Cue, cue: Cue) -> bool:
    if other.sound not in _RANK or cue.sound not in _RANK:
        return False
    return abs(other.at - cue.at) < MERGE_S - 1e-6 and _RANK[other.sound] < _RANK[cue.sound]


def _planned(session: Session, part: Part | None) -> Iterator[Cue]:
    match session.phase:
        case Phase.READY:
            yield Cue(session.since + TESTED_AFTER_S, Sound.TESTED)
        case Phase.COUNT_IN:
            yield from _counted_in(session)
        case Phase.WINDOW if session.open_set:
            yield from _window(session.open_set, session.focused)
            yield from _rhythm(session.open_set, part)
        case Phase.EASY:
            yield Cue(session.until, Sound.REST_OVER)
        case Phase.ASKED:
            yield Cue(session.since + ASKED_AFTER_S, Sound.ASKS)
        case Phase.TRIAL if session.open_trial:
            yield from _trial(session.open_trial)
        case Phase.REST:
            yield from _rest(session, part)


def _trial(trial: TrialState) -> Iterator[Cue]:
    """Yield "go", known before the trial, and the end of one that the clock ends."""
    if not trial.begins_with_key:
        yield Cue(trial.opened_t, Sound.WINDOW_OPEN)
    if trial.counts:
        yield Cue(round_time(trial.opened_t + trial.length_s), Sound.WINDOW_OVER)


def _counted_in(session: Session) -> Iterator[Cue]:
    for left in range(COUNTED, 0, -1):
        if session.until - left > session.since:
            yield Cue(session.until - left, Sound.COUNT_IN)
    yield Cue(session.until, Sound.WINDOW_OPEN)


def _window(current: SetState, focused: bool) -> Iterator[Cue]:
    """Yield what a window brings, the countdown only to its own end, and the tone while keys are lost."""
    schedule = schedule_of(current)
    yield Cue(schedule.opens, Sound.WINDOW_OPEN)
    for at, sound in (
        (schedule.band, Sound.BAND),
        (schedule.final_stretch, Sound.FINAL_STRETCH),
        (schedule.last_ten, Sound.LAST_TEN),
    ):
        if at is not None:
            yield Cue(at, sound)
    yield from (Cue(at, Sound.TICK) for at in schedule.countdown)
    yield Cue(schedule.closes, Sound.WINDOW_OVER)
    if current.kind == "hold":
        yield from (Cue(at, Sound.BREATHE) for at in schedule.breaths)
    if not focused:
        times = int(current.closes_at // KEYS_LOST_EVERY_S) + 1
        yield from (Cue(schedule.opens + n * KEYS_LOST_EVERY_S + 0.5, Sound.KEYS_LOST) for n in range(times))


def _rhythm(current: SetState, part: Part | None) -> Iterator[Cue]:
    """Yield when to lower, to lift and to stay while in work, by the tempo of the exercise."""
    tempo = part.tempo if isinstance(part, PlannedSet) else None
    if tempo is None or not current.working:
        return
    lower, low, lift, high = tempo
    opened, began = current.opened_t or 0.0, current.stamps[-1].at if current.stamps else 0.0
    repetition = lower + low + lift + high
    times = int((current.closes_at - began) / repetition) if repetition else 0
    for start in (began + n * repetition for n in range(times)):
        if start > 0:  # the first begins with the window, which has a sound of its own
            yield Cue(round_time(opened + start), Sound.LOWER)
        yield Cue(round_time(opened + start + lower + low), Sound.LIFT)
        if low >= PAUSE_FROM_S:
            yield Cue(round_time(opened + start + lower), Sound.PAUSE)
        if high >= PAUSE_FROM_S:
            yield Cue(round_time(opened + start + lower + low + lift), Sound.PAUSE)


def _rest(session: Session, part: Part | None) -> Iterator[Cue]:
    if session.asking is not None:
        yield from (Cue(session.since + LATE_TAP_S + again, Sound.ASKS) for again in ASK_AGAIN_S)
        return
    waits = part is not None and not session.is_ready and not goes_on(session, part)
    if waits and session.until > session.since:
        yield Cue(session.until, Sound.REST_OVER)
