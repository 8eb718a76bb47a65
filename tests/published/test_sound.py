"""The sounds against published figures on auditory signals for people of all ages.

The limit of 2500 Hz for the fundamental: ISO 24500:2010, as read at
http://news-sv.aij.or.jp/kankyo/s18/pg340.html and https://jis.eomec.com/jiss00142013/2. The limits in a quiet
room, the 5 dB more for some classes of signal, and what a sample is worth in a room: see `audibility`.
"""

from functools import cache

import numpy as np
import pytest

from holdtimer.config import Personal
from holdtimer.files import sounds_folder
from holdtimer.sound.devices import Mixer
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.samples import RATE, read, read_all
from holdtimer.sound.speech_planner import SOFT
from tests.published.audibility import (
    FARTHEST_M,
    HIGHEST_DB,
    HIGHEST_HZ,
    MORE_FOR_START_AND_END_DB,
    PREFERRED_TALK_DB,
    QUIET_ROOM_DB,
    a_weighted,
    bands_db,
    fast_db,
    full_scale_db,
    line_of,
    margin_db,
    share_above,
)
from tests.tables import every

LOWEST_FLOOR_DB = 25
BLOCK = 960


def power(sound: Sound) -> tuple[np.ndarray, np.ndarray]:
    samples = np.array(read(sound, sounds_folder()), dtype=float)
    return np.fft.rfftfreq(len(samples), 1 / RATE), np.abs(np.fft.rfft(samples)) ** 2


def share_by_band(sound: Sound) -> dict[int, float]:
    """The share of a sound's energy in each third of an octave."""
    hertz, powers = power(sound)
    edge = 2 ** (1 / 6)
    inside = {band: (hertz >= band / edge) & (hertz < band * edge) for band in QUIET_ROOM_DB}
    return {band: powers[where].sum() / powers.sum() for band, where in inside.items()}


@every("sound", Sound)
def test_every_fundamental_is_within_the_limit(sound: Sound) -> None:
    assert all(note.pitch_hz <= HIGHEST_HZ for note in PATTERNS[sound].notes)


@every("sound", Sound)
def test_what_carries_energy_is_within_the_limit_too(sound: Sound) -> None:
    """Measure: 99.99 % of the energy, and above the limit nothing within 60 dB of the strongest partial."""
    hertz, powers = power(sound)
    assert powers[hertz > HIGHEST_HZ].max() < 1e-6 * powers.max()
    assert share_above(line_of(read(sound, sounds_folder()))) < 1e-4


@every("sound", Sound)
def test_a_sound_lies_where_the_quiet_room_limit_is_lowest(sound: Sound) -> None:
    lowest = [band for band, floor in QUIET_ROOM_DB.items() if floor == LOWEST_FLOOR_DB]
    shares = share_by_band(sound)
    assert sum(shares[band] for band in lowest) > 0.9
    assert shares[max(shares, key=shares.__getitem__)] > 0.2
    assert max(shares, key=shares.__getitem__) in lowest


def level_needed_db(sound: Sound) -> float:
    """The whole level at which the strongest third of an octave of a sound meets its limit."""
    return min(
        QUIET_ROOM_DB[band] + MORE_FOR_START_AND_END_DB - 10 * np.log10(share)
        for band, share in share_by_band(sound).items()
        if share > 0
    )


@every("sound", Sound)
def test_a_sound_needs_far_less_level_than_a_high_beep(sound: Sound) -> None:
    """A 4 kHz beep needs 65 dB in a quiet room, computed from the table; the upper limit is 70 dB."""
    high_beep = QUIET_ROOM_DB[4000] + MORE_FOR_START_AND_END_DB
    assert high_beep == 65
    assert level_needed_db(sound) <= high_beep - 25


# -- in a room -----------------------------------------------------------------------------------------------


@cache
def played(sound: Sound) -> np.ndarray:
    """A sound as the mixer hands it to the device, at the volume when left out."""
    samples = read_all(sounds_folder(), Personal().volume)[sound]
    mixer = Mixer(lambda: mixer.frames / RATE)
    mixer.add(samples, 0.1)
    blocks = [mixer.block(BLOCK) for _ in range(len(samples) // BLOCK + 10)]
    return line_of(np.frombuffer(b"".join(blocks), dtype=np.int16))


def tone(hertz: float, effective: float) -> np.ndarray:
    return effective * np.sqrt(2) * np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE)


@every("sound", Sound)
def test_each_sound_is_heard_across_a_quiet_room_where_speech_is_as_loud_as_usual(sound: Sound) -> None:
    assert margin_db(played(sound)) >= 0


@every("sound", [sound for sound in Sound if sound not in SOFT])
def test_what_must_be_heard_is_so_at_the_softest_speech_that_people_like(sound: Sound) -> None:
    assert margin_db(played(sound), PREFERRED_TALK_DB) >= 0


@every("sound", Sound)
def test_no_sound_is_above_the_upper_limit_beside_the_loudspeaker(sound: Sound) -> None:
    assert fast_db(played(sound)) + full_scale_db(metres=1.0) <= HIGHEST_DB


def test_a_high_beep_of_the_same_level_would_not_be_heard() -> None:
    loudest = max(fast_db(played(sound)) for sound in Sound)
    assert margin_db(tone(4000, 10 ** (loudest / 20))) < 0 < margin_db(tone(1000, 10 ** (loudest / 20)))


def test_a_sound_made_softer_by_its_margin_just_meets_the_limit() -> None:
    line = played(Sound.FAILURE)
    for metres in (1.0, FARTHEST_M):
        softer = line * 10 ** (-margin_db(line, metres=metres) / 20)
        assert margin_db(softer, metres=metres) == pytest.approx(0, abs=0.01)


@every("band", QUIET_ROOM_DB)
def test_a_steady_tone_is_measured_at_its_level_in_its_own_third_of_an_octave(band: int) -> None:
    levels = bands_db(tone(band, 0.1))
    assert levels[band] == pytest.approx(-20, abs=0.3)
    assert all(level < -20 - 10 for other, level in levels.items() if other != band)


@every(("hertz", "weight_db"), [(100, -19.1), (500, -3.2), (1000, 0.0), (4000, 1.0)])
def test_weighting_a_is_as_published(hertz: int, weight_db: float) -> None:
    """From memory: the nominal weights of IEC 61672-1."""
    weighted = np.sqrt(np.mean(a_weighted(tone(hertz, 0.1)) ** 2))
    assert 20 * np.log10(weighted) == pytest.approx(-20 + weight_db, abs=0.1)
