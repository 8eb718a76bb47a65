from itertools import pairwise

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.attendant import FIRST_PAUSE_S, LONGEST_PAUSE_S, SETTLED_S, Attendant


@pytest.fixture
def attendant(launcher, clock) -> Attendant:
    attendant = Attendant(launcher, clock)
    attendant.begin()
    return attendant


def fail(attendant, launcher, reason="the sound device has stopped") -> None:
    launcher.started[-1].in_trouble = reason
    attendant.check()


def wait(attendant, clock, seconds: float) -> None:
    clock.now += seconds
    attendant.check()


def test_orders_are_handed_on_as_they_come(attendant, launcher) -> None:
    attendant.add("play", "band", 160.25)
    attendant.add("say", "/a folder/left.wav", 161.0)
    attendant.hush()
    attendant.forget(150.0)
    assert launcher.started[0].orders == [
        "play 160.25 band",
        "say 161.0 /a folder/left.wav",
        "hush",
        "forget 150.0",
    ]


def test_a_process_that_is_well_is_asked_again_and_again(attendant, launcher) -> None:
    attendant.check()
    attendant.check()
    assert launcher.started[0].asked == 2
    assert attendant.trouble is None


def test_one_in_trouble_is_ended_and_replaced_after_a_pause(attendant, launcher, clock) -> None:
    fail(attendant, launcher)
    assert attendant.trouble == "the sound device has stopped"
    assert launcher.started[0].ended
    wait(attendant, clock, FIRST_PAUSE_S / 2)
    assert len(launcher.started) == 1
    wait(attendant, clock, FIRST_PAUSE_S)
    assert len(launcher.started) == 2
    assert attendant.trouble is None


def test_the_new_one_gets_what_is_still_to_sound_and_nothing_else(attendant, launcher, clock) -> None:
    attendant.add("play", "tick", clock.now + 0.5)
    attendant.add("play", "band", clock.now + 60)
    attendant.add("play", "window-over", clock.now + 90)
    fail(attendant, launcher)
    attendant.forget(clock.now + 70)
    attendant.add("say", "left.wav", clock.now + 65)
    wait(attendant, clock, 2)
    begin = clock.now - 2
    assert launcher.started[1].orders == [f"play {begin + 60} band", f"say {begin + 65} left.wav"]


def test_each_pause_is_longer_than_the_one_before_up_to_a_limit(attendant, launcher, clock) -> None:
    fail(attendant, launcher)
    launcher.refusing = "there is no sound device"
    tries = []
    for second in range(200):
        before = launcher.tries
        wait(attendant, clock, 1)
        if launcher.tries > before:
            tries.append(second)
    gaps = [b - a for a, b in pairwise(tries)]
    assert gaps[:4] == [2, 4, 8, 16]
    assert set(gaps[4:]) == {LONGEST_PAUSE_S}
    assert attendant.trouble == "there is no sound device"


def test_after_a_long_good_time_the_next_trouble_is_met_quickly_again(attendant, launcher, clock) -> None:
    for _ in range(3):
        fail(attendant, launcher)
        wait(attendant, clock, LONGEST_PAUSE_S)
    wait(attendant, clock, SETTLED_S + 1)
    fail(attendant, launcher)
    wait(attendant, clock, FIRST_PAUSE_S)
    assert attendant.trouble is None


def test_what_can_not_be_begun_is_told(launcher, clock) -> None:
    launcher.refusing = "there is no sound device"
    with pytest.raises(SoundError, match="there is no sound device"):
        Attendant(launcher, clock).begin()


def test_ending_twice_ends_the_process_once(attendant, launcher) -> None:
    attendant.end()
    attendant.end()
    assert launcher.started[0].ended
