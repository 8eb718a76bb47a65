from holdtimer.live.clock import SteadyClock
from holdtimer.sound.player import steady
from tests.hand_clock import HandClock


def test_the_steady_clock_is_the_machines_own():
    before = steady()
    assert before <= SteadyClock().now() <= steady()
    assert SteadyClock().at(12.5) == 12.5


def test_a_rehearsal_runs_so_many_times_faster():
    clock = SteadyClock(4.0)
    before = steady()
    assert before * 4 <= clock.now() <= steady() * 4
    assert clock.at(12.5) == 50


def test_a_clock_by_hand_stands_still():
    clock = HandClock(5.0, speed=2.0)
    assert clock.now() == 5
    assert clock.at(5.0) == 10
