"""Plays through one stream of the miniaudio library. To be run in a process of its own: see `apart`."""

from collections.abc import Callable, Generator
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from holdtimer.errors import SoundError
from holdtimer.sound.mixer import Mixer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Clock
from holdtimer.sound.samples import RATE, Samples, read_speech

BLOCK_MS = 20
STALLED_S = 0.5  # a device that takes no sample for this long is lost
STARTING_S = 4.0  # a device just opened, wireless above all, may take its time
AWAY_S = 0.8  # the process itself was held up if nobody asked for this long


class Device(Protocol):
    """What is used of an open sound device."""

    def close(self) -> None:
        """Stop and let go of it."""
        ...


class MiniaudioPlayer:
    """Plays the given samples at the sample they are due at, through the system's default device."""

    name = "miniaudio"

    def __init__(
        self,
        samples: dict[Sound, Samples],
        clock: Clock,
        open_device: "Callable[[Mixer], Device] | None" = None,
    ) -> None:
        self._samples = samples
        self._clock = clock
        self._open_device = open_device or _default_device
        self._mixer = Mixer(clock)
        self._device: Device | None = None
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
        """Close the stream, without which the process would never end."""
        if self._device is not None:
            self._device.close()
        self._device = None


def _blocks(mixer: Mixer) -> Generator[bytes, int, None]:
    """Hand out blocks as a generator that is sent the number of samples wanted."""
    block = b""
    while True:
        block = mixer.block((yield block))


def _default_device(mixer: Mixer) -> Device:
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
        raise SoundError("there is no sound device, or the sound server does not answer") from fault
    return device  # type: ignore[no-any-return]
