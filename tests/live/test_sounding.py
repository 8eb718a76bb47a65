"""What the player is given, and when: checked on the player that remembers."""

import pytest

from holdtimer.live.sounding import Sounding
from holdtimer.sound.names import Sound
from holdtimer.sound.player import AT_ONCE
from holdtimer.sound.recording import RecordingPlayer


def asked(faked, sound):
    """Return when a sound was to be heard each time it was asked for (s): "at once" where that is now."""
    found = [at for each, at in faked.player.asked if each is sound]
    return ["at once" if at <= faked.clock.time + 0.001 else round(at - faked.start, 3) for at in found]


def coming(faked):
    return [each for each in faked.due() if each[0] > faked.t + 0.001]


def test_every_cue_is_handed_over_before_it_is_due_and_only_once(faked):
    faked.window().go(14.9)
    found = [(round(at - faked.start, 3), sound) for sound, at in faked.player.asked]
    once = (Sound.WINDOW_OPEN, Sound.BAND, Sound.FINAL_STRETCH, Sound.WINDOW_OVER)
    assert [each for each in found if each[1] in once] == [
        (5.0, Sound.WINDOW_OPEN),
        (10.0, Sound.BAND),
        (11.0, Sound.FINAL_STRETCH),
        (15.0, Sound.WINDOW_OVER),
    ]


def test_what_answers_a_tap_is_heard_at_once(faked):
    faked.window().press()
    assert asked(faked, Sound.FAILURE) == ["at once"]


def test_a_cue_that_no_longer_holds_is_withdrawn(faked):
    faked.window().go(9.5)
    assert (10.0, Sound.BAND) in faked.due()
    faked.press()
    assert Sound.BAND not in [sound for _, sound in faked.due()]
    faked.go(14.9)
    assert Sound.BAND not in [sound for sound, _ in faked.player.scheduled]


def test_a_failure_withdraws_no_cue_that_still_holds(faked):
    faked.window().go(7).press()
    assert [sound for _, sound in faked.due()].count(Sound.WINDOW_OVER) == 1
    assert (10.0, Sound.BAND) in faked.due()


def test_not_ready_withdraws_the_window(faked):
    faked.begin().go(2).press()
    assert (5.0, Sound.WINDOW_OPEN) in faked.due()
    faked.go(4.2).press()
    assert coming(faked) == []


def test_a_late_tap_is_answered(faked):
    faked.window().go(15.6).press()
    assert asked(faked, Sound.FAILURE) == ["at once"]


def test_none_is_handed_over_for_the_past(faked, monkeypatch):
    given = faked.player.schedule

    def schedule(sound, at):
        assert at == AT_ONCE or at > faked.clock.time, sound
        given(sound, at)

    monkeypatch.setattr(faked.player, "schedule", schedule)
    faked.window().press().go(9).press().go(15.5).press().go(18)
    assert len(faked.player.asked) > 10


def test_a_cue_whose_time_passed_unnoticed_is_not_caught_up(faked):
    player = RecordingPlayer()
    faked.window()
    late = Sounding(player, faked.start)
    late.update(faked.engine.session, faked.engine.part(), [], now=11.5)
    sounds = [sound for sound, _ in player.asked]
    assert Sound.BAND not in sounds
    assert Sound.WINDOW_OPEN not in sounds
    assert Sound.WINDOW_OVER in sounds


@pytest.mark.parametrize("speed", [1.0, 10.0])
def test_due_times_are_of_the_sessions_own_clock(faked_at, speed):
    faked = faked_at(speed=speed)
    faked.window()
    assert (15.0, Sound.WINDOW_OVER) in faked.due()


def test_leaving_withdraws_everything(faked):
    faked.window()
    faked.driver.leave("quit")
    assert faked.due() == []


def test_keys_lost_is_told_until_they_are_back(faked):
    faked.window()
    faked.driver.focus(False, faked.clock.time)
    assert [sound for _, sound in faked.due()].count(Sound.KEYS_LOST) >= 2
    faked.driver.focus(True, faked.clock.time + 0.1)
    assert Sound.KEYS_LOST not in [sound for _, sound in faked.due()]
