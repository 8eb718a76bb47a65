"""What is said in a work window: the countdown, how far it is, and what to do after a stamp."""

from collections.abc import Iterator

from holdtimer.script.timeline import Part, PlannedSet
from holdtimer.session.events import exact
from holdtimer.session.state import SetState
from holdtimer.sound import phrases as say
from holdtimer.sound.cues import KEYS_LOST_EVERY_S
from holdtimer.sound.phrases import duration, moment, number
from holdtimer.sound.saying import HINTED_WITHIN_S, MARKED_WITHIN_S, Saying, Weight, answer, hint, mark

COUNTED_DOWN = 5
PUSH_LEFT_S = 1.0  # "keep pushing" is not said later than this before easing off
KEYS_LOST_SAID_EVERY = 3  # of the sounds that tell it


def window_sayings(current: SetState, focused: bool, part: Part | None) -> Iterator[Saying]:
    """Yield all that is to be said in an open window, each kind in the order it is said."""
    opened = current.opened_t or 0.0
    yield from _counted_down(current, opened + current.closes_at)
    if current.stamps:
        yield from _after_stamp(current, opened, part)
    else:
        yield hint(opened, say.TAP_WHEN_FAILED, opened + HINTED_WITHIN_S)
    if not focused:
        every = KEYS_LOST_SAID_EVERY * KEYS_LOST_EVERY_S
        for turn in range(int(current.closes_at // every) + 1):
            yield mark(opened + turn * every + 0.5, (say.KEYS_LOST,), within=every)
    yield from _marks(current, opened)


def _counted_down(current: SetState, end: float) -> Iterator[Saying]:
    if current.closes_at < current.window_s:
        return
    for left in range(COUNTED_DOWN, 0, -1):
        at = exact(end - left)
        yield Saying(at, Weight.COUNTED, (number(left),), at)


def _marks(current: SetState, opened: float) -> Iterator[Saying]:
    """Yield where the band begins, how long it is to the end, and the last ten seconds."""
    final, band = current.window_s - current.final_s, current.band_s[0]
    if band < current.closes_at and abs(final - band) >= MARKED_WITHIN_S:
        yield mark(opened + band, (say.IN_THE_BAND,))
    if final < current.closes_at and current.final_s > 10:
        length = (say.THIRTY_SECONDS,) if current.final_s == 30 else duration(current.final_s)
        yield mark(opened + final, (*length, say.TO_THE_END_OF_IT), length)
    if current.closes_at >= current.window_s > 10:
        yield mark(opened + current.window_s - 10, number(10), within=1.5)


def _after_stamp(current: SetState, opened: float, part: Part | None) -> Iterator[Saying]:
    stamp = current.stamps[-1]
    at = exact(opened + stamp.at)
    if stamp.kind == "re-entry":
        yield answer(at, (say.BACK_IN,))
        yield hint(at, say.TAP_WHEN_FAILED, at + HINTED_WITHIN_S)
    elif isinstance(part, PlannedSet):
        yield from _failed(current, part, at, stamp.at)


def _failed(current: SetState, part: PlannedSet, at: float, failed_s: float) -> Iterator[Saying]:
    """Yield when to push and to ease off, and how to get back in; the way out comes before it."""
    ease_off = exact(at + current.push_s)
    if current.push_s > PUSH_LEFT_S:
        yield answer(at, (say.KEEP_PUSHING,), within=current.push_s - PUSH_LEFT_S, breaks=False)
    if current.push_s:
        yield answer(ease_off, (say.EASE_OFF,), within=MARKED_WITHIN_S, breaks=False)
    yield answer(ease_off, (say.BREATHE,), breaks=False)
    yield answer(ease_off, (say.FAILED_AT, *moment(failed_s)), within=10.0, breaks=False)
    if current.reentry:
        words = (say.BACK_IN_WHEN_READY, part.back_in) if part.back_in else (say.BACK_IN_WHEN_READY,)
        yield Saying(ease_off, Weight.TOLD, (words, (say.BACK_IN_WHEN_READY,)), exact(ease_off + 20.0))
        yield hint(ease_off, say.TAP_WHEN_BACK, exact(ease_off + 20.0))
    else:
        yield answer(ease_off, (say.SET_OVER,), breaks=False)
