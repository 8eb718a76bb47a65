from itertools import groupby

import pytest

from holdtimer.live.driver import MOST_AT_ONCE, WRITE_WAIT_S, run_session
from holdtimer.live.keys import Key
from holdtimer.live.terminal import Leave
from holdtimer.session import events as ev
from holdtimer.session import menu
from holdtimer.sound.patterns import Sound


def test_a_stamp_is_written_before_it_is_heard_before_it_is_seen(faked):
    faked.window()
    faked.order.clear()
    faked.press()
    kinds = [kind for kind, _ in groupby(faked.order, key=lambda each: each[0])]
    assert kinds == ["written", "heard", "seen"]
    assert ("written", "failure") in faked.order
    assert ("heard", "failure") in faked.order


def test_the_first_events_are_the_opening_and_its_anchor(faked):
    faked.begin()
    opened, anchor = faked.log.events
    assert (opened.ev, opened.n, opened.t, opened.speed) == ("opened", 0, 0, 1)
    assert (anchor.ev, anchor.why, anchor.t) == ("anchor", "opening", 0)
    assert opened.mono_ns == anchor.mono_ns == faked.start * 1e9


def test_a_stamp_has_the_time_its_key_reached_the_program(faked):
    faked.window().go(7)
    faked.press(at=6.4567)
    (failure,) = faked.of("failure")
    assert failure.t == pytest.approx(6.4567, abs=1e-4)
    assert failure.at == pytest.approx(1.4567, abs=1e-4)
    assert failure.late_ms == pytest.approx(543.3, abs=0.1)


def test_a_boundary_comes_at_once_when_all_keys_before_it_were_read(faked):
    faked.begin().go(2).press()
    faked.go(4.99)
    assert faked.driver.until_boundary() == pytest.approx(0.01)
    faked.clock.time = faked.start + 5.001
    faked.driver.tick()
    assert faked.of("window-open") == []
    faked.driver.tick(read_until=faked.clock.time)
    assert [event.t for event in faked.of("window-open")] == [5]


def test_how_long_it_is_until_a_boundary_is_told_in_real_seconds(faked_at):
    faked = faked_at(speed=10.0).begin().go(2).press()
    faked.go(4)
    assert faked.driver.until_boundary() == pytest.approx(0.1)
    faked.driver.leave("quit")
    assert faked.driver.until_boundary() == float("inf")


def test_each_write_is_waited_for_a_tenth_of_a_second_at_most(faked):
    faked.window().press()
    assert set(faked.log.waits) == {WRITE_WAIT_S}


def test_a_disk_that_hangs_is_waited_for_once_and_said_at_once(faked):
    faked.window()
    faked.log.hangs = True
    faked.log.waits.clear()
    faked.press()
    assert faked.driver.is_noted_only
    assert faked.log.waits == [WRITE_WAIT_S]
    faked.go(9).press()
    assert faked.log.waits == [WRITE_WAIT_S]
    assert ("seen", "re-entry") in faked.order
    faked.log.recover()
    assert not faked.driver.is_noted_only
    assert faked.driver.is_saved


def test_written_is_not_yet_saved(faked):
    faked.begin()
    faked.log.saved -= 1
    assert not faked.driver.is_noted_only
    assert not faked.driver.is_saved


def test_trouble_with_the_log_is_one_event_and_its_end_another(faked):
    faked.window()
    faked.log.in_trouble = "the disk is full"
    faked.go(6)
    faked.log.in_trouble = None
    faked.go(7)
    assert [event.why for event in faked.of("log-trouble")] == ["the disk is full", None]


def test_a_failing_disk_is_not_waited_for(faked):
    faked.window()
    faked.log.in_trouble = "the disk is full"
    faked.go(6)
    faked.log.waits.clear()
    faked.press()
    assert faked.log.waits == []


def test_trouble_with_the_sound_is_one_event_and_its_end_another(faked):
    faked.window()
    faked.player.in_trouble = "the device is gone"
    faked.go(6)
    faked.player.in_trouble = None
    faked.go(7)
    assert [event.why for event in faked.of("silent")] == ["the device is gone", None]


def test_a_session_finishes_by_itself_with_an_anchor_before_its_close(faked):
    faked.window().press().go(30)
    assert faked.driver.is_closed
    assert faked.driver.is_done
    anchor, closed = faked.log.events[-2:]
    assert (anchor.why, closed.reason) == ("closing", "finished")
    count = len(faked.log.events)
    faked.go(40).press()
    faked.driver.close("stopped")
    faked.driver.leave("quit")
    assert len(faked.log.events) == count


def test_after_a_quarter_of_an_hour_without_a_tap_it_leaves(faked_twice):
    faked_twice.window().press().go(900, every=1.0)
    assert not faked_twice.driver.is_done
    faked_twice.go(920, every=1.0)
    assert faked_twice.log.events[-1].reason == "silence"
    assert faked_twice.driver.is_done


def test_a_stopped_session_is_closed_at_once(faked):
    faked.window().press("escape").go(6).press("enter").go(6.2)
    assert faked.names[-3:] == ["stopped", "anchor", "closed"]
    assert faked.of("closed")[0].reason == "stopped"


def test_a_session_that_ends_while_it_asks_again_whether_something_feels_wrong_is_stopped_and_closed(faked):
    faked.begin()
    faked.engine._more.menu = menu.opened(faked.engine.session, faked.engine.timeline, 2.0).asking_again(2.0)
    faked.driver.leave("terminated")
    assert [event.ev for event in faked.log.events][-3:] == ["stopped", "anchor", "closed"]
    assert (faked.driver.is_closed, faked.driver.asked_to_leave) == (True, "terminated")


def test_a_session_that_was_left_takes_nothing_more(faked):
    faked.window()
    faked.driver.leave("terminated")
    assert faked.log.events[-1].reason == "terminated"
    assert faked.driver.is_done
    assert not faked.driver.is_closed
    count = len(faked.log.events)
    faked.go(9).press()
    faked.driver.leave("quit")
    assert len(faked.log.events) == count
    assert faked.due() == []


def test_keys_typed_before_the_session_are_thrown_away(faked):
    faked.begin().go(1)
    for key in ("o", "plus", "space", "escape"):
        faked.press(key, at=-0.2)
    assert faked.names == ["opened", "anchor"]
    assert faked.engine.menu is None


def test_keys_typed_before_a_resumption_are_thrown_away(faked, faked_at):
    faked.window()
    again = faked_at(past=faked.log.events)
    again.driver.resume(8.0)
    again.driver.key("o", again.clock.time - 0.1)
    assert "off-day" not in again.names


# -- going on with a session ------------------------------------------------------------------------------


def test_going_on_is_anchored_and_ends_the_open_window(faked, faked_at):
    faked.window().press()
    again = faked_at(past=faked.log.events)
    again.driver.resume(60.0)
    assert again.names == ["anchor", "resumed", "interrupted"]
    assert again.log.events[0].why == "resume"
    assert {event.t for event in again.log.events} == {60}
    assert again.of("interrupted")[0].at == pytest.approx(0.5, abs=0.01)
    assert again.driver.now() == 60


def test_closing_later_ends_a_session_when_it_was_left(faked, faked_at):
    faked.window().press()
    faked.driver.leave("quit")
    again = faked_at(past=faked.log.events)
    again.driver.close_later()
    assert again.of("closed")[0].reason == "closed-later"
    assert again.of("closed")[0].t == faked.log.events[-1].t


# -- focus ------------------------------------------------------------------------------------------------


def test_lost_focus_is_noted_when_it_was_lost(faked):
    faked.window().go(8)
    faked.driver.focus(False, faked.start + 7.5)
    faked.driver.focus(False, faked.start + 7.9)
    faked.driver.focus(True, faked.start + 8)
    assert [(event.has, event.t) for event in faked.of("focus")] == [(False, 7.5), (True, 8)]


# -- standstills ------------------------------------------------------------------------------------------


def _after_the_gap(faked):
    names = faked.names
    return names[names.index("gap") :]


def _awake_by(faked, what):
    """Let the program notice that it is running again by the first thing that comes to it."""
    if what == "tick":
        faked.driver.tick()
    elif what == "key":
        faked.press()
    elif what == "focus":
        faked.driver.focus(False, faked.clock.time)
    else:
        faked.driver.leave("terminated")


@pytest.mark.parametrize("what", ["tick", "key", "focus", "leave"])
def test_a_program_that_stood_still_interrupts_the_set_and_catches_nothing_up(faked_twice, what):
    faked_twice.window()
    faked_twice.player.asked.clear()
    faked_twice.clock.time += 20  # stopped for longer than the window lasts
    _awake_by(faked_twice, what)
    assert _after_the_gap(faked_twice)[:4] == ["gap", "interrupted", "rest", "anchor"]
    (gap,), (broken,) = faked_twice.of("gap"), faked_twice.of("interrupted")
    assert gap.seconds == pytest.approx(20, abs=0.1)
    assert broken.at == pytest.approx(0.5, abs=0.06)
    assert not {"band", "final-stretch", "window-closed", "failure"} & set(faked_twice.names)
    assert not {Sound.BAND, Sound.FINAL_STRETCH, Sound.WINDOW_OVER, Sound.FAILURE} & {
        sound for sound, _ in faked_twice.player.asked
    }
    assert faked_twice.due() == []


@pytest.mark.parametrize("what", ["tick", "key"])
def test_a_machine_that_slept_is_noticed_by_the_clock_that_goes_on(faked_twice, what):
    faked_twice.window()
    faked_twice.clock.time += 0.05
    faked_twice.machine.slept += 3600
    _awake_by(faked_twice, what)
    assert _after_the_gap(faked_twice)[:4] == ["gap", "interrupted", "rest", "anchor"]
    assert faked_twice.of("gap")[0].seconds == pytest.approx(3600, abs=0.1)
    assert faked_twice.of("failure") == []
    assert faked_twice.of("anchor")[-1].why == "gap"


def test_keys_read_just_after_a_gap_are_dropped(faked_twice):
    faked_twice.window()
    faked_twice.clock.time += 5
    faked_twice.driver.tick()
    faked_twice.press().go(faked_twice.t + 3)
    assert [event.reason for event in faked_twice.of("dropped")] == ["gap"]
    assert "ready" not in _after_the_gap(faked_twice)


def test_a_slow_screen_is_no_standstill(faked_twice):
    faked_twice.window()
    for _ in range(12):  # the heart beats on while nothing ticks for 3 s
        faked_twice.clock.time += 0.25
        faked_twice.heartbeat.beat()
    faked_twice.driver.tick()
    assert "gap" not in faked_twice.names
    assert "interrupted" not in faked_twice.names


def test_after_a_gap_a_tap_goes_on(faked_twice):
    faked_twice.window()
    faked_twice.clock.time += 5
    faked_twice.driver.tick()
    faked_twice.go(faked_twice.t + 2).press().go(faked_twice.t + 4)
    assert _after_the_gap(faked_twice)[-3:] == ["ready", "count-in", "window-open"]


# -- sound ------------------------------------------------------------------------------------------------


def test_cues_are_handed_over_ahead_of_time(faked):
    faked.window()
    assert faked.due()[0] == (10.0, Sound.BAND)
    assert faked.due()[-1] == (15.0, Sound.WINDOW_OVER)


def test_a_rehearsal_hands_over_times_of_its_own_faster_clock(faked_at):
    faked = faked_at(speed=4.0)
    faked.window()
    assert faked.log.events[0].speed == 4
    assert (15.0, Sound.WINDOW_OVER) in faked.due()
    assert faked.log.events[0].mono_ns == pytest.approx(faked.start / 4 * 1e9)


def test_each_event_is_told_to_all_who_listen(faked):
    heard = []
    faked.driver.listen(heard.extend)
    faked.window()
    assert heard == faked.log.events
    assert isinstance(heard[0], ev.Opened)


class AtOnce:
    """Keys of which all come in one reading."""

    def __init__(self, *given):
        self._given = list(given)

    def take(self, wait_s):
        return self._given

    def read_until(self):
        return None


def test_of_a_page_pasted_at_once_no_more_is_judged_than_a_hand_presses_and_leaving_is_heard(faked):
    faked.window()
    pasted = [Key("y", faked.clock.time)] * 5000
    run_session(faked.driver, AtOnce(*pasted, Leave("quit")), lambda: None, lambda came: None)
    assert faked.names.count("failure") == 1
    (dropped,) = faked.of("dropped")
    assert dropped.count == MOST_AT_ONCE - 1
    assert faked.of("left")[-1].reason == "quit"
