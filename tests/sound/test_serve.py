from pathlib import Path

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.patterns import Sound
from holdtimer.sound.recording import RecordingPlayer
from holdtimer.sound.serve import serve


def served(player: RecordingPlayer, *orders: str) -> list[str]:
    coming, answers = iter(orders), []
    serve(player, lambda: next(coming, None), answers.append)
    return answers


def test_orders_reach_the_player_to_the_last_digit() -> None:
    player = RecordingPlayer()
    due = 1234567.123456789
    assert served(player, f"play {due!r} failure", "play 9.0 band", "forget 8.5") == ["well"]
    assert player.asked == [(Sound.FAILURE, due), (Sound.BAND, 9.0)]
    assert player.withdrawn == [8.5]
    assert player.is_open


def test_speech_reaches_the_player_whatever_its_file_is_called() -> None:
    player = RecordingPlayer()
    served(player, "say 3.25 /a folder of mine/left side.wav", "hush")
    assert player.said == [(Path("/a folder of mine/left side.wav"), 3.25)]
    assert player.hushed == 1


def test_asked_it_says_that_all_is_well() -> None:
    assert served(RecordingPlayer(), "ask", "ask") == ["well"] * 3


def test_trouble_is_told_once_and_ends_the_service() -> None:
    player = RecordingPlayer()
    player.in_trouble = "the sound device has stopped"
    assert served(player, "ask", "play 1.0 band") == ["well", "trouble the sound device has stopped"]
    assert player.asked == []


@pytest.mark.parametrize("order", ["nonsense", "play", "play 1.0", "say", "hush now"])
def test_an_order_that_makes_no_sense_is_passed_over(order: str) -> None:
    assert served(RecordingPlayer(), order, "ask") == ["well", "well"]


class NoDevice(RecordingPlayer):
    def open(self) -> None:
        raise SoundError("there is no sound device")


def test_a_device_that_does_not_open_is_told() -> None:
    assert served(NoDevice(), "ask") == ["trouble there is no sound device"]
