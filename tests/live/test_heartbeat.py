import pytest

from holdtimer.live.clock import EVERY_S, LATE_S, SLEPT_S, Heartbeat, Standstill


class Clocks:
    def __init__(self):
        self.mono, self.boot = 100.0, 500.0

    def pass_by(self, seconds, asleep=0.0):
        self.mono += seconds
        if self.boot is not None:
            self.boot += seconds + asleep


@pytest.fixture
def clocks():
    return Clocks()


@pytest.fixture
def heartbeat(clocks):
    return Heartbeat(lambda: clocks.boot, lambda: clocks.mono)


def test_a_heart_that_beats_in_time_finds_nothing(heartbeat, clocks):
    for _ in range(100):
        clocks.pass_by(EVERY_S)
        heartbeat.beat()
    assert heartbeat.standstills() == []


@pytest.mark.parametrize(("late", "found"), [(LATE_S - 0.01, False), (LATE_S + 0.01, True)])
def test_a_beat_more_than_two_seconds_late_is_a_standstill(heartbeat, clocks, late, found):
    clocks.pass_by(EVERY_S + late)
    heartbeat.beat()
    assert bool(heartbeat.standstills()) is found


def test_a_standstill_tells_when_it_was_and_is_told_once(heartbeat, clocks):
    clocks.pass_by(10)
    heartbeat.beat()
    assert heartbeat.standstills() == [Standstill(100.0, 110.0, 10.0)]
    assert heartbeat.standstills() == []


def test_one_that_ends_just_now_is_found_by_whoever_asks_first(heartbeat, clocks):
    clocks.pass_by(10)
    assert heartbeat.standstills() == [Standstill(100.0, 110.0, 10.0)]


@pytest.mark.parametrize(("slept", "found"), [(SLEPT_S - 0.01, False), (SLEPT_S + 0.01, True)])
def test_sleep_of_more_than_a_second_is_a_standstill(heartbeat, clocks, slept, found):
    clocks.pass_by(0.1, asleep=slept)
    assert bool(heartbeat.standstills()) is found


def test_sleep_counts_with_the_time_awake(heartbeat, clocks):
    clocks.pass_by(0.1, asleep=3600)
    (found,) = heartbeat.standstills()
    assert found.seconds == pytest.approx(3600.1)
    assert found.noticed_at - found.alive_at == pytest.approx(0.1)


def test_where_no_clock_goes_on_in_sleep_lateness_alone_tells(clocks):
    clocks.boot = None
    heartbeat = Heartbeat(lambda: clocks.boot, lambda: clocks.mono)
    clocks.pass_by(0.1)
    assert heartbeat.standstills() == []
    clocks.pass_by(5)
    assert [each.seconds for each in heartbeat.standstills()] == [5]


def test_two_standstills_are_two(heartbeat, clocks):
    for seconds in (5, 7):
        clocks.pass_by(seconds)
        heartbeat.beat()
    assert [each.seconds for each in heartbeat.standstills()] == [5, 7]


def test_it_beats_by_itself_until_stopped(clocks):
    import threading

    beats = threading.Semaphore(0)

    def mono():
        beats.release()
        return clocks.mono

    heartbeat = Heartbeat(lambda: clocks.boot, mono, every_s=0.001)
    heartbeat.start()
    for _ in range(5):
        assert beats.acquire(timeout=10)
    heartbeat.stop()
    heartbeat._thread.join(10)
    assert not heartbeat._thread.is_alive()
