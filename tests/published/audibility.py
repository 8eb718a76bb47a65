"""How far a sound lies above the lower limits for a quiet room, at the ear of a listener across it.

The limits: JIS S 0014:2013, the same as ISO 24501:2010, by third of an octave, as read at
https://jis.eomec.com/jiss00142013/2. They are for people of all ages at up to about 4 m from the product, as
read at https://standards.iteh.ai/catalog/standards/iso/dc6a9d7e-7d1f-4c8a-8519-ff6b83b2fc73/iso-24501-2010.
What is held against them is the highest level with the time weighting "fast" (125 ms) in one third of an
octave; that it is this level is from memory.

A sample has no level in a room until somebody turns a knob, so this rests on an assumption: a person sets it
until the speech of holdtimer, 1 m from the loudspeaker, is as loud as talk usually is at that distance. That
was 55 to 66 dB(A) where people live and work (Pearsons, Bennett and Fidell 1977, as summed up by Olsen 1998,
read at https://pubmed.ncbi.nlm.nih.gov/26649514); the least of it is taken. In a quiet room people
prefer about 50 dB(A) of recorded talk at 1 m (van Heusden, Plomp and Pols 1979, read at
https://c.coek.info/pdf-effect-of-ambient-noise-on-the-vocal-output-and-the-preferred-listening-level-of.html).
From 1 m on the sound spreads as in the open, which is the least that a room leaves of it. The loudspeaker is
a small one: below 500 Hz it falls off by 12 dB an octave (common practice, no source).
"""

from functools import cache
from math import log10

import numpy as np
import scipy

from holdtimer.sound.samples import RATE, read_file
from holdtimer.sound.shaping import shaped
from holdtimer.sound.speech import RECORDED_RATE as SPOKEN_RATE
from holdtimer.sound.speech import voice_folder

QUIET_ROOM_DB = {
    250: 30, 315: 30, 400: 25, 500: 25, 630: 25, 800: 25, 1000: 25,
    1250: 25, 1600: 30, 2000: 35, 2500: 40, 3150: 50, 4000: 60,
}  # fmt: skip
MORE_FOR_START_AND_END_DB = 5
"""For signals of start and of end heard from away, and attention repeated less than five times."""
HIGHEST_DB = 70
HIGHEST_HZ = 2500

USUAL_TALK_DB, PREFERRED_TALK_DB = 55.0, 50.0
FARTHEST_M = 4.0
SMALL_SPEAKER_HZ = 500.0
FAST_S = 0.125
FULL_SCALE = 32768


def line_of(samples) -> np.ndarray:
    """Samples of 16 bit as parts of full scale."""
    return np.array(samples, dtype=float) / FULL_SCALE


def through_small_speaker(line: np.ndarray) -> np.ndarray:
    return scipy.signal.sosfilt(
        scipy.signal.butter(2, SMALL_SPEAKER_HZ, "highpass", fs=RATE, output="sos"), line
    )


def fast_db(line: np.ndarray) -> float:
    """The highest level with the time weighting "fast"; an effective value of 1 is 0 dB."""
    fade = np.exp(-1 / (FAST_S * RATE))
    return 10 * log10(max(scipy.signal.lfilter([1 - fade], [1, -fade], line**2).max(), 1e-20))


def bands_db(line: np.ndarray) -> dict[int, float]:
    """The highest fast level in each third of an octave."""
    followed = np.concatenate([line, np.zeros(RATE // 10)])  # a filter answers somewhat later
    return {band: fast_db(scipy.signal.sosfilt(_third(band), followed)) for band in QUIET_ROOM_DB}


@cache
def _third(band: int) -> np.ndarray:
    """A filter for the third of an octave of this nominal middle, whose exact one is a power of 10^0.1."""
    middle = 1000 * 10 ** (round(10 * log10(band / 1000)) / 10)
    edges = middle * 10**-0.05, middle * 10**0.05
    return scipy.signal.butter(3, edges, "bandpass", fs=RATE, output="sos")


def a_weighted(line: np.ndarray) -> np.ndarray:
    """A line by the frequency weighting A of sound level meters (IEC 61672-1; from memory)."""
    length = scipy.fft.next_fast_len(len(line), real=True)
    hertz2 = np.fft.rfftfreq(length, 1 / RATE) ** 2
    weights = 12194**2 * hertz2**2 / ((hertz2 + 20.6**2) * (hertz2 + 12194**2))
    weights /= np.sqrt((hertz2 + 107.7**2) * (hertz2 + 737.9**2))
    return np.fft.irfft(np.fft.rfft(line, length) * weights * 10 ** (2.0 / 20), length)[: len(line)]


@cache
def speech_db() -> float:
    """How loud the recordings are at the voice's volume when left out, on the average, A-weighted."""
    spoken = [shaped(read_file(path, SPOKEN_RATE), SPOKEN_RATE, RATE) for path in voice_folder().iterdir()]
    heard = a_weighted(through_small_speaker(line_of(np.concatenate(spoken))))
    return 10 * log10(np.mean(heard**2))


def full_scale_db(talk_db: float = USUAL_TALK_DB, metres: float = 1.0) -> float:
    """The level of full scale so many metres away, where speech is as loud as `talk_db` at 1 m."""
    return talk_db - speech_db() - 20 * log10(metres)


def margin_db(line: np.ndarray, talk_db: float = USUAL_TALK_DB, metres: float = FARTHEST_M) -> float:
    """How far the band of a sound that is heard best lies above its lower limit for signals of start."""
    full_scale = full_scale_db(talk_db, metres)
    levels = bands_db(through_small_speaker(line))
    return max(
        level + full_scale - QUIET_ROOM_DB[band] - MORE_FOR_START_AND_END_DB for band, level in levels.items()
    )


def share_above(line: np.ndarray, hertz: float = HIGHEST_HZ) -> float:
    """The share of the energy that lies above a frequency."""
    powers = np.abs(np.fft.rfft(line)) ** 2
    return float(powers[np.fft.rfftfreq(len(line), 1 / RATE) > hertz].sum() / powers.sum())
