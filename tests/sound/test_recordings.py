from functools import cache

import numpy as np
import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.phrases import EVERY, SMALL
from holdtimer.sound.samples import read_file
from holdtimer.sound.speech import RECORDED_RATE as RATE
from holdtimer.sound.speech import Recordings, file_name, record_all, voice_folder
from tests.sound.levels import loudest_db
from tests.tables import every


@cache
def heard(text):
    return np.array(read_file(voice_folder() / file_name(text), RATE), dtype=float) / 32_768


def test_every_phrase_has_a_file_of_its_own_and_there_is_no_other():
    names = [file_name(text) for text in EVERY]
    assert len(set(names)) == len(EVERY)
    assert {path.name for path in voice_folder().iterdir()} == set(names)


def test_all_of_them_together_are_small():
    assert sum(path.stat().st_size for path in voice_folder().iterdir()) < 2_900_000


@every("text", EVERY)
def test_a_recording_is_as_loud_as_the_sounds_and_as_long_as_its_text(text):
    line = heard(text)
    assert loudest_db(line, RATE) == pytest.approx(-14, abs=3)
    assert np.abs(line).max() <= 0.91
    assert 0.02 * len(text) < len(line) / RATE < 0.2 + 0.13 * len(text)


@every("text", EVERY)
def test_a_recording_begins_at_once(text):
    line = np.abs(heard(text))
    assert np.argmax(line > 0.05 * line.max()) / RATE < 0.08


@every("text", SMALL[1:11])
def test_a_counted_word_is_over_before_the_next_second(text):
    assert len(heard(text)) / RATE < 0.75


def test_what_is_not_recorded_is_not_said():
    assert Recordings().say("Wall sit") is None
    assert Recordings().say("../ready") is None


def test_a_recording_that_is_gone_is_said(tmp_path):
    with pytest.raises(SoundError, match=r"ease-off\.wav"):
        Recordings(tmp_path).say("ease off")


def test_they_are_made_anew_as_they_are(tmp_path):
    record_all(tmp_path)
    for text in EVERY:
        fresh = len(read_file(tmp_path / file_name(text), RATE))
        assert fresh == pytest.approx(len(heard(text)), rel=0.1)
