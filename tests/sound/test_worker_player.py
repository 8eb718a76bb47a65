import json
from pathlib import Path

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound import worker
from holdtimer.sound.devices import obey
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import AT_ONCE, Pace, steady
from holdtimer.sound.players import WorkerPlayer
from tests.invented.recording import RecordingPlayer


@pytest.fixture
def open_player(launcher):
    """Make an open player, by speed and delay of the loudspeaker."""
    players = []

    def make(clock=steady, speed=1.0, speaker_delay_s=0.0) -> WorkerPlayer:
        player = WorkerPlayer("miniaudio", Pace(clock, speed, speaker_delay_s), start=launcher)
        player.open()
        players.append(player)
        return player

    yield make
    for player in players:
        player.close()


def due_of(order) -> float:
    return order[-1]


def test_a_sound_is_ordered_for_the_time_it_is_due(open_player, launcher, eventually) -> None:
    player, at = open_player(), steady() + 50
    player.schedule(Sound.BAND, at)
    player.withdraw(at - 10)
    eventually(lambda: len(launcher.started[0].orders) == 2)
    play, forget = launcher.started[0].orders
    assert play[:2] == ("schedule", "band")
    assert forget[0] == "withdraw"
    assert due_of(play) == pytest.approx(at, abs=0.01)
    assert due_of(play) - due_of(forget) == pytest.approx(10)


def test_speech_is_ordered_as_sounds_are(open_player, launcher, eventually) -> None:
    player, at = open_player(speaker_delay_s=0.25), steady() + 50
    player.say(Path("left side.wav"), at)
    player.hush()
    eventually(lambda: len(launcher.started[0].orders) == 2)
    said, hushed = launcher.started[0].orders
    assert said[:2] == ("say", "left side.wav")
    assert due_of(said) == pytest.approx(at - 0.25, abs=0.01)
    assert hushed == ("hush",)


def test_at_once_is_now(open_player, launcher, eventually) -> None:
    before = steady()
    open_player().schedule(Sound.FAILURE, AT_ONCE)
    eventually(lambda: launcher.started[0].orders)
    assert before - 0.01 <= due_of(launcher.started[0].orders[0]) <= steady() + 0.01


def test_a_rehearsal_ten_times_as_fast_sounds_in_a_tenth_of_the_time(
    open_player, launcher, eventually
) -> None:
    player = open_player(lambda: 7 + 10 * steady(), speed=10.0)
    now = steady()
    player.schedule(Sound.BAND, 7 + 10 * now + 600)
    eventually(lambda: launcher.started[0].orders)
    assert due_of(launcher.started[0].orders[0]) == pytest.approx(now + 60, abs=0.01)


def test_sounds_for_a_slow_loudspeaker_are_ordered_earlier(open_player, launcher, eventually) -> None:
    player, at = open_player(speaker_delay_s=0.25), steady() + 50
    player.schedule(Sound.BAND, at)
    player.withdraw(at)
    eventually(lambda: len(launcher.started[0].orders) == 2)
    play, forget = map(due_of, launcher.started[0].orders)
    assert play == pytest.approx(at - 0.25, abs=0.01)
    assert play <= forget  # what is due at that very time stays


def test_trouble_of_the_process_is_reported(open_player, launcher, eventually) -> None:
    player = open_player()
    assert player.trouble() is None
    launcher.started[0].in_trouble = "the sound device has stopped"
    eventually(lambda: player.trouble() == "the sound device has stopped")


def test_closing_ends_the_process(open_player, launcher, eventually) -> None:
    player = open_player()
    player.close()
    player.close()
    eventually(lambda: launcher.started[0].ended)


def test_what_does_not_open_is_reported(launcher) -> None:
    launcher.refusing = "there is no sound device"
    with pytest.raises(SoundError, match="there is no sound device"):
        WorkerPlayer("miniaudio", Pace(steady), start=launcher).open()


def test_a_new_process_gets_what_is_still_to_sound_and_nothing_else(
    open_player, launcher, eventually, monkeypatch
) -> None:
    monkeypatch.setattr(worker, "FIRST_PAUSE_S", 0.0)
    player, now = open_player(), steady()
    player.schedule(Sound.TICK, AT_ONCE)
    player.schedule(Sound.WINDOW_OVER, now + 90)
    player.schedule(Sound.BAND, now + 60)
    launcher.refusing = "there is no sound device"
    launcher.started[0].in_trouble = "the sound device has stopped"
    eventually(lambda: player.trouble() == "there is no sound device")
    player.withdraw(now + 70)
    player.say(Path("left.wav"), now + 65)
    launcher.refusing = None
    eventually(lambda: len(launcher.started) == 2 and len(launcher.started[1].orders) == 2)
    assert [order[:2] for order in launcher.started[1].orders] == [("schedule", "band"), ("say", "left.wav")]
    assert player.trouble() is None


def obeyed(*orders) -> RecordingPlayer:
    """Have orders obeyed as the worker does: what was sent is a line of JSON."""
    player = RecordingPlayer()
    for order in orders:
        obey(player, json.loads(json.dumps(order)))
    return player


def test_orders_reach_the_player_to_the_last_digit() -> None:
    due = 1234567.123456789
    player = obeyed(("schedule", "failure", due), ("schedule", "band", 9.0), ("withdraw", 8.5))
    assert player.asked == [(Sound.FAILURE, due), (Sound.BAND, 9.0)]
    assert player.withdrawn == [8.5]


def test_speech_reaches_the_player_whatever_its_file_is_called() -> None:
    player = obeyed(("say", "/a folder of mine/left \n side.wav", 3.25), ("hush",))
    assert player.said == [(Path("/a folder of mine/left \n side.wav"), 3.25)]
    assert player.hushed == 1


@pytest.mark.parametrize(
    "order",
    [
        ["nonsense"],
        ["schedule"],
        ["schedule", "band"],
        ["schedule", "no such", 1.0],
        ["say"],
        ["hush", 1],
        [],
        7,
    ],
)
def test_an_order_that_makes_no_sense_is_passed_over(order) -> None:
    player = obeyed(order)
    assert (player.asked, player.said, player.withdrawn, player.hushed) == ([], [], [], 0)
