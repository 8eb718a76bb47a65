import os
import sys
from array import array

import pytest

from holdtimer.sound.rendering import SpeechCache
from holdtimer.sound.samples import RATE

SECOND = array("h", [5] * RATE)


@pytest.fixture
def cache(tmp_path):
    return SpeechCache(tmp_path / "voice")


def test_what_is_kept_is_found_again_with_its_length(cache, tmp_path):
    path = cache.path("a speaker", "left side", 1.0)
    assert cache.length_s(path) is None
    cache.keep(path, SECOND)
    again = SpeechCache(tmp_path / "voice")
    assert again.length_s(again.path("a speaker", "left side", 1.0)) == 1.0


def test_speaker_text_and_volume_each_make_another_file(cache):
    paths = {
        cache.path(*what)
        for what in (("a", "left", 1.0), ("b", "left", 1.0), ("a", "right", 1.0), ("a", "left", 0.5))
    }
    assert len(paths) == 4


def test_no_text_makes_a_file_elsewhere(cache, tmp_path):
    path = cache.path("../a", "../../left\0side", 1.0)
    assert path.parent == tmp_path / "voice"
    assert path.stem.isalnum()


@pytest.mark.skipif(sys.platform == "win32", reason="other rights there")
def test_the_owner_alone_can_read_it(cache, tmp_path):
    path = cache.path("a", "left", 1.0)
    cache.keep(path, SECOND)
    assert (tmp_path / "voice").stat().st_mode & 0o777 == 0o700
    assert path.stat().st_mode & 0o077 == 0


def test_a_broken_file_counts_as_none(cache):
    path = cache.path("a", "left", 1.0)
    path.write_bytes(b"RIFF and no more")
    assert cache.length_s(path) is None


def test_what_was_used_longest_ago_goes_first_when_there_is_too_much(cache, tmp_path):
    paths = [cache.path("a", str(number), 1.0) for number in range(5)]
    for age, path in enumerate(paths):
        cache.keep(path, SECOND)
        os.utime(path, (1000 + age, 1000 + age))
    assert cache.length_s(paths[0]) == 1.0  # used just now
    SpeechCache(tmp_path / "voice", most_bytes=300_000)
    assert paths[0].exists()
    assert not paths[1].exists()
    assert sum(path.stat().st_size for path in paths if path.exists()) <= 300_000


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(OSError, match="file"):
        SpeechCache(tmp_path / "file" / "voice")
