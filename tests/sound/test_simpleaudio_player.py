from array import array

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.devices import SILENCE, SimpleaudioPlayer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.samples import RATE, write_file

SAMPLES = {sound: array("h", [number]) for number, sound in enumerate(Sound, 1)}


class FakePlaying:
    def __init__(self, library: "FakeLibrary", samples: bytes) -> None:
        self._library, self._samples = library, samples

    def stop(self) -> None:
        self._library.broken_off.append(self._samples)


class FakeLibrary:
    """As much of the library as is used."""

    def __init__(self) -> None:
        self.played: list[bytes] = []
        self.broken_off: list[bytes] = []
        self.broken = False
        self.stopped = False

    def play_buffer(self, samples: bytes, channels: int, width: int, rate: int) -> "FakePlaying":
        assert (channels, width, rate) == (1, 2, 48_000)
        if self.broken:
            raise RuntimeError("-111: some words of a library")
        self.played.append(samples)

        return FakePlaying(self, samples)

    def stop_all(self) -> None:
        self.stopped = True


@pytest.fixture
def library() -> FakeLibrary:
    return FakeLibrary()


@pytest.fixture
def player(clock, library):
    player = SimpleaudioPlayer(SAMPLES, clock, library)
    player.open()
    yield player
    player.close()


def test_opening_tries_the_device_with_silence(player, library) -> None:
    assert library.played == [SILENCE]
    assert player.trouble() is None


def test_no_device_is_said_when_opening(clock, library) -> None:
    library.broken = True
    with pytest.raises(SoundError, match="no sound device"):
        SimpleaudioPlayer(SAMPLES, clock, library).open()


def test_a_due_sound_is_played(player, library, eventually, clock) -> None:
    player.schedule(Sound.BAND, clock.time + 100)
    player.withdraw(clock.time + 50)
    player.schedule(Sound.TICK, clock.time - 0.01)
    eventually(lambda: len(library.played) == 2)
    assert library.played[1] == SAMPLES[Sound.TICK].tobytes()


def test_a_lost_device_is_trouble_until_a_sound_is_played_again(player, library, eventually, clock) -> None:
    library.broken = True
    player.schedule(Sound.TICK, clock.time - 0.01)
    eventually(lambda: player.trouble() is not None)
    library.broken = False
    player.schedule(Sound.TICK, clock.time - 0.01)
    eventually(lambda: player.trouble() is None)


def test_hushing_stops_the_speech_and_no_sound(player, library, eventually, clock, tmp_path) -> None:
    write_file(array("h", [9] * 30), tmp_path / "left.wav", RATE)
    player.say(tmp_path / "left.wav", clock.time - 0.01)
    player.schedule(Sound.TICK, clock.time - 0.001)
    eventually(lambda: len(library.played) == 3)
    player.hush()
    player.hush()
    assert library.broken_off == [array("h", [9] * 30).tobytes()]


def test_closing_stops_what_sounds(player, library) -> None:
    player.close()
    assert library.stopped
