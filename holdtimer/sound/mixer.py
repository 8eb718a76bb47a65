"""Puts sounds and speech into one endless stream, each at the very sample it is due at."""

from array import array
from collections import deque
from dataclasses import dataclass
from operator import add

from holdtimer.sound.player import Clock, TimedQueue
from holdtimer.sound.samples import RATE, Samples

STOPPED_S = 0.25  # a request this late is one after the device was stopped, and the line starts anew
LOWEST, HIGHEST = -32768, 32767
DUCKED = 0.25  # how loud speech is while a sound is heard, of its own loudness


@dataclass(slots=True)
class _Sounding:
    """Samples that have begun to sound, how many of them the stream has taken, and how loud they are."""

    samples: Samples
    is_speech: bool = False
    taken: int = 0
    gain: float = 1.0
    is_hushed: bool = False

    @property
    def is_over(self) -> bool:
        """Whether nothing of it will be heard any more."""
        return self.taken >= len(self.samples) or (self.is_hushed and self.gain == 0)

    def next(self, frames: int, is_with_sounds: bool) -> Samples:
        """Take the next samples; speech gives way to sounds within this block."""
        part = self.samples[self.taken : self.taken + frames]
        self.taken += len(part)
        goal = 0.0 if self.is_hushed else DUCKED if self.is_speech and is_with_sounds else 1.0
        if goal != 1.0 or self.gain != 1.0:
            part = _led(part, self.gain, goal)
        self.gain = goal
        return part


class Mixer:
    """A stream of blocks of samples, asked for one after another by a sound device.

    A device asks for a block somewhat before it sounds, and now and then late, but never early: so the line
    under the last requests, the least of (time asked - samples so far / RATE), is when each sample sounds,
    up to the constant length of the device's own buffer.
    """

    def __init__(self, clock: Clock) -> None:
        self.frames = 0
        """How many samples the device has asked for so far; while it grows, the device lives."""
        self._clock = clock
        self._due: TimedQueue[_Sounding] = TimedQueue()
        self._sounding: list[tuple[int, _Sounding]] = []
        self._bases: deque[float] = deque(maxlen=50)

    def add(self, samples: Samples, due: float, *, is_speech: bool = False) -> None:
        """Let samples sound at `due`, in seconds of the clock; in the past: with the next block."""
        self._due.add(_Sounding(samples, is_speech), due)

    def withdraw(self, after: float) -> None:
        """Forget what has not begun and is due later than `after`."""
        self._due.withdraw(after)

    def hush(self) -> None:
        """Let speech that has begun fade within the next block."""
        for _, each in self._sounding:
            each.is_hushed = each.is_hushed or each.is_speech

    def block(self, frames: int) -> bytes:
        """Return the next `frames` samples as bytes, in the machine's own byte order."""
        self._begin(frames)
        self.frames += frames
        return self._mixed(frames).tobytes() if self._sounding else bytes(2 * frames)

    def _begin(self, frames: int) -> None:
        """Let what is due within the next `frames` samples sound, each from its place in the block."""
        now = self._clock()
        first = self._base(now) + self.frames / RATE
        for due, sounding in self._due.take(first + (frames - 0.5) / RATE, now):
            place = min(max(0, round((due - first) * RATE)), frames - 1)
            self._sounding.append((place, sounding))

    def _base(self, now: float) -> float:
        """Return when sample 0 would have sounded, by the requests of the last second."""
        base = now - self.frames / RATE
        if self._bases and base - min(self._bases) > STOPPED_S:
            self._bases.clear()
        self._bases.append(base)
        return min(self._bases)

    def _mixed(self, frames: int) -> Samples:
        """Add up what sounds in this block; what goes on starts at place 0 of the next."""
        block = array("h", bytes(2 * frames))
        is_with_sounds = any(not each.is_speech for _, each in self._sounding)
        filled_to = 0
        for place, sounding in self._sounding:
            part = sounding.next(frames - place, is_with_sounds)
            end = place + len(part)
            block[place:end] = part if place >= filled_to else _sum(block[place:end], part)
            filled_to = max(filled_to, end)
        self._sounding = [(0, each) for _, each in self._sounding if not each.is_over]
        return block


def _led(samples: Samples, start: float, goal: float) -> Samples:
    """Lead samples evenly from one loudness to another, so that nothing clicks."""
    step = (goal - start) / max(1, len(samples))
    return array("h", (int(value * (start + step * i)) for i, value in enumerate(samples)))


def _sum(one: Samples, other: Samples) -> Samples:
    """Add two stretches of equal length, held within what 16 bit can carry."""
    try:
        return array("h", map(add, one, other))  # quick, and refuses what is out of range
    except OverflowError:
        return array("h", (max(LOWEST, min(HIGHEST, a + b)) for a, b in zip(one, other, strict=True)))
