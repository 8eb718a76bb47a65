"""The sound libraries, each as a player, and the worker that plays with one of them.

Only that worker imports a library. Its orders are the verbs of `Player`, times in seconds of the machine's
steady clock: `schedule SOUND AT`, `say FILE AT`, `hush`, `withdraw AFTER`.
"""

import gc
from collections.abc import Callable, Generator
from contextlib import suppress
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

from holdtimer.errors import SoundError
from holdtimer.paths import sounds_folder
from holdtimer.sound.mixer import Mixer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Clock, Player, TimedThread, steady
from holdtimer.sound.samples import RATE, Samples, read_all, read_speech
from holdtimer.sound.worker import Message, orders, serve, working

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

    The library opens the device anew for every sound and holds the interpreter's lock while it does, so a
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
