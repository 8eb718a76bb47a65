from array import array

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.devices import STALLED_S, STARTING_S, MiniaudioPlayer, Mixer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import AT_ONCE
from holdtimer.sound.samples import RATE, write_file

SAMPLES = {sound: array("h", [number]) for number, sound in enumerate(Sound, 1)}


class FakeDevice:
    """A device that takes samples when a test lets it."""

    def __init__(self) -> None:
        self.closed = 0

    def __call__(self, mixer: Mixer) -> "FakeDevice":
        self.mixer = mixer
        return self

    def close(self) -> None:
        self.closed += 1

    def take(self) -> list[int]:
        return [value for value in array("h", self.mixer.block(960)) if value]


@pytest.fixture
def device() -> FakeDevice:
    return FakeDevice()


@pytest.fixture
def player(clock, device) -> MiniaudioPlayer:
    player = MiniaudioPlayer(SAMPLES, clock, device)
    player.open()
    return player


def test_it_plays_the_samples_of_the_sound_at_once_when_that_is_past(player, device) -> None:
    player.schedule(Sound.FAILURE, AT_ONCE)
    assert device.take() == list(SAMPLES[Sound.FAILURE])


def test_withdrawn_sounds_are_forgotten(player, device, clock) -> None:
    player.schedule(Sound.TICK, clock.time + 0.01)
    player.schedule(Sound.BAND, clock.time + 0.011)
    player.withdraw(clock.time + 0.0105)
    assert device.take() == list(SAMPLES[Sound.TICK])


def test_a_device_that_takes_no_more_samples_is_trouble_until_it_goes_on(player, device, clock) -> None:
    clock.time += STARTING_S
    device.take()
    assert player.trouble() is None
    clock.time += STALLED_S + 0.1
    assert player.trouble() == "the sound device has stopped"
    device.take()
    assert player.trouble() is None


def test_a_device_may_take_its_time_to_start(player, clock) -> None:
    clock.time += STARTING_S - 0.1
    player.trouble()
    clock.time += 0.05
    assert player.trouble() is None


def test_a_process_that_was_stopped_itself_does_not_blame_the_device(player, device, clock) -> None:
    clock.time += STARTING_S
    device.take()
    player.trouble()
    clock.time += 60
    assert player.trouble() is None
    clock.time += STALLED_S + 0.1
    assert player.trouble() == "the sound device has stopped"


def test_closing_twice_closes_the_device_once(player, device) -> None:
    player.close()
    player.close()
    assert device.closed == 1


def test_no_device_is_said_in_plain_words(clock) -> None:
    def refuse(mixer: Mixer) -> FakeDevice:
        raise SoundError("there is no sound device")

    with pytest.raises(SoundError, match="there is no sound device"):
        MiniaudioPlayer(SAMPLES, clock, refuse).open()


def test_a_file_of_speech_is_played_and_can_be_hushed(player, device, clock, tmp_path) -> None:
    write_file(array("h", [9] * 3000), tmp_path / "left side.wav", RATE)
    player.say(tmp_path / "left side.wav", clock.time)
    assert device.take() == [9] * 960
    player.hush()
    clock.time += 0.02
    assert len(device.take()) < 960
    assert device.take() == []


def test_speech_whose_file_is_gone_is_no_trouble(player, device, clock, tmp_path) -> None:
    player.say(tmp_path / "gone.wav", clock.time)
    assert device.take() == []
    assert player.trouble() is None
