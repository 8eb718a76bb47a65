from pathlib import Path

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.apart import PlayerApart
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import AT_ONCE, Pace, steady


@pytest.fixture
def apart(launcher):
    """Make an open player, by speed and delay of the loudspeaker."""
    players = []

    def make(clock=steady, speed=1.0, speaker_delay_s=0.0) -> PlayerApart:
        player = PlayerApart("miniaudio", Pace(clock, speed, speaker_delay_s), start=launcher)
        player.open()
        players.append(player)
        return player

    yield make
    for player in players:
        player.close()


def due_of(order: str) -> float:
    return float(order.split()[1])


def test_a_sound_is_ordered_for_the_time_it_is_due(apart, launcher, eventually) -> None:
    player, at = apart(), steady() + 50
    player.schedule(Sound.BAND, at)
    player.withdraw(at - 10)
    eventually(lambda: len(launcher.started[0].orders) == 2)
    play, forget = launcher.started[0].orders
    assert play.endswith(" band")
    assert forget.startswith("forget ")
    assert due_of(play) == pytest.approx(at, abs=0.01)
    assert due_of(play) - due_of(forget) == pytest.approx(10)


def test_speech_is_ordered_as_sounds_are(apart, launcher, eventually) -> None:
    player, at = apart(speaker_delay_s=0.25), steady() + 50
    player.say(Path("left side.wav"), at)
    player.hush()
    eventually(lambda: len(launcher.started[0].orders) == 2)
    said, hushed = launcher.started[0].orders
    assert said.split(" ", 2)[::2] == ["say", "left side.wav"]
    assert due_of(said) == pytest.approx(at - 0.25, abs=0.01)
    assert hushed == "hush"


def test_at_once_means_now(apart, launcher, eventually) -> None:
    before = steady()
    apart().schedule(Sound.FAILURE, AT_ONCE)
    eventually(lambda: launcher.started[0].orders)
    assert before - 0.01 <= due_of(launcher.started[0].orders[0]) <= steady() + 0.01


def test_a_rehearsal_ten_times_as_fast_sounds_after_a_tenth_of_the_time(apart, launcher, eventually) -> None:
    player = apart(lambda: 7 + 10 * steady(), speed=10.0)
    now = steady()
    player.schedule(Sound.BAND, 7 + 10 * now + 600)
    eventually(lambda: launcher.started[0].orders)
    assert due_of(launcher.started[0].orders[0]) == pytest.approx(now + 60, abs=0.01)


def test_sounds_for_a_slow_loudspeaker_are_ordered_earlier(apart, launcher, eventually) -> None:
    player, at = apart(speaker_delay_s=0.25), steady() + 50
    player.schedule(Sound.BAND, at)
    player.withdraw(at)
    eventually(lambda: len(launcher.started[0].orders) == 2)
    play, forget = map(due_of, launcher.started[0].orders)
    assert play == pytest.approx(at - 0.25, abs=0.01)
    assert play <= forget  # what is due at that very time stays


def test_trouble_of_the_process_is_told(apart, launcher, eventually) -> None:
    player = apart()
    assert player.trouble() is None
    launcher.started[0].in_trouble = "the sound device has stopped"
    eventually(lambda: player.trouble() == "the sound device has stopped")


def test_closing_ends_the_process(apart, launcher, eventually) -> None:
    player = apart()
    player.close()
    player.close()
    eventually(lambda: launcher.started[0].ended)


def test_what_does_not_open_is_told(launcher) -> None:
    launcher.refusing = "there is no sound device"
    with pytest.raises(SoundError, match="there is no sound device"):
        PlayerApart("miniaudio", Pace(steady), start=launcher).open()
