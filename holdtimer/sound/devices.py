"""The mixer, the sound libraries, each as a player, and the worker that plays with one of them.

Only that worker imports a library. Its orders are the verbs of `Player`, times in seconds of the machine's
steady clock: `schedule SOUND AT`, `say FILE AT`, `hush`, `withdraw AFTER`.
"""

import gc
from array import array
from collections import deque
from collections.abc import Callable, Generator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from operator import add
from pathlib import Path
from typing import Any

from holdtimer.errors import SoundError
from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Clock, Player, TimedQueue, TimedThread, steady
from holdtimer.sound.samples import RATE, Samples, read_all, read_speech
from holdtimer.sound.worker import Message, orders, serve, working

STOPPED_S = 0.25  # a request this late is one after the device was stopped, and the line starts again
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
            part = _faded(part, self.gain, goal)
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


def _faded(samples: Samples, start: float, goal: float) -> Samples:
    """Lead samples evenly from one loudness to another, so that nothing clicks."""
    step = (goal - start) / max(1, len(samples))
    return array("h", (int(value * (start + step * i)) for i, value in enumerate(samples)))


def _sum(one: Samples, other: Samples) -> Samples:
    """Add two stretches of equal length, held within what 16 bit can carry."""
    try:
        return array("h", map(add, one, other))  # quick, and refuses what is out of range
    except OverflowError:
        return array("h", (max(LOWEST, min(HIGHEST, a + b)) for a, b in zip(one, other, strict=True)))


UNASKED_S = 2.0
NO_DEVICE = "there is no sound device, or the sound server does not answer"

# -- miniaudio ---------------------------------------------------------------------------------------------

BLOCK_MS = 20
STALLED_S = 0.5  # a device that takes no sample for this long is lost
STARTING_S = 4.0  # a device just opened, wireless above all, may take its time
AWAY_S = 0.8  # the process itself was held up if nobody asked for this long


class MiniaudioPlayer:
    """Plays the given samples at the sample they are due at, through the system's default device."""

    name = "miniaudio"

    def __init__(
        self,
        samples: dict[Sound, Samples],
        clock: Clock,
        open_device: Callable[[Mixer], Any] | None = None,
    ) -> None:
        self._samples = samples
        self._clock = clock
        self._open_device = open_device or _default_device
        self._mixer = Mixer(clock)
        self._device: Any = None
        self._frames = 0
        self._moved = self._asked = self._watched_from = clock()

    def open(self) -> None:
        """Start the stream. Raises SoundError where there is no device."""
        self._device = self._open_device(self._mixer)
        self._watched_from = self._clock() + STARTING_S

    def schedule(self, sound: Sound, at: float) -> None:
        """Play a sound at `at`, or with the next block where that is past."""
        self._mixer.add(self._samples[sound], max(at, self._clock()))

    def say(self, speech: Path, at: float) -> None:
        """Play a file of speech at `at`; one that can't be read is not heard."""
        with suppress(SoundError):
            self._mixer.add(read_speech(speech), max(at, self._clock()), is_speech=True)

    def hush(self) -> None:
        """Let the speech that is being heard fade at once."""
        self._mixer.hush()

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        self._mixer.withdraw(after)

    def trouble(self) -> str | None:
        """Return that the device takes no more samples, which is all there is to see when it is lost."""
        now = self._clock()
        if self._mixer.frames != self._frames or now - self._asked > AWAY_S:
            self._frames, self._moved = self._mixer.frames, now
        self._asked = now
        stalled = now >= self._watched_from and now - self._moved > STALLED_S
        return "the sound device has stopped" if stalled else None

    def close(self) -> None:
        """Close the stream."""
        if self._device is not None:
            self._device.close()
        self._device = None


def _blocks(mixer: Mixer) -> Generator[bytes, int, None]:
    """Yield blocks, each of as many samples as is sent in."""
    block = b""
    while True:
        block = mixer.block((yield block))


def _default_device(mixer: Mixer) -> Any:
    """Open the default device and let it ask the mixer for samples."""
    import miniaudio

    try:
        device = miniaudio.PlaybackDevice(
            nchannels=1, sample_rate=RATE, buffersize_msec=BLOCK_MS, app_name="holdtimer"
        )
        if device.backend == "Null":
            raise SoundError("there is no sound device")
        blocks = _blocks(mixer)
        next(blocks)
        device.start(blocks)
    except miniaudio.MiniaudioError as fault:
        raise SoundError(NO_DEVICE) from fault
    return device


# -- simpleaudio -------------------------------------------------------------------------------------------

SILENCE = bytes(2 * RATE // 100)


class SimpleaudioPlayer:
    """Plays the given samples from a thread that waits until they are due.

    The library opens the device again for every sound and holds the interpreter's lock while it does, so a
    device that does not answer holds up the whole process.
    """

    name = "simpleaudio"

    def __init__(self, samples: dict[Sound, Samples], clock: Clock, library: Any = None) -> None:
        self._bytes = {sound: each.tobytes() for sound, each in samples.items()}
        self._clock = clock
        self._library = library
        self._thread: TimedThread[tuple[bytes, bool]] = TimedThread(self._play, clock)
        self._speech: Any = None
        self._trouble: str | None = None

    def open(self) -> None:
        """Play a moment of silence. Raises SoundError where there is no device for it."""
        if self._library is None:
            self._library = import_module("simpleaudio")
        self._start(SILENCE)
        if self._trouble:
            raise SoundError(self._trouble)
        self._thread.start()

    def schedule(self, sound: Sound, at: float) -> None:
        """Play a sound at `at`, or at once where that is past."""
        self._thread.add((self._bytes[sound], False), max(at, self._clock()))

    def say(self, speech: Path, at: float) -> None:
        """Play a file of speech at `at`; one that can't be read is not heard."""
        with suppress(SoundError):
            self._thread.add((read_speech(speech).tobytes(), True), max(at, self._clock()))

    def hush(self) -> None:
        """Stop the speech that is being heard."""
        if self._speech is not None:
            self._speech.stop()
        self._speech = None

    def withdraw(self, after: float) -> None:
        """Forget what is due later than `after`."""
        self._thread.withdraw(after)

    def trouble(self) -> str | None:
        """Return why the newest sound was not heard."""
        return self._trouble

    def close(self) -> None:
        """Stop what sounds."""
        self._thread.stop()
        if self._library is not None:
            self._library.stop_all()

    def _play(self, due: tuple[bytes, bool]) -> None:
        samples, is_speech = due
        playing = self._start(samples)
        if is_speech:
            self._speech = playing

    def _start(self, samples: bytes) -> Any:
        try:
            playing = self._library.play_buffer(samples, 1, 2, RATE)
            self._trouble = None
            return playing
        except Exception:  # the library's own error type can't be named without importing it
            self._trouble = NO_DEVICE
            return None


# -- the worker ----------------------------------------------------------------------------------------------


def obey(player: Player, order: Message) -> None:
    """Do what is ordered; what is no order is passed over."""
    match order:
        case ["schedule", str(sound), float(at)] if sound in list(Sound):
            player.schedule(Sound(sound), at)
        case ["say", str(file), float(at)]:
            player.say(Path(file), at)
        case ["hush"]:
            player.hush()
        case ["withdraw", float(after)]:
            player.withdraw(after)


MAKERS: dict[str, Callable[[dict[Sound, Samples], Clock], Player]] = {
    "miniaudio": MiniaudioPlayer,
    "simpleaudio": SimpleaudioPlayer,
}


def main(name: str, volume: str) -> None:
    """Play with the named library at a volume of 0-1 until the input ends or nobody asks any more."""
    with working():
        gc.disable()
        player = MAKERS[name](read_all(sounds_folder(), float(volume)), steady)
        player.open()
        serve(orders(UNASKED_S), partial(obey, player), player.trouble)
        player.close()
