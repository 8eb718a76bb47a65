"""The samples of the sounds, read from `sounds/`."""

import sys
import wave
from array import array
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from holdtimer.errors import SoundError
from holdtimer.sound.patterns import Sound

RATE = 48_000
"""Samples a second of all sounds."""

Samples: TypeAlias = "array[int]"
"""One channel of signed 16-bit values."""


def path_of(sound: Sound, folder: Path) -> Path:
    """Return where the file of a sound is."""
    return folder / f"{sound.value}.wav"


def read(sound: Sound, folder: Path) -> Samples:
    """Return the samples of a sound. Raises SoundError where its file is missing or of another kind."""
    return read_file(path_of(sound, folder), RATE)


def read_file(path: Path, rate: int) -> Samples:
    """Return the samples of one file of so many a second, mono and 16 bit. Raises SoundError as `read`."""
    try:
        with wave.open(str(path), "rb") as file:
            shape = (file.getnchannels(), file.getsampwidth(), file.getframerate())
            samples = array("h", file.readframes(file.getnframes()))
    except (OSError, EOFError, ValueError, wave.Error) as fault:
        raise SoundError(f"the sound file {path.name} can't be read: {fault}") from fault
    if shape != (1, 2, rate):
        raise SoundError(f"the sound file {path.name} is not mono, 16 bit, {rate} samples a second")
    if sys.byteorder == "big":
        samples.byteswap()
    return samples


@lru_cache(maxsize=128)
def read_speech(path: Path) -> Samples:
    """Return the samples of a file of speech, read once. Raises SoundError as `read`."""
    return read_file(path, RATE)


def write_file(samples: Samples, path: Path, rate: int) -> None:
    """Write samples as a file, mono and 16 bit. Raises OSError."""
    with path.open("wb") as raw, wave.open(raw, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(samples.tobytes() if sys.byteorder == "little" else _swapped(samples).tobytes())


def _swapped(samples: Samples) -> Samples:
    turned = array("h", samples)
    turned.byteswap()
    return turned


def read_all(folder: Path, volume: float = 1.0) -> dict[Sound, Samples]:
    """Return the samples of every sound at a volume of 0-1. Raises SoundError as `read` does."""
    return {sound: _quieter(read(sound, folder), volume) for sound in Sound}


def _quieter(samples: Samples, volume: float) -> Samples:
    if volume >= 1.0:
        return samples
    return array("h", (int(value * volume) for value in samples))
