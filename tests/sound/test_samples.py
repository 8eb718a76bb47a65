import wave
from pathlib import Path

import pytest

from holdtimer.errors import SoundError
from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import Sound
from holdtimer.sound.samples import path_of, read, read_all


def test_half_the_volume_is_half_the_height() -> None:
    full, half = read_all(sounds_folder()), read_all(sounds_folder(), 0.5)
    assert set(full) == set(Sound)
    assert max(half[Sound.BAND]) == max(full[Sound.BAND]) // 2


def test_no_volume_is_silence() -> None:
    assert set(read_all(sounds_folder(), 0.0)[Sound.BAND]) == {0}


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(SoundError, match=r"band\.wav"):
        read(Sound.BAND, tmp_path)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"not a sound at all, but long enough to be one" * 3])
def test_a_file_that_is_no_sound_is_named(tmp_path: Path, content: bytes) -> None:
    path_of(Sound.BAND, tmp_path).write_bytes(content)
    with pytest.raises(SoundError, match=r"band\.wav"):
        read(Sound.BAND, tmp_path)


def test_a_file_of_another_kind_is_named(tmp_path: Path) -> None:
    with wave.open(str(path_of(Sound.BAND, tmp_path)), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(44_100)
        file.writeframes(bytes(8))
    with pytest.raises(SoundError, match=r"band\.wav is not mono"):
        read(Sound.BAND, tmp_path)
