"""What is seen at each moment of a session, as plain data."""

from dataclasses import replace

import pytest

from holdtimer.screens.fit import Line
from holdtimer.screens.view import view
from holdtimer.session.events import Opened
from holdtimer.session.state import Phase

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


def test_ready_names_all_that_the_whole_session_needs_and_nothing_for_rungs_that_are_not_due(seen):
    (needed,) = texts(seen("ready"), "Needed")
    for need in ("the kitchen counter", "a steady chair", "a clear wall"):
        assert need in needed
    assert "ankle weights" not in needed
    assert "cushion" not in needed
    assert needed.endswith("water, something cool, a phone within reach")


def test_what_is_needed_follows_the_rung_that_is_chosen(stage):
    at = stage("ready")
    engine = at.driver.engine
    at.tap()
    at.wait(200)  # past the easy movement, before the first set
    at.driver.engine.session = replace(engine.session, phase=Phase.READY, is_ready=False)
    at.tap("minus")
    (needed,) = texts(view(engine, at.driver.now(), LAST), "Needed")
    assert "a firm cushion" in needed


def test_ready_says_how_many_sets_there_are_and_how_long_they_take(seen):
    assert texts(seen("ready"), "Today") == ["7 sets, 26 minutes or more"]


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


def test_in_work_the_way_out_stands_before_what_failure_is_and_the_form(seen):
    shown = seen("working")
    assert [line.label for line in shown.lines] == ["Way out", "Form"]
    assert shown.lines[0].text == "Hands on the chair seat, stand up."


def test_what_failure_is_and_each_line_of_the_form_have_their_turn(seen):
    told = {seen("working", later).lines[1].label for later in (0, 10, 25)}
    assert told == {"Form", "Failure"}
    assert len({seen("working", later).lines[1].text for later in (0, 10, 25)}) == 3


def test_the_tempo_of_repetitions_is_seen_before_a_set_and_in_it(seen):
    tempo = "lower 3 s, hold 1 s, lift 2 s"
    assert texts(seen("rest"), "Tempo") == texts(seen("count_in"), "Tempo") == [tempo]
    assert texts(seen("ready"), "Tempo") == ["lower 3 s, hold 1 s, lift 2 s, hold 1 s"]
    assert tempo in seen("working_left").places
    assert [texts(seen("working_left", later), "Tempo") for later in (0, 15, 30)] == [[tempo], [], [tempo]]
    assert texts(seen("working"), "Tempo") == []


def test_the_side_stands_where_the_side_is(seen):
    left, right = seen("working_left"), seen("count_in")
    assert (left.beside, left.beside_at) == (("left",), "left")
    assert ("right" in right.beside, right.beside_at) == (True, "right")


def test_after_a_failure_pushing_comes_first_with_its_seconds_and_the_way_out_in_sight(seen):
    shown = seen("failed")
    assert (shown.headline, shown.beside) == ("Keep pushing", ("3 s",))
    assert shown.heading == "Way out: Hands on the chair seat, stand up."
    assert texts(shown, "Way out") == ["Hands on the chair seat, stand up."]
    assert seen("failed", 1.0).beside == ("2 s",)
    assert seen("failed", 2.2).beside == ("1 s",)


def test_after_the_pushing_comes_the_way_out_alone(seen):
    shown = seen("failed", 2.6)
    assert (shown.headline, shown.beside) == ("Hands on the chair seat, stand up.", ("ease off", "breathe"))
    assert shown.lines == ()


def test_where_nobody_pushes_the_way_out_is_the_headline_at_once(seen):
    assert seen("over").headline == "Hands press, bring the feet together."


def test_the_way_out_stands_eight_seconds_beyond_the_pushing_before_the_way_back(seen):
    assert seen("failed", 10.0).headline == "Hands on the chair seat, stand up."
    later = seen("failed", 10.8)
    assert later.headline == "Hands on the seat, slide down again."
    assert later.heading == "Way out: Hands on the chair seat, stand up."


def test_what_a_tap_does_after_a_failure_is_promised_only_once_it_does_it(seen):
    assert (seen("failed").tap, seen("failed").tap_counts) == ("noted: failed at 70", False)
    assert (seen("failed", 1.9).tap, seen("failed", 1.9).tap_counts) == ("I am back in", True)


def test_nobody_is_led_back_in_just_before_the_end(seen):
    assert seen("failed", 16).headline == "Hands on the chair seat, stand up."


def test_where_failure_ends_the_set_nobody_is_led_back_in(seen):
    shown = seen("over", 1.5)
    assert texts(shown) == ["This set is over."]
    assert (shown.tap, shown.tap_counts) == ("this set is over", False)


def test_in_the_two_seconds_after_the_close_a_tap_is_not_asked_for_as_a_yes(seen):
    shown = seen("window_over")
    assert shown.tap == "I have failed"
    assert "Worked to the end" not in shown.headline


def test_the_way_out_stays_when_the_window_is_over(seen):
    assert seen("window_over").lines[0] == Line("Hands on the chair seat, stand up.", "Way out")


def test_a_silent_window_asks_for_the_set_by_its_name_and_offers_a_no_beside_the_yes(seen):
    shown = seen("asks")
    assert (shown.state, shown.headline) == ("asks", "Wall sit: worked to the end?")
    assert (shown.tap, shown.no) == ("I worked to the end", "I did not")
    assert shown.heading.startswith("Wall sit: no failure stamped")
    assert shown.places[0] == "set 5 of 7"
    assert texts(shown)[0].startswith("Not sure? Say no")
    assert seen("rest").no == ""


def test_the_rest_names_what_is_next_with_side_rung_and_last_result(seen):
    shown = seen("rest")
    assert shown.headline == "One-leg heel raise, right"
    assert texts(shown, "Last time") == ["failed at 58 s"]
    assert texts(shown, "Rung")[0].startswith("other toes help")


def test_a_tap_in_the_rest_is_answered_at_once(seen):
    before, after = seen("rest"), seen("rest_ready")
    assert (before.tap, before.tap_counts) == ("ready for the next", True)
    assert (after.tap, after.tap_counts) == ("noted: ready", False)
    assert seen("rest_ready", 2.5).tap == "it goes on by itself"


@pytest.mark.parametrize(
    ("moment", "keys", "wait", "words"),
    [
        ("ready", ["space"], 0.2, "noted: ready"),
        ("count_in", ["space"], 0.2, "noted: not ready"),
        ("working", ["space"], 0.2, "noted: failed at 38"),
        ("way_back", ["space"], 0.2, "noted: back in"),
        ("asks", ["space"], 0.2, "noted: worked to the end"),
        ("asks", ["backspace"], 0.2, "noted: not to the end"),
        ("window_over", ["space"], 0.2, "noted: after the end"),
        ("out", ["backspace", "backspace"], 0.3, "noted: taken back"),
    ],
)
def test_every_tap_that_counts_is_acknowledged_for_two_seconds(stage, moment, keys, wait, words):
    at = stage(moment)
    for key in keys:
        at.wait(0.5)
        at.tap(key)
    at.wait(wait)

    def told():
        shown = view(at.driver.engine, at.driver.now(), LAST)
        return shown.noted or shown.tap

    assert told() == words
    at.wait(2.5)
    assert told() != words


def test_a_yes_can_be_taken_back_and_the_rest_says_how(stage):
    at = stage("asks")
    at.tap()
    at.wait(3)
    (line,) = texts(view(at.driver.engine, at.driver.now(), LAST), "Last set")
    assert "Backspace" in line
    at.tap("backspace")
    assert texts(view(at.driver.engine, at.driver.now(), LAST), "Last set") == []


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
    assert [line.label for line in shown.lines][:2] == ["Way out", "Rung"]
    assert shown.lines[0].text == "Both feet down, both hands hold."
