"""What is seen at each moment of a session, as plain data."""

import pytest

from holdtimer.screens.view import view
from holdtimer.session.events import Opened

LAST = {("wall-sit", "both"): 65.0, ("heel-raise", "right"): 58.0}


@pytest.fixture
def stage(demo):
    """A session brought to a moment by the name of its demo, with no screen."""

    def bring(name):
        stage = demo(f"session.{name}")
        stage.driver.begin({"session": "20260304T170000Z-00000000", "person": "Edda", "program": "demo"})
        stage.play(stage)
        return stage

    return bring


@pytest.fixture
def seen(stage):
    """What is seen at a moment, `later` seconds on."""

    def look(name, later=0.0, **told):
        at = stage(name)
        at.wait(later)
        return view(at.driver.engine, at.driver.now(), LAST, **told)

    return look


def texts(shown, label=None):
    return [line.text for line in shown.lines if label is None or line.label == label]


def test_ready_names_all_that_the_whole_session_needs(seen):
    (needed,) = texts(seen("ready"), "Needed")
    for need in ("the kitchen counter", "a steady chair", "a clear wall", "soft ankle weights"):
        assert need in needed
    assert needed.endswith("water, something cool, a phone within reach")


def test_ready_tells_the_first_set_the_sound_test_the_off_day_and_the_keys(seen):
    shown = seen("ready")
    assert "Sit to stand: two hands" in texts(shown, "First set")[0]
    assert "two low notes" in texts(shown, "Sound")[0]
    assert texts(shown, "Off day")[0].startswith("no (press o")
    assert "Esc menu" in texts(shown, "Keys")[0]


@pytest.mark.parametrize(
    ("player", "heard"), [("off", "Off"), ("bell", "bell"), ("simpleaudio", "two low notes")]
)
def test_ready_speaks_of_what_can_be_heard_and_always_of_the_test_of_the_key(seen, player, heard):
    (sound,) = texts(seen("ready", player=player), "Sound")
    assert heard in sound
    assert ("two low notes" in sound) is (player == "simpleaudio")
    assert "tests your key" in sound


def test_an_off_day_is_told_before_the_session(stage):
    at = stage("ready")
    at.tap("o")
    shown = view(at.driver.engine, at.driver.now(), LAST)
    assert "off day" in shown.heading
    assert texts(shown, "Off day")[0].startswith("yes")


def test_in_work_there_is_no_headline_to_shrink_the_digits(seen):
    for name in ("working", "final_stretch", "back_in"):
        assert seen(name).headline == ""


def test_in_work_at_most_the_failure_and_one_line_of_form_are_told(seen):
    shown = seen("working")
    assert [line.label for line in shown.lines] == ["Failure", "Form"]


def test_each_line_of_the_form_has_its_turn(seen):
    told = {texts(seen("working", later), "Form")[0] for later in (0, 10, 25)}
    assert len(told) == 3


def test_the_side_stands_where_the_side_is(seen):
    left, right = seen("working_left"), seen("count_in")
    assert (left.beside, left.beside_at) == (("left",), "left")
    assert ("right" in right.beside, right.beside_at) == (True, "right")


def test_after_a_failure_the_way_out_is_the_headline_and_pushing_stands_beside(seen):
    shown = seen("failed")
    assert shown.headline == "Hands on the chair seat, stand up."
    assert shown.beside == ("keep pushing", "for 3 s")


def test_after_the_pushing_it_says_ease_off_and_breathe(seen):
    assert seen("failed", 2.2).beside == ("keep pushing", "for 3 s")
    assert seen("failed", 2.6).beside == ("ease off", "breathe")


def test_the_way_out_stands_eight_seconds_beyond_the_pushing_before_the_way_back(seen):
    assert seen("failed", 10.0).headline == "Hands on the chair seat, stand up."
    later = seen("failed", 10.8)
    assert later.headline == "Hands on the seat, slide down again."
    assert later.heading == "Way out: Hands on the chair seat, stand up."


def test_nobody_is_led_back_in_just_before_the_end(seen):
    assert seen("failed", 16).headline == "Hands on the chair seat, stand up."


def test_where_failure_ends_the_set_nobody_is_led_back_in(seen):
    shown = seen("over")
    assert texts(shown) == ["This set is over."]
    assert (shown.tap, shown.tap_counts) == ("this set is over", False)


def test_in_the_two_seconds_after_the_close_a_tap_is_not_asked_for_as_a_yes(seen):
    shown = seen("window_over")
    assert shown.tap == "I have failed"
    assert "Worked to the end" not in shown.headline


def test_a_silent_window_asks_if_it_was_worked_to_the_end(seen):
    shown = seen("asks")
    assert (shown.state, shown.headline, shown.tap) == ("asks", "Worked to the end?", "I worked to the end")
    assert shown.heading.startswith("Wall sit: no failure stamped")
    assert texts(shown)[0].startswith("If not: press Esc")


def test_the_rest_names_what_is_next_with_side_rung_and_last_result(seen):
    shown = seen("rest")
    assert shown.headline == "One-leg heel raise, right"
    assert texts(shown, "Last time") == ["failed at 58 s"]
    assert texts(shown, "Rung")[0].startswith("other toes help")


def test_a_tap_in_the_rest_is_answered_at_once(seen):
    before, after = seen("rest"), seen("rest_ready")
    assert (before.tap, before.tap_counts) == ("ready", True)
    assert (after.tap, after.tap_counts) == ("it goes on by itself", False)


def test_a_rest_that_is_over_runs_no_clock(seen):
    shown = seen("rest_over")
    assert (shown.state, shown.digits) == ("waits", "")


def test_a_dropped_press_is_seen_for_a_while(seen):
    assert seen("dropped").alarm == "too soon: not back in"
    assert seen("dropped", 2).alarm == ""


def test_a_lost_keyboard_stays_on_screen(seen):
    assert seen("unheard").alarm == seen("unheard", 10).alarm == "keys don't reach me"


def test_remarks_are_kept_out_of_the_windows(seen):
    assert "a remark" in seen("rest", remarks=("a remark",)).notices
    assert "a remark" not in seen("working", remarks=("a remark",)).notices


@pytest.mark.parametrize(("kept", "place", "notices"), [
    ("saved", "saved", ()),
    ("written", "set 5 of 7", ()),
    ("noted", "set 5 of 7", ("noted, not yet saved",)),
])  # fmt: skip
def test_what_became_of_the_log_is_told_quietly(seen, kept, place, notices):
    shown = seen("working", kept=kept)
    assert shown.places[-1] == place
    assert shown.notices == notices


def test_places_give_way_to_a_long_heading(seen):
    shown = seen("working")
    assert shown.place("Wall sit", 78).endswith("saved")
    assert shown.place("x" * 50, 78) == "52 s to the end"
    assert shown.place("x" * 70, 78) == ""


def test_the_digits_of_a_long_window_keep_room_for_minutes_from_the_start(seen, stage):
    at = stage("working")
    engine = at.driver.engine
    assert view(engine, at.driver.now(), LAST).widest == "00"


def test_the_ruler_moves_in_steps_so_that_little_is_drawn(seen):
    assert seen("working").ruler.now_s % 0.25 == 0


@pytest.mark.parametrize(
    ("moment", "words"), [("ready", "rehearsal, never counted"), ("working", "rehearsal")]
)
def test_a_rehearsal_says_so_all_the_way_and_gives_way_to_time_alone(stage, moment, words):
    at = stage(moment)
    before = view(at.driver.engine, at.driver.now(), LAST).places
    assert words not in before
    opened = at.driver.engine.session.opened.model_dump() | {"speed": 4.0}
    at.driver.engine.record(Opened, 0.0, **{name: opened[name] for name in opened.keys() - {"n", "t", "ev"}})
    places = view(at.driver.engine, at.driver.now(), LAST).places
    assert places.index(words) == (1 if moment == "working" else 0)
    assert set(before) < set(places)


def test_before_a_window_the_way_out_is_the_line_that_gives_way_last(seen):
    shown = seen("count_in")
    assert [line.label for line in shown.lines][:2] == ["Way out", "Set up"]
    assert shown.lines[0].text == "Both feet down, both hands hold."
