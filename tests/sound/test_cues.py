from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.program.timeline import Easy
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.sound.cues import Cue, acknowledgements, cues, merged
from holdtimer.sound.patterns import Sound
from tests.invented.timelines import WALL_SIT, timeline_of

HOLD = replace(WALL_SIT, final_s=20, push_s=0)
REPS = replace(HOLD, exercise="heel-raise", kind="reps", tempo=(3.0, 1.0, 2.0, 0.0))
OPENS = 12.0  # a tap at 2 s, a count-in of 10 s


class Heard:
    """A session as it is heard: its cues at any moment, with the answers to the latest taps."""

    def __init__(self, *parts):
        self.engine = Engine(timeline_of(*(parts or (HOLD,))))
        self.engine.record(ev.Opened, 0.0, session="s", person="Ada", program="hall", script="A")
        self.answers = []

    def at(self, t, *keys):
        """Let time go to `t` and press keys there; the cues as (seconds, sound)."""
        new = self.engine.tick(t)
        for key in keys:
            new += self.engine.press(key, t)
        self.answers = acknowledgements(new)
        return self

    def window(self, *taps):
        """Open the first window and tap at these seconds of it."""
        self.at(2, "space").at(OPENS + 0.3)
        for tap in taps:
            self.at(OPENS + tap, "space")
        return self

    def cues(self, since=0.0):
        found = cues(self.engine.session, self.engine.part(), self.answers)
        return [(round(cue.at - since, 4), cue.sound) for cue in found]

    def times(self, sound, since=OPENS):
        return [at for at, each in self.cues(since) if each is sound]


def test_ready_plays_two_low_notes_and_only_they():
    assert Heard().cues() == [(0.4, Sound.TESTED)]


def test_a_tap_at_ready_is_answered_and_the_window_is_counted_in():
    assert Heard().at(2, "space").cues() == [
        (2, Sound.READY),
        (9, Sound.COUNT_IN),
        (10, Sound.COUNT_IN),
        (11, Sound.COUNT_IN),
        (12, Sound.WINDOW_OPEN),
    ]


def test_a_count_in_of_three_seconds_counts_twice_after_the_tap_that_began_it():
    heard = Heard(replace(HOLD, count_in_s=3)).at(2, "space")
    assert heard.cues() == [
        (2, Sound.READY),
        (3, Sound.COUNT_IN),
        (4, Sound.COUNT_IN),
        (5, Sound.WINDOW_OPEN),
    ]


def test_not_ready_stops_the_count_in():
    assert Heard().at(2, "space").at(6, "space").cues() == [(6, Sound.NOT_READY)]


def test_all_cues_of_a_window_are_known_when_it_opens():
    assert Heard().window().cues(OPENS) == [
        (0, Sound.WINDOW_OPEN),
        (20, Sound.BREATHE),
        (40, Sound.BREATHE),
        (60, Sound.BAND),
        (61.2, Sound.BREATHE),
        (70, Sound.FINAL_STRETCH),
        (80, Sound.LAST_TEN),
        (85, Sound.TICK),
        (86, Sound.TICK),
        (87, Sound.TICK),
        (88, Sound.TICK),
        (89, Sound.TICK),
        (90, Sound.WINDOW_OVER),
    ]


def test_the_band_is_heard_where_the_final_stretch_begins_with_it():
    heard = Heard(replace(HOLD, final_s=30)).window()
    assert heard.times(Sound.BAND) == [60]
    assert heard.times(Sound.FINAL_STRETCH) == []


def test_a_short_window_has_no_ten_seconds_left():
    heard = Heard(replace(HOLD, window_s=10, band_s=(5, 9), final_s=4)).window()
    assert heard.times(Sound.LAST_TEN) == []
    assert heard.times(Sound.WINDOW_OVER) == [10]


def test_a_final_stretch_covers_a_breath_at_the_same_time():
    heard = Heard(replace(HOLD, window_s=60, band_s=(30, 60), final_s=20)).window()
    assert heard.times(Sound.FINAL_STRETCH) == [40]
    assert heard.times(Sound.BREATHE) == [20, 31.2]


@pytest.mark.parametrize(("tap", "is_heard"), [(58.9, True), (59.0, True), (59.1, False), (59.9, False)])
def test_a_failure_heard_covers_the_band_within_a_second(tap, is_heard):
    heard = Heard().window(tap)
    assert heard.times(Sound.FAILURE) == [tap]
    assert (heard.times(Sound.BAND) == [60]) is is_heard


def test_a_re_entry_heard_covers_the_final_stretch():
    heard = Heard().window(50, 69.5)
    assert heard.times(Sound.RE_ENTRY) == [69.5]
    assert heard.times(Sound.FINAL_STRETCH) == []


def test_the_end_of_the_window_covers_a_failure_just_before_it():
    heard = Heard().window(89.4)
    assert heard.times(Sound.FAILURE) == []
    assert heard.times(Sound.WINDOW_OVER) == [90]


def test_the_end_of_the_window_comes_before_its_last_second():
    heard = Heard(replace(HOLD, reentry=False)).window(20.0)
    assert heard.times(Sound.WINDOW_OVER) == [23]
    assert heard.times(Sound.TICK) == heard.times(Sound.BAND) == []


def test_nobody_is_asked_to_breathe_out_of_work():
    heard = Heard().window(15)
    assert heard.times(Sound.BREATHE) == []
    assert heard.at(OPENS + 30, "space").times(Sound.BREATHE) == [20, 40, 61.2]


def test_repetitions_are_not_told_to_breathe():
    assert Heard(REPS).window().times(Sound.BREATHE) == []


def test_repetitions_have_a_rhythm_by_their_tempo():
    heard = Heard(REPS).window()
    assert heard.times(Sound.LIFT)[:3] == [4, 10, 16]
    assert heard.times(Sound.LOWER)[:3] == [6, 12, 18]


def test_a_pause_of_a_second_or_more_has_a_sound_of_its_own():
    heard = Heard(replace(REPS, tempo=(3.0, 1.0, 2.0, 0.5))).window()
    assert heard.times(Sound.PAUSE)[:2] == [3, 9.5]
    assert heard.times(Sound.LIFT)[:2] == [4, 10.5]


def test_a_rhythm_stops_at_failure_and_begins_anew_with_the_re_entry():
    heard = Heard(REPS).window(20.5)
    assert heard.times(Sound.LIFT) == heard.times(Sound.LOWER) == []
    heard.at(OPENS + 31.5, "space")
    assert heard.times(Sound.LIFT)[:2] == [35.5, 41.5]
    assert heard.times(Sound.LOWER)[:2] == [37.5, 43.5]


def test_a_rhythm_gives_way_to_every_other_cue():
    heard = Heard(REPS).window()
    rhythm = heard.times(Sound.LIFT) + heard.times(Sound.LOWER)
    others = [at for at, sound in heard.cues(OPENS) if sound not in (Sound.LIFT, Sound.LOWER, Sound.PAUSE)]
    assert min(abs(a - b) for a in rhythm for b in others if b > 0) >= 1
    assert 60 not in rhythm


def test_no_tempo_no_rhythm():
    assert Heard(replace(REPS, tempo=None)).window().times(Sound.LIFT) == []
    assert Heard(replace(REPS, tempo=(0.0, 0.0, 0.0, 0.0))).window().times(Sound.LIFT) == []


def test_taking_back_is_answered():
    heard = Heard().window(30)
    heard.at(OPENS + 31, "backspace").at(OPENS + 32, "backspace").at(OPENS + 32.5)
    assert heard.times(Sound.TAKEN_BACK) == [32]


def test_a_late_tap_is_answered_like_a_failure():
    heard = Heard().window().at(OPENS + 90.6, "space")
    assert heard.times(Sound.FAILURE) == [90.6]


def test_a_silent_window_is_asked_about_three_times():
    heard = Heard(HOLD, HOLD).window().at(OPENS + 91)
    assert heard.times(Sound.ASKS) == [92, 107, 152]
    assert heard.at(OPENS + 95, "space").times(Sound.ASKS) == []
    assert (95, Sound.READY) in heard.cues(OPENS)


def test_the_end_of_a_rest_is_heard_where_a_tap_is_waited_for():
    heard = Heard(HOLD, HOLD).window(80).at(OPENS + 91)
    assert heard.cues(OPENS) == [(180, Sound.REST_OVER)]
    assert heard.at(OPENS + 100, "space").cues(OPENS) == [(100, Sound.READY)]


def test_the_end_of_a_rest_that_goes_on_by_itself_is_counted_in_instead():
    auto = replace(HOLD, advance="auto")
    assert Heard(auto, auto).window(80).at(OPENS + 91).cues(OPENS) == []


def test_easy_movement_ends_with_a_cue():
    heard = Heard(Easy(0, "March", 60)).at(2, "space").at(2.5)
    assert heard.cues() == [(62, Sound.REST_OVER)]


def test_lost_keys_are_told_again_and_again_until_they_are_back():
    heard = Heard().window()
    heard.engine.focus(False, OPENS + 10)
    lost = heard.times(Sound.KEYS_LOST)
    assert {b - a for a, b in pairwise(lost)} == {4}
    heard.engine.focus(True, OPENS + 20)
    assert heard.times(Sound.KEYS_LOST) == []


@pytest.mark.parametrize("end", ["leave", "stop", "close"])
def test_nothing_more_is_due_once_a_session_ended(end):
    heard = Heard().window()
    if end == "leave":
        heard.engine.leave("quit", OPENS + 10)
    elif end == "close":
        heard.engine.close(OPENS + 10, "stopped")
    else:
        heard.at(OPENS + 10, "escape").at(OPENS + 11, "enter")
    assert heard.cues() == []


def test_a_closed_session_is_heard_to_be_over():
    heard = Heard()
    assert acknowledgements(heard.engine.close(5, "stopped")) == [Cue(5, Sound.SESSION_OVER)]


RANKED = [
    {Sound.WINDOW_OVER},
    {Sound.FAILURE, Sound.RE_ENTRY},
    {Sound.BAND},
    {Sound.FINAL_STRETCH},
    {Sound.LAST_TEN, Sound.TICK},
]


@pytest.mark.parametrize(("higher", "lower"), [(a, b) for i, a in enumerate(RANKED) for b in RANKED[i + 1 :]])
def test_of_two_cues_within_a_second_the_higher_is_heard(higher, lower):
    for one in higher:
        for other in lower:
            for apart in (-0.9, 0.0, 0.9):
                assert merged([Cue(10, one), Cue(10 + apart, other)]) == [Cue(10, one)]
            assert len(merged([Cue(10, one), Cue(11, other)])) == 2


def test_what_confirms_a_choice_is_never_covered():
    for sound in (Sound.READY, Sound.NOT_READY, Sound.TAKEN_BACK, Sound.WINDOW_OPEN, Sound.KEYS_LOST):
        assert Cue(10, sound) in merged([Cue(10, sound), Cue(10.2, Sound.WINDOW_OVER)])


cue = st.builds(Cue, st.integers(0, 100).map(lambda tenth: tenth / 10), st.sampled_from(list(Sound)))


@given(st.lists(cue, max_size=20))
def test_merging_keeps_the_highest_makes_nothing_up_and_is_in_order(wanted):
    found = merged(wanted)
    assert found == sorted(found)
    assert set(found) <= set(wanted)
    assert set(wanted) & {c for c in wanted if c.sound is Sound.WINDOW_OVER} <= set(found)
    assert merged(found) == found
