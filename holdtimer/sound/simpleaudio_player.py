"""Plays through the simpleaudio library. To be run in a process of its own: see `apart`.

The library opens the device anew for every sound and holds the interpreter's lock while it does, so a device
that does not answer holds up the whole process.
"""

from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from holdtimer.errors import SoundError
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Clock
from holdtimer.sound.samples import RATE, Samples, read_speech
from holdtimer.sound.timed import TimedThread

SILENCE = bytes(2 * RATE // 100)


@dataclass(frozen=True, slots=True)
class _Due:
    """What is to be played, and whether it is speech."""

    samples: bytes
    is_speech: bool


class SimpleaudioPlayer:
    """Plays the given samples from a thread that waits until they are due."""

    name = "simpleaudio"

    def __init__(self, samples: dict[Sound, Samples], clock: Clock, library: Any = None) -> None:
        self._bytes = {sound: each.tobytes() for sound, each in samples.items()}
        self._clock = clock
        self._library = library
        self._thread: TimedThread[_Due] = TimedThread(self._play, clock)
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
        self._thread.add(_Due(self._bytes[sound], is_speech=False), max(at, self._clock()))

    def say(self, speech: Path, at: float) -> None:
        """Play a file of speech at `at`; one that can't be read is not heard."""
        with suppress(SoundError):
            self._thread.add(_Due(read_speech(speech).tobytes(), is_speech=True), max(at, self._clock()))

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

    def _play(self, due: _Due) -> None:
        playing = self._start(due.samples)
        if due.is_speech:
            self._speech = playing

    def _start(self, samples: bytes) -> Any:
        try:
            playing = self._library.play_buffer(samples, 1, 2, RATE)
            self._trouble = None
            return playing
        except Exception:  # the library's own error type can't be named without importing it
            self._trouble = "there is no sound device, or the sound server does not answer"
            return None
