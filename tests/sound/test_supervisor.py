from itertools import pairwise
from threading import current_thread

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.worker import FIRST_PAUSE_S, LONGEST_PAUSE_S, SETTLED_S, Supervisor


def supervisor_of(clock, *starts, replay=()) -> Supervisor:
    return Supervisor(starts, lambda: replay, clock)


@pytest.fixture
def supervisor(launcher, clock) -> Supervisor:
    supervisor = supervisor_of(clock, launcher, replay=[("say", "left.wav", 161.0), ("hush",)])
    supervisor.begin()
    return supervisor


def fail(supervisor, launcher, reason="the sound device has stopped") -> None:
    launcher.started[-1].in_trouble = reason
    supervisor.check()


def wait(supervisor, clock, seconds: float) -> None:
    clock.time += seconds
    supervisor.check()


def test_orders_are_handed_on_as_they_come(supervisor, launcher) -> None:
    supervisor.send("schedule", "band", 160.25)
    supervisor.send("hush")
    assert launcher.started[0].orders == [("schedule", "band", 160.25), ("hush",)]


def test_a_process_that_is_well_is_asked_again_and_again(supervisor, launcher) -> None:
    supervisor.check()
    supervisor.check()
    assert launcher.started[0].asked == 2
    assert supervisor.trouble is None


def test_one_in_trouble_is_ended_and_replaced_after_a_pause(supervisor, launcher, clock) -> None:
    fail(supervisor, launcher)
    assert supervisor.trouble == "the sound device has stopped"
    assert launcher.started[0].ended
    wait(supervisor, clock, FIRST_PAUSE_S / 2)
    assert len(launcher.started) == 1
    wait(supervisor, clock, FIRST_PAUSE_S)
    assert len(launcher.started) == 2
    assert supervisor.trouble is None


def test_the_new_one_first_gets_what_is_to_be_done_again(supervisor, launcher, clock) -> None:
    fail(supervisor, launcher)
    supervisor.send("schedule", "band", 160.25)  # to nobody
    wait(supervisor, clock, 2)
    supervisor.send("hush")
    assert launcher.started[1].orders == [("say", "left.wav", 161.0), ("hush",), ("hush",)]


def test_each_pause_is_longer_than_the_one_before_up_to_a_limit(supervisor, launcher, clock) -> None:
    fail(supervisor, launcher)
    launcher.refusing = "there is no sound device"
    tries = []
    for second in range(200):
        before = launcher.tries
        wait(supervisor, clock, 1)
        if launcher.tries > before:
            tries.append(second)
    gaps = [b - a for a, b in pairwise(tries)]
    assert gaps[:4] == [2, 4, 8, 16]
    assert set(gaps[4:]) == {LONGEST_PAUSE_S}
    assert supervisor.trouble == "there is no sound device"


def test_after_a_long_good_time_the_next_trouble_is_met_quickly_again(supervisor, launcher, clock) -> None:
    for _ in range(3):
        fail(supervisor, launcher)
        wait(supervisor, clock, LONGEST_PAUSE_S)
    wait(supervisor, clock, SETTLED_S + 1)
    fail(supervisor, launcher)
    wait(supervisor, clock, FIRST_PAUSE_S)
    assert supervisor.trouble is None


def test_what_can_not_be_begun_is_said(launcher, clock) -> None:
    launcher.refusing = "there is no sound device"
    with pytest.raises(SoundError, match="there is no sound device"):
        supervisor_of(clock, launcher).begin()


def test_ending_twice_ends_the_process_once(supervisor, launcher) -> None:
    supervisor.end()
    supervisor.end()
    assert launcher.started[0].ended


def test_trouble_is_there_to_be_seen_before_a_process_that_hangs_has_ended(supervisor, launcher) -> None:
    seen = []
    launcher.started[0].end = lambda: seen.append(supervisor.trouble)
    fail(supervisor, launcher)
    assert seen == ["the sound device has stopped"]


def test_what_is_not_begun_is_started_by_the_first_check(launcher, clock) -> None:
    supervisor = supervisor_of(clock, launcher)
    supervisor.check()
    assert len(launcher.started) == 1


def test_after_trouble_the_next_takes_over_at_once_and_the_last_is_tried_again(launcher, clock) -> None:
    other = type(launcher)()
    supervisor = supervisor_of(clock, other, launcher)
    other.refusing = "it is not there"
    supervisor.check()
    supervisor.check()
    assert (supervisor.turn, supervisor.trouble, len(launcher.started)) == (1, None, 1)
    fail(supervisor, launcher)
    wait(supervisor, clock, FIRST_PAUSE_S)
    assert (supervisor.turn, supervisor.trouble, len(launcher.started)) == (1, None, 2)


def test_what_is_posted_is_done_in_order_in_one_thread_until_it_is_closed(launcher, clock) -> None:
    supervisor, done = supervisor_of(clock, launcher), []
    for number in range(3):
        supervisor.post(lambda number=number: done.append((number, current_thread().name)))
    supervisor.attend()
    supervisor.close(5.0)
    assert done == [(number, "holdtimer-supervisor") for number in range(3)]
    assert [each.ended for each in launcher.started] == [True]
