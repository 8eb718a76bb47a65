import itertools
import wave
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import BELL, C5, PATTERNS, Note, Pattern, Sound
from holdtimer.sound.samples import RATE, path_of, read
from holdtimer.sound.synthesis import render, write
from tests.sound.levels import loudest_db
from tests.tables import every

ACKNOWLEDGEMENTS = (Sound.FAILURE, Sound.RE_ENTRY, Sound.TAKEN_BACK, Sound.READY, Sound.NOT_READY)
SOFT = (Sound.BREATHE, Sound.LOWER, Sound.LIFT, Sound.PAUSE)
SWELLING = (Sound.BREATHE, Sound.LOWER)
SINGLE = [sound for sound in Sound if len(PATTERNS[sound].notes) == 1]
PAIRS = [
    (one, other)
    for one, other in itertools.combinations(Sound, 2)
    if len(PATTERNS[one].notes) == len(PATTERNS[other].notes) > 1
]


@cache
def heard(sound: Sound) -> np.ndarray:
    return np.array(read(sound, sounds_folder()), dtype=float) / 32768


def level_db(sound: Sound) -> float:
    return loudest_db(heard(sound), RATE)


@cache
def onsets_s(sound: Sound) -> list[float]:
    """Where the spectrum gains most, seconds after the first such place: onsets as a listener has them."""
    hop, width = 240, 1440
    padded = np.concatenate([np.zeros(width), heard(sound), np.zeros(width)])
    frames = np.lib.stride_tricks.sliding_window_view(padded, width)[::hop] * np.hanning(width)
    spectra = np.abs(np.fft.rfft(frames, axis=1))[:, :80]
    gain = np.maximum(spectra[2:] - spectra[:-2], 0).sum(axis=1)
    gain /= gain.max()
    places = [i for i, g in enumerate(gain) if g > 0.2 and g == gain[max(0, i - 8) : i + 9].max()]
    return [(place - places[0]) * hop / RATE for place in places]


def rise_s(sound: Sound) -> float:
    """How long a sound takes from its first sample to eight tenths of its first note's height."""
    envelope = np.abs(heard(sound))
    first_note = envelope[: RATE // 20] if sound not in SWELLING else envelope
    return int(np.argmax(first_note >= 0.8 * first_note.max())) / RATE


@every("sound", Sound)
def test_the_committed_file_is_what_synthesis_makes(sound: Sound) -> None:
    # one step of 16 bit is allowed for: the last digit of a sine differs between systems
    fresh = np.array(render(PATTERNS[sound]), dtype=float) / 32768
    assert len(fresh) == len(heard(sound))
    assert np.abs(fresh - heard(sound)).max() <= 1 / 32768


def test_no_file_is_left_over_or_missing_and_all_are_small() -> None:
    files = [path for path in sounds_folder().iterdir() if path.is_file()]
    assert {file.name for file in files} == {path_of(sound, Path()).name for sound in Sound}
    assert sum(file.stat().st_size for file in files) < 1_600_000


def test_a_file_is_written_the_same_each_time(tmp_path: Path) -> None:
    write(Sound.TICK, tmp_path)
    with wave.open(str(path_of(Sound.TICK, tmp_path))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 48_000)
    once = path_of(Sound.TICK, tmp_path).read_bytes()
    write(Sound.TICK, tmp_path)
    assert path_of(Sound.TICK, tmp_path).read_bytes() == once


@every("sound", Sound)
def test_the_notes_are_heard_where_the_pattern_has_them(sound: Sound) -> None:
    assert onsets_s(sound) == pytest.approx([note.at_s for note in PATTERNS[sound].notes], abs=0.012)


@every(("one", "other"), PAIRS)
def test_sounds_of_as_many_notes_differ_in_rhythm(one: Sound, other: Sound) -> None:
    onsets = zip(onsets_s(one)[1:], onsets_s(other)[1:], strict=True)
    apart = [(abs(a - b), max(a, b)) for a, b in onsets]
    assert any(gap >= 0.025 and gap >= 0.25 * later for gap, later in apart)


@every(("one", "other"), list(itertools.combinations(SINGLE, 2)))
def test_single_notes_differ_in_how_they_rise_and_how_long_they_last(one: Sound, other: Sound) -> None:
    lengths = sorted((len(heard(one)), len(heard(other))))
    rises = sorted((rise_s(one), rise_s(other)))
    assert lengths[1] > 1.5 * lengths[0]
    assert rises[1] > 2 * rises[0]


@every("sound", Sound)
def test_no_sound_groups_three_pulses_and_two(sound: Sound) -> None:
    gaps = np.diff(onsets_s(sound))
    if len(gaps) == 4:
        pause = int(np.argmax(gaps))
        assert not (pause == 2 and gaps[2] > 1.3 * max(gaps[0], gaps[1], gaps[3]))


@every("sound", [sound for sound in Sound if sound not in SOFT])
def test_sounds_are_about_equally_loud(sound: Sound) -> None:
    assert level_db(sound) == pytest.approx(-15.2, abs=1.5)


@every("sound", SOFT)
def test_breathing_and_rhythm_are_much_softer(sound: Sound) -> None:
    assert level_db(sound) < -15.2 - 8


@every("sound", Sound)
def test_no_sound_clips_or_clicks(sound: Sound) -> None:
    samples = heard(sound)
    assert np.abs(samples).max() <= 0.9
    assert abs(samples[0]) < 0.001
    assert abs(samples[-1]) < 0.001
    # the steepest a tone of 2.5 kHz at that height can be, between two samples
    assert np.abs(np.diff(samples)).max() < np.abs(samples).max() * 2 * np.pi * 2500 / RATE


@every("sound", ACKNOWLEDGEMENTS)
def test_an_acknowledgement_is_short_and_begins_at_once(sound: Sound) -> None:
    assert rise_s(sound) < 0.010
    assert onsets_s(sound)[-1] <= 0.4
    assert len(heard(sound)) / RATE <= 0.7


def test_failure_falls_and_re_entry_rises() -> None:
    assert [note.pitch_hz for note in PATTERNS[Sound.FAILURE].notes] == [880.0, C5]
    pitches = [note.pitch_hz for note in PATTERNS[Sound.RE_ENTRY].notes]
    assert pitches == sorted(pitches)
    assert len(onsets_s(Sound.FAILURE)) != len(onsets_s(Sound.RE_ENTRY))


def test_a_pattern_too_loud_for_its_peak_is_held_back() -> None:
    loudest = max(abs(value) for value in render(Pattern((Note(0, C5, BELL),), 5.0)))
    assert loudest == pytest.approx(0.9 * 32767, abs=1)
