from array import array

import numpy as np
import pytest

from holdtimer.sound.shaping import HIGHEST_PEAK, LOUDNESS, shaped


def tone(hz, seconds, rate, height=6000.0, silence_s=0.2):
    line = height * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate)) / rate)
    quiet = np.zeros(round(silence_s * rate))
    return array("h", np.concatenate([quiet, line, quiet]).astype(np.int16).tobytes())


def test_silence_around_speech_is_cut_off_so_that_it_begins_at_once():
    samples = np.array(shaped(tone(500, 1.0, 22_050), 22_050, 48_000))
    assert len(samples) / 48_000 == pytest.approx(1.03, abs=0.01)
    first = np.argmax(np.abs(samples) > 0.5 * np.abs(samples).max()) / 48_000
    assert first < 0.012


@pytest.mark.parametrize(("rate", "wanted"), [(22_050, 48_000), (16_000, 48_000), (22_050, 16_000)])
def test_another_rate_keeps_the_pitch(rate, wanted):
    samples = np.array(shaped(tone(700, 1.0, rate), rate, wanted), dtype=float)
    spectrum = np.abs(np.fft.rfft(samples))
    assert np.argmax(spectrum) * wanted / len(samples) == pytest.approx(700, abs=2)
    assert spectrum[int(1000 * len(samples) / wanted) :].max() < 0.01 * spectrum.max()


@pytest.mark.parametrize("height", [300.0, 6000.0, 32_000.0])
def test_speech_is_as_loud_as_the_sounds_however_it_came(height):
    samples = np.array(shaped(tone(500, 1.0, 22_050, height), 22_050, 48_000), dtype=float) / 32_767
    level = np.sqrt(np.mean(samples[10_000:16_000] ** 2))
    assert level == pytest.approx(LOUDNESS, rel=0.02)


def test_a_peak_is_never_beyond_what_a_file_holds():
    clicks = array("h", ([30_000] + [300] * 2_000) * 10)
    assert max(map(abs, shaped(clicks, 22_050, 48_000))) <= HIGHEST_PEAK * 32_768


def test_half_the_volume_is_half_the_height():
    full, half = (max(shaped(tone(500, 0.5, 22_050), 22_050, 48_000, volume)) for volume in (1.0, 0.5))
    assert half == pytest.approx(full / 2, abs=2)


def test_it_begins_and_ends_without_a_click():
    samples = shaped(tone(500, 0.5, 22_050, silence_s=0), 22_050, 48_000)
    assert abs(samples[0]) < 60
    assert abs(samples[-1]) < 60


@pytest.mark.parametrize("samples", [array("h"), array("h", [0] * 500)])
def test_silence_is_nothing(samples):
    assert len(shaped(samples, 22_050, 48_000)) == 0
