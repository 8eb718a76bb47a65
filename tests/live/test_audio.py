"""What the player is given, and when: checked on the player that remembers."""

from pathlib import Path

import pytest

from holdtimer.live.audio import AudioScheduler, Speech
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import AT_ONCE
from tests.invented.recording import RecordingPlayer


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
    late = AudioScheduler(player, faked.start)
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


def test_keys_lost_is_said_until_they_are_back(faked):
    faked.window()
    faked.driver.focus(False, faked.clock.time)
    assert [sound for _, sound in faked.due()].count(Sound.KEYS_LOST) >= 2
    faked.driver.focus(True, faked.clock.time + 0.1)
    assert Sound.KEYS_LOST not in [sound for _, sound in faked.due()]


# -- speech ------------------------------------------------------------------------------------------------


class Ready:
    """A voice that has every piece ready, each as long as it has letters; but for those in `lacking`."""

    def __init__(self, lacking=()):
        self.lacking = set(lacking)
        self.changes = 0
        self.in_trouble = None

    def want(self, pieces):
        pass

    def length(self, piece):
        return None if piece in self.lacking else 0.06 * len(piece)

    def path(self, piece):
        return Path(piece)

    def trouble(self):
        return self.in_trouble

    def close(self):
        pass


class HasNothing(Ready):
    def length(self, piece):
        return None


@pytest.fixture
def voice():
    return Ready()


@pytest.fixture
def spoken(faked_at, voice):
    return faked_at(speech=Speech(voice, {("wall-sit", "both"): 7.0}))


def said(faked, since=0.0):
    """What was, or is still to be, said from a time of the session on, in order."""
    start = faked.start + since
    known = [(max(at, faked.start), str(path)) for path, at in faked.player.saying]
    return [piece for at, piece in sorted(known) if at >= start]


def said_at(faked, piece):
    return [round(at - faked.start, 2) for path, at in faked.player.saying if str(path) == piece]


def test_the_first_set_is_said_with_last_times_seconds(spoken):
    words = said(spoken.begin())
    assert words[:2] == ["next", "Wall sit"]
    assert words[-4:] == ["last time", "seven", "seconds", "tap when ready"]


def test_counted_words_are_handed_over_for_their_second_and_take_the_place_of_ticks(spoken):
    spoken.window()
    assert [said_at(spoken, word) for word in ("three", "two", "one")] == [[12.0], [13.0], [14.0]]
    ticks = {at for at, sound in spoken.due() if sound is Sound.TICK}
    assert not ticks & {12.0, 13.0, 14.0}


def test_a_stamp_breaks_off_what_is_being_said_and_the_way_out_comes_first(spoken):
    spoken.window().go(6.7)
    assert said_at(spoken, "tap when you fail") == [6.2]
    before = spoken.player.hushed
    spoken.press()
    assert spoken.player.hushed == before + 1
    assert asked(spoken, Sound.FAILURE) == ["at once"]
    assert said(spoken, since=6.7)[0] == "Hands on the chair, stand up."


def test_what_began_before_a_slip_was_noticed_to_be_taken_back_is_broken_off(spoken):
    spoken.window().go(7).press()
    begins = said_at(spoken, "Hands on the chair, stand up.")[0]
    spoken.go(begins - 0.45).press("backspace")
    spoken.go(begins - 0.05).press("backspace")
    before = spoken.player.hushed
    spoken.go(begins + 0.3)
    (back,) = spoken.of("taken-back")
    assert back.t < begins
    assert asked(spoken, Sound.TAKEN_BACK) == ["at once"]
    assert spoken.player.hushed == before + 1
    assert said(spoken, since=begins + 0.3)[0] == "taken back"


def test_nothing_is_said_twice_however_often_the_state_changes(spoken):
    spoken.begin().go(2.5)
    for _ in range(3):
        spoken.driver.focus(False, spoken.clock.time)
        spoken.driver.focus(True, spoken.clock.time)
        spoken.go(spoken.t + 0.3)
    spoken.go(12)
    assert said(spoken).count("Wall sit") == 1
    assert said(spoken).count("You need: a clear wall.") == 1


def test_what_was_cut_short_is_said_again_while_it_holds(spoken):
    spoken.begin()
    spoken.go(said_at(spoken, "You need: a clear wall.")[0] + 0.3).press("o")
    assert spoken.player.hushed == 1
    words = said(spoken, since=spoken.t)
    assert words.index("an off day") < words.index("You need: a clear wall.")
    assert "half way" not in words  # which was said to its end


def test_a_piece_that_becomes_ready_late_is_still_said(spoken, voice):
    voice.lacking = {"Hands on the chair, stand up.", "way out"}
    spoken.window().go(8).press().go(8.2)
    assert "Hands on the chair, stand up." not in said(spoken)
    voice.lacking, voice.changes = set(), 1
    spoken.go(8.3)
    assert "Hands on the chair, stand up." in said(spoken, since=8)


def test_a_sound_that_gave_way_to_speech_is_not_caught_up_after_it(spoken):
    spoken.window().go(10.3).press().go(20)
    heard = [sound for sound, at in spoken.player.scheduled if 10.4 < at - spoken.start < 12]
    assert Sound.FINAL_STRETCH not in heard
    assert said_at(spoken, "Hands on the chair, stand up.")[0] < 11.1


def test_a_voice_that_has_nothing_changes_no_sound(faked_at, faked):
    mute = faked_at(speech=Speech(HasNothing()))
    for each in (mute, faked):
        each.window().go(7).press().go(9.5).press().go(20)
    assert mute.player.said == []
    assert mute.player.asked == faked.player.asked


def test_trouble_with_the_voice_is_said_by_the_driver(spoken, voice):
    voice.in_trouble = "voice: no voice works here, so nothing is spoken"
    assert spoken.driver.voice_trouble() == "voice: no voice works here, so nothing is spoken"


def test_leaving_withdraws_what_was_still_to_be_said(spoken):
    spoken.begin()
    spoken.driver.leave("quit")
    assert said(spoken, since=spoken.t + 0.01) == []
