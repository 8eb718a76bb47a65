"""One physical press, one tap: which presses are meant, and which are repeats, a tremor or a stuck key.

A terminal sends no key-up. A held key repeats after 0.25-0.66 s and then every 25-40 ms; a tremor of
2.5-5 Hz hits again within 0.4 s. Times are seconds of any steady clock.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from holdtimer.session.events import DropReason, round_time

NOT_TAPS = frozenset({"escape", "backspace", "question_mark", "up", "down"})
ADJUSTING = frozenset({"plus", "minus", "o"})  # not taps while ready or resting
MENU_KEYS = frozenset({"up", "down", "enter"})  # they belong to the menu
NEW_SCREEN_S = 1.5  # a new screen outside a window takes no tap for this long


@dataclass(frozen=True, slots=True)
class Settings:
    """What differs from person to person. Seconds."""

    guard_s: float = 0.8
    back_in_guard_s: float = 2.0
    not_taps: frozenset[str] = frozenset()  # keys that do nothing at all


REPEAT_S = 0.1  # faster than this is a machine's repeat, not a hand
HELD_S = 1.0  # a repeat that lasts this long is a held key
FORGET_S = 10.0

Doubt = Literal["guard", "held"]


@dataclass(frozen=True, slots=True)
class Heard:
    """A press, judged by its own key `alone` and `among` all keys; None if it counts.

    `held_since` is when its key went down, None if it is not held.
    """

    alone: Doubt | None
    among: Doubt | None
    held_since: float | None = None


@dataclass(slots=True)
class _Train:
    """The presses of one key: the last, since when they repeat without a pause, and whether it is held."""

    last: float
    repeating_since: float
    began: float
    held: bool = False


class Presses:
    """Judges presses in the order they are heard."""

    def __init__(self, guard_s: float) -> None:
        self.guard_s = round_time(guard_s)
        self._trains: dict[str, _Train] = {}

    def hear(self, key: str, at: float) -> Heard:
        """Judge a press; whether it counts or not, it guards against those after it."""
        self._trains = {name: train for name, train in self._trains.items() if at - train.last < FORGET_S}
        others = [train for name, train in self._trains.items() if name != key and not train.held]
        near = any(abs(round_time(at - other.last)) < self.guard_s for other in others)
        alone = self._alone(key, at)
        train = self._trains[key]
        return Heard(alone, alone or ("guard" if near else None), train.began if train.held else None)

    def _alone(self, key: str, at: float) -> Doubt | None:
        train = self._trains.get(key)
        gap = abs(round_time(at - train.last)) if train else self.guard_s
        if train is None or gap >= self.guard_s:
            last = max(at, train.last) if train else at
            self._trains[key] = _Train(last, last, last)
            return None
        if gap >= REPEAT_S:
            train.repeating_since = at
        train.last = max(at, train.last)
        train.held = train.held or round_time(train.last - train.repeating_since) >= HELD_S
        return "held" if train.held else "guard"


TAKE_BACK_WITHIN_S = 3.0
SURE_AFTER_S = 0.15  # a held key's third press comes well before this


class TakeBack:
    """Backspace twice takes back a stamp, but not Backspace held down.

    A pair begins only `quiet_s` after any Backspace before it, so that a tremor takes back one stamp at most.
    """

    def __init__(self, quiet_s: float) -> None:
        self._quiet_s = quiet_s
        self._last = float("-inf")
        self._first: float | None = None
        self._second: float | None = None

    def press(self, at: float, can: bool) -> None:
        """Hear one press; `can` is whether there is a stamp to take back."""
        gap = round_time(at - self._last)
        self._last = at
        if gap < REPEAT_S or not can:
            self.forget()
        elif self._first is not None and round_time(at - self._first) <= TAKE_BACK_WITHIN_S:
            self._second = at
        elif gap >= self._quiet_s:
            self._first = at

    def forget(self) -> None:
        """Start again: what was pressed so far was about another stamp."""
        self._first = self._second = None

    def waits(self, now: float) -> bool:
        """Whether a second press would take the stamp back."""
        return (
            self._first is not None
            and self._second is None
            and round_time(now - self._first) <= TAKE_BACK_WITHIN_S
        )

    @property
    def is_unsure(self) -> bool:
        """Whether Backspace was pressed twice, and may yet turn out to be held down."""
        return self._second is not None

    def taken_back(self, now: float, key: str | None = None) -> float | None:
        """Return when the stamp was taken back, once it is sure that Backspace is not held down.

        Silence makes it sure, and so does any `key` at `now` that is not a repeat of it.
        """
        if self._second is None:
            return None
        passed = round_time(now - self._second)
        if passed < (SURE_AFTER_S if key is None else REPEAT_S if key == "backspace" else float("-inf")):
            return None
        at = self._second
        self.forget()
        return at


TAPS = 5
TAPS_WITHIN_S = 10.0
HELD_FOR_MENU_S = 3.0
STILL_S = TAPS_WITHIN_S / (TAPS - 1)  # taps of one run lie closer together than this


def still_after(tapped: float) -> float:
    """Return when a person who keeps tapping would have tapped again: a tap from then on is meant."""
    return round_time(tapped + STILL_S)


class OneSwitch:
    """How a person with one switch asks for the menu outside windows: taps in a row, or a key held down."""

    def __init__(self) -> None:
        self._taps: list[float] = []
        self._asked_by_hold = False

    def asks(self, at: float, counts: bool, held_since: float | None) -> bool:
        """Hear a press and return whether it asks for the menu.

        `counts` is whether it is a tap, `held_since` when its key went down if it is held.
        """
        if held_since is None:
            self._asked_by_hold = False
        elif round_time(at - held_since) >= HELD_FOR_MENU_S and not self._asked_by_hold:
            self._asked_by_hold = True
            self._taps.clear()
            return True
        if counts:
            self._taps = [*(tap for tap in self._taps if round_time(at - tap) < TAPS_WITHIN_S), at]
        if len(self._taps) < TAPS:
            return False
        self._taps.clear()
        return True

    def forget(self) -> None:
        """Forget the taps so far: they were for something else."""
        self._taps.clear()


@dataclass(frozen=True, slots=True)
class Train:
    """Presses in a row that did not count."""

    reason: DropReason
    since: float
    last: float
    count: int = 1


class Trains:
    """Gathers presses that did not count into trains: each is logged once, with its count.

    A method that ends a train returns it, None if there was none to end.
    """

    def __init__(self, silence_s: float) -> None:
        self.latest: Train | None = None
        self._silence_s = silence_s
        self._is_open = False

    def add(self, reason: DropReason, at: float) -> Train | None:
        """Take a press that did not count; return the train that had ended before it."""
        ended = self.end_if_silent(at)
        if self._is_open and self.latest is not None:
            first, last = self.latest.reason, max(at, self.latest.last)
            kept = first if reason == "guard" else reason
            self.latest = replace(self.latest, reason=kept, last=last, count=self.latest.count + 1)
        else:
            self.latest = Train(reason, at, at)
        self._is_open = True
        return ended

    def end_if_silent(self, now: float) -> Train | None:
        """End the open train once no press came for a while."""
        is_silent = self.latest is not None and round_time(now - self.latest.last) >= self._silence_s
        return self.end() if is_silent else None

    def end(self) -> Train | None:
        """End the open train."""
        was_open, self._is_open = self._is_open, False
        return self.latest if was_open else None


class PageTaps:
    """Judges the keys that answer a page of words shown `since` then.

    One press is one tap there too, and none counts before the page can have been seen. A key held down,
    perhaps leant on by somebody who feels unwell, must not turn page after page unread.
    """

    def __init__(self, since: float, settings: Settings | None = None) -> None:
        self._since = since
        self._settings = settings or Settings()
        self._presses = Presses(self._settings.guard_s)

    def turn(self, at: float) -> None:
        """Take note that another page is shown from then on."""
        self._since = at

    def counts(self, key: str, at: float) -> bool:
        """Hear a press and return whether it is meant for the page."""
        if key in self._settings.not_taps:
            return False
        heard = self._presses.hear(key, at)
        return round_time(at - self._since) >= NEW_SCREEN_S and heard.among is None

    def is_tap(self, key: str, at: float) -> bool:
        """Hear a key and return whether it is a tap that is meant for the page."""
        return key not in NOT_TAPS and self.counts(key, at)


@dataclass(slots=True)
class KeyTrial:
    """Where it `has_trial`, the first tap at ready only shows that the key is heard."""

    has_trial: bool
    tried_at: float | None = None

    @property
    def is_waiting(self) -> bool:
        """Whether the next tap at ready tries the key."""
        return self.has_trial and self.tried_at is None

    def hear(self, at: float, since: float) -> Literal["trial", "screen"] | None:
        """Take a tap at ready, which is on screen `since` then; return what it was, None if it is to begin.

        One that comes too soon, before the screen can have been seen or right after the trial, is "screen".
        """
        if not self.has_trial:
            return None
        if round_time(at - (since if self.tried_at is None else self.tried_at)) < NEW_SCREEN_S:
            return "screen"
        if self.tried_at is not None:
            return None
        self.tried_at = at
        return "trial"


MEANT_S = 1.5  # presses further apart than this were meant one by one
LEAST_GUARD_S, MOST_GUARD_S = 0.7, 3.0
MARGIN_S = 0.2


@dataclass(frozen=True, slots=True)
class KeyStudy:
    """What was learnt from a number of presses. Seconds; None for what was not seen."""

    presses: int
    repeat_delay_s: float | None  # from a key going down to its first repeat
    repeat_every_s: float | None
    doubles_s: tuple[float, ...]  # gaps between presses that followed too soon to be meant
    guard_s: float


def study(presses: Sequence[tuple[str, float]]) -> KeyStudy:
    """Return what can be learnt from presses, by name and time (s) in the order they came.

    Two or more repeats in a row are a held key: the gap before them is the keyboard's delay, no double press.
    """
    gaps = [(key == before, at - earlier) for (before, earlier), (key, at) in pairwise(presses)]
    delays: list[float] = []
    every: list[float] = []
    doubles: list[float] = []
    for n, (is_same, gap) in enumerate(gaps):
        is_repeat = is_same and gap < REPEAT_S
        starts_train = is_same and _is_train(gaps[n + 1 : n + 3])
        if is_repeat:
            every.append(gap)
        elif starts_train and gap < 1.0:
            delays.append(gap)
        elif gap < MEANT_S / 2:
            doubles.append(gap)
    return KeyStudy(
        presses=len(presses),
        repeat_delay_s=_middle(delays),
        repeat_every_s=_middle(every),
        doubles_s=tuple(doubles),
        guard_s=_guard([*delays, *doubles]),
    )


def _is_train(gaps: Sequence[tuple[bool, float]]) -> bool:
    return len(gaps) == 2 and all(is_same and gap < REPEAT_S for is_same, gap in gaps)


def _guard(gaps: Sequence[float]) -> float:
    """Return the shortest guard, in tenths, that no such gap comes through."""
    longest = max(gaps, default=0.0)
    return min(max(math.ceil((longest + MARGIN_S) * 10 - 1e-9) / 10, LEAST_GUARD_S), MOST_GUARD_S)


def _middle(values: Sequence[float]) -> float | None:
    return sorted(values)[len(values) // 2] if values else None
