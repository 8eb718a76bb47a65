"""Where speech finds room between the sounds."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.sound.announcements import Announcement, Priority
from holdtimer.sound.cues import Cue
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.speech_planner import GAP_S, SOFT, SpeechPlanner, yields

WORDS = {"a": 0.3, "short": 0.6, "sentence": 1.9, "long one": 4.0}
END = 200.0


def length(piece):
    return WORDS.get(piece)


def plan(cues, announcements, now=0.0, begun=(), speed=1.0):
    return SpeechPlanner(length, speed).plan(cues, announcements, now, begun)


def announcement(at, *wordings, priority=Priority.NEXT, within=100.0):
    return Announcement(
        at, priority, tuple((way,) if isinstance(way, str) else way for way in wordings), at + within
    )


def lasts(sound):
    return PATTERNS[sound].length_s


def test_with_no_sound_about_it_is_said_when_it_is_due():
    (spoken,) = plan([], [announcement(3.0, "sentence")]).spoken
    assert (spoken.start, spoken.end) == (3.0, 4.9)


def test_speech_waits_until_a_sound_is_over():
    cue = Cue(3.0, Sound.FAILURE)
    (spoken,) = plan([cue], [announcement(3.0, "sentence")]).spoken
    assert spoken.start == pytest.approx(3.0 + lasts(Sound.FAILURE) + GAP_S)


def test_a_shorter_wording_is_taken_where_the_next_sound_comes_too_soon():
    cue = Cue(4.0, Sound.WINDOW_OVER)
    (spoken,) = plan([cue], [announcement(3.0, "sentence", "short", within=0.5)]).spoken
    assert spoken.pieces == (("short", 3.0),)


def test_what_finds_no_room_in_time_is_left_out():
    cue = Cue(4.0, Sound.WINDOW_OVER)
    assert plan([cue], [announcement(3.0, "sentence", within=0.5)]).spoken == ()


def test_a_wording_the_voice_lacks_is_passed_over():
    (spoken,) = plan([], [announcement(3.0, ("Wall sit", "a"), "short")]).spoken
    assert spoken.pieces == (("short", 3.0),)
    assert plan([], [announcement(3.0, "Wall sit")]).spoken == ()


def test_pieces_follow_each_other_closely():
    (spoken,) = plan([], [announcement(3.0, ("short", "a"))]).spoken
    (_, first), (_, second) = spoken.pieces
    assert 0.6 <= second - first < 0.7
    assert spoken.end == pytest.approx(second + 0.3)


def test_what_is_counted_takes_the_place_of_the_tick_at_its_second():
    ticks = [Cue(float(at), Sound.TICK) for at in (5, 6)]
    counted = announcement(5.0, "a", priority=Priority.COUNTDOWN, within=0.0)
    found = plan(ticks, [counted])
    assert [each.start for each in found.spoken] == [5.0]
    assert found.cues == (Cue(6.0, Sound.TICK),)


def test_a_second_that_can_not_be_counted_keeps_its_tick():
    ticks = [Cue(5.0, Sound.TICK)]
    assert plan(ticks, [announcement(5.0, "five", priority=Priority.COUNTDOWN, within=0.0)]).cues == tuple(
        ticks
    )
    late = announcement(5.0, "a", priority=Priority.COUNTDOWN, within=0.0)
    assert plan(ticks, [late], now=5.01).spoken == ()


def test_no_other_announcement_lies_on_a_tick():
    ticks = [Cue(float(at), Sound.TICK) for at in range(1, 6)]
    found = plan(ticks, [announcement(0.5, "sentence")])
    assert found.cues == tuple(ticks)
    assert found.spoken[0].start > 5


def test_an_announcement_goes_between_the_beats_of_a_rhythm_where_it_can():
    beats = [Cue(1.0, Sound.LIFT), Cue(4.0, Sound.LOWER)]
    found = plan(beats, [announcement(0.9, "sentence", within=3.0)])
    assert found.cues == tuple(beats)
    assert 1.0 < found.spoken[0].start < 2.0


def test_a_rhythm_gives_way_to_what_finds_no_other_room():
    beats = [Cue(float(at), Sound.LIFT) for at in range(10)]
    found = plan(beats, [announcement(0.5, "sentence", within=1.0)])
    assert found.spoken[0].start < 2
    assert len(found.cues) < len(beats)


def test_the_way_out_is_said_at_once_and_marks_give_way_to_it():
    cues = [Cue(3.0, Sound.FAILURE), Cue(4.2, Sound.FINAL_STRETCH), Cue(5.0, Sound.TICK)]
    found = plan(cues, [announcement(3.0, "sentence", priority=Priority.WAY_OUT)])
    assert found.spoken[0].start == pytest.approx(3.0 + lasts(Sound.FAILURE) + GAP_S)
    assert found.cues == (Cue(3.0, Sound.FAILURE),)


def test_the_end_of_a_window_gives_way_to_nothing():
    cues = [Cue(3.0, Sound.FAILURE), Cue(4.2, Sound.WINDOW_OVER)]
    found = plan(cues, [announcement(3.0, "sentence", priority=Priority.WAY_OUT)])
    assert found.cues == tuple(cues)
    assert found.spoken[0].start > 4.2 + lasts(Sound.WINDOW_OVER)


def test_the_way_out_goes_before_the_counting():
    counted = [announcement(float(at), "a", priority=Priority.COUNTDOWN, within=0.0) for at in (4, 5, 6, 7)]
    found = plan(
        [Cue(3.5, Sound.FAILURE)], [*counted, announcement(3.5, "sentence", priority=Priority.WAY_OUT)]
    )
    assert [each.pieces[0][0] for each in found.spoken] == ["sentence", "a"]


def test_what_is_being_said_is_not_talked_over():
    (begun,) = plan([], [announcement(3.0, "long one")]).spoken
    (spoken,) = plan([], [announcement(4.0, "short")], now=4.0, begun=[begun]).spoken
    assert spoken.start >= begun.end


def test_speech_that_a_sound_would_run_into_is_found():
    planner = SpeechPlanner(length)
    (spoken,) = plan([], [announcement(3.0, "long one")]).spoken
    assert planner.runs_into(spoken, [Cue(5.0, Sound.FAILURE)])
    assert not planner.runs_into(spoken, [Cue(5.0, Sound.LIFT), Cue(7.5, Sound.FAILURE)])


def test_in_a_rehearsal_sounds_and_speech_take_up_more_of_the_session():
    (spoken,) = plan([Cue(0.0, Sound.FAILURE)], [announcement(0.0, "sentence")], speed=10.0).spoken
    assert spoken.start == pytest.approx(10 * (lasts(Sound.FAILURE) + GAP_S))
    assert spoken.end - spoken.start == pytest.approx(19)


def test_a_plan_does_not_change_as_time_goes_on():
    cues = [Cue(float(at), Sound.FINAL_STRETCH) for at in (4, 9, 14)]
    wanted = [announcement(1.0, each) for each in ("sentence", "short", "long one", "a")]
    first = plan(cues, wanted)
    begun = [each for each in first.spoken if each.start <= 5.3]
    rest = [each for each in wanted if each not in [spoken.announcement for spoken in begun]]
    again = plan(cues, rest, now=5.3, begun=begun)
    assert (*begun, *again.spoken) == first.spoken


# -- whatever is to be heard -------------------------------------------------------------------------------

times = st.floats(0, END).map(lambda at: round(at, 3))
cue_lists = st.lists(st.builds(Cue, times, st.sampled_from(list(Sound))), max_size=25)
wordings = st.lists(
    st.lists(st.sampled_from([*WORDS, "unknown"]), min_size=1, max_size=3).map(tuple), min_size=1
)
waiting = st.builds(
    lambda at, priority, wordings, within: Announcement(at, priority, tuple(wordings), round(at + within, 4)),
    times,
    st.sampled_from([priority for priority in Priority if priority is not Priority.COUNTDOWN]),
    wordings,
    st.floats(0, 20),
)
counted = st.builds(lambda at: announcement(at, "short", priority=Priority.COUNTDOWN, within=0.0), times)
wanted_lists = st.lists(waiting | counted, max_size=12)


def span(cue, speed):
    return cue.at, cue.at + speed * lasts(cue.sound)


def meet(one, other):
    return one[0] < other[1] - 1e-3 and other[0] < one[1] - 1e-3


@given(cue_lists, wanted_lists, times, st.sampled_from([1.0, 4.0]))
def test_nothing_is_ever_heard_over_anything_said(cues, wanted, now, speed):
    found = plan(cues, wanted, now, speed=speed)
    for spoken in found.spoken:
        assert not [cue for cue in found.cues if meet(span(cue, speed), (spoken.start, spoken.end))]


@given(cue_lists, wanted_lists, times)
def test_no_two_are_said_at_once(cues, wanted, now):
    spoken = plan(cues, wanted, now).spoken
    for one, other in pairwise(spoken):
        assert one.end <= other.start + 1e-3


@given(cue_lists, wanted_lists, times)
def test_what_is_said_begins_in_its_time_and_what_is_counted_on_its_second(cues, wanted, now):
    for spoken in plan(cues, wanted, now).spoken:
        assert max(spoken.announcement.at, now) - 1e-3 <= spoken.start <= spoken.announcement.until + 1e-3
        if spoken.announcement.priority is Priority.COUNTDOWN:
            assert spoken.start == pytest.approx(spoken.announcement.at, abs=1e-3)


@given(cue_lists, wanted_lists, times)
def test_each_kind_is_said_in_the_order_it_is_due(cues, wanted, now):
    spoken = plan(cues, wanted, now).spoken
    for priority in Priority:
        of_it = [each for each in spoken if each.announcement.priority is priority]
        assert [each.announcement.at for each in of_it] == sorted(each.announcement.at for each in of_it)


@given(cue_lists, wanted_lists, times)
def test_only_sounds_that_give_way_are_left_out(cues, wanted, now):
    found = plan(cues, wanted, now)
    for cue in set(cues) - set(found.cues):
        assert any(yields(cue.sound, each.announcement.priority) for each in found.spoken)
        assert cue.sound in SOFT | {Sound.TICK, Sound.BAND, Sound.FINAL_STRETCH, Sound.LAST_TEN}
