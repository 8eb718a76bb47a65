import pytest

from holdtimer.session.debounce import Settings


def test_taps_in_a_window_alternate_failure_and_re_entry(begin):
    run = begin()
    opens = run.in_window()
    for at in (40, 45, 60, 66, 80):
        run.at(opens + at, "space")
    assert run.stamps == [
        ("failure", 40),
        ("re-entry", 45),
        ("failure", 60),
        ("re-entry", 66),
        ("failure", 80),
    ]


def test_a_stamp_is_when_the_key_reached_the_program_and_tells_how_late_it_was_handled(begin):
    run = begin()
    opens = run.in_window()
    run.late(opens + 69.1234, opens + 69.2)
    assert run.last.at == 69.1234
    assert run.last.t == opens + 69.1234
    assert run.last.late_ms == pytest.approx(76.6)


@pytest.mark.parametrize(
    "key", ["plus", "minus", "o", "enter", "up", "down", "mouse", "a", "f5", "page_down"]
)
def test_in_a_window_every_key_but_three_is_a_tap(begin, key):
    run = begin()
    opens = run.in_window()
    assert run.at(opens + 69, key)[-1] == "failure"


@pytest.mark.parametrize("key", ["escape", "backspace", "question_mark"])
def test_in_a_window_these_keys_are_no_taps(begin, key):
    run = begin()
    opens = run.in_window()
    run.at(opens + 69, key)
    run.at(opens + 72)
    assert run.stamps == []


@pytest.mark.parametrize("key", ["escape", "backspace", "question_mark", "up"])
def test_a_key_that_is_no_tap_guards_like_any_other(begin, key):
    run = begin()
    opens = run.in_window()
    run.at(opens + 69, key)
    run.at(opens + 69.5, "space")
    assert run.engine.dropped.reason in ("guard", "back-in")
    assert ("failure", 69.5) not in run.stamps


def test_keys_that_mean_nothing_to_a_person_mean_nothing(begin):
    run = begin(settings=Settings(not_taps=frozenset({"f13"})))
    opens = run.in_window()
    run.at(opens + 69, "f13")
    run.at(opens + 69.2, "space")
    assert run.stamps == [("failure", 69.2)]


@pytest.mark.parametrize(("after", "counts"), [(1.9999, False), (2.0, True)])
def test_a_re_entry_is_not_taken_sooner_than_somebody_can_be_back_in(begin, after, counts):
    run = begin()
    opens = run.in_window()
    run.at(opens + 69, "space")
    run.at(opens + 69 + after, "space")
    assert (run.stamps[-1][0] == "re-entry") is counts
    assert counts or run.engine.dropped.reason == "back-in"


def test_how_soon_somebody_can_be_back_in_is_set_per_person(begin):
    run = begin(settings=Settings(back_in_guard_s=0))
    opens = run.in_window()
    run.at(opens + 69, "space")
    run.at(opens + 69.8, "space")
    assert run.stamps[-1] == ("re-entry", 69.8)


def test_a_failure_soon_after_a_re_entry_counts(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 62, "space")
    run.at(opens + 62.8, "space")
    assert run.stamps[-1] == ("failure", 62.8)


def test_where_failure_ends_the_set_there_is_no_re_entry(begin, a_set):
    run = begin(a_set(reentry=False, push_s=5))
    opens = run.in_window()
    run.at(opens + 50, "space")
    run.at(opens + 54, "space")
    assert run.stamps == [("failure", 50)]
    assert run.engine.dropped.reason == "no-use"


def test_a_key_held_since_before_the_window_does_not_keep_another_from_stamping(begin, a_set):
    run = begin(a_set(count_in_s=3))
    run.at(2, "space")
    run.at(3.8, "a")
    for n in range(2000):
        run.at(4.2 + n * 0.035, "a")
        if n == 1900:
            run.at(4.21 + n * 0.035, "space")
    assert run.stamps == [("failure", pytest.approx(65.71))]


# -- keys handled late


@pytest.mark.parametrize("key", ["space", "plus", "minus", "o", "enter"])
def test_a_key_pressed_in_a_window_and_handled_after_its_close_stamps_that_window(begin, a_set, key):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    assert run.late(closes - 0.1, closes + 0.9, key)[-1:] == ["failure"]
    assert run.stamps == [("failure", 89.9)]
    assert run.session.off_day is False


def test_a_key_pressed_in_a_window_stamps_it_though_the_next_count_in_has_begun(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0, advance="auto"))
    closes = run.in_window() + 90
    run.at(closes - 20, "space")
    run.late(closes - 5, closes + 0.8)
    assert run.session.phase == "count-in"
    assert run.stamps == [("failure", 70), ("re-entry", 85)]


def test_a_key_pressed_in_a_window_stamps_it_though_the_next_window_is_open(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0, advance="auto", count_in_s=3))
    closes = run.in_window() + 90
    run.at(closes - 20, "space")
    run.late(closes - 5, closes + 3.5)
    assert run.session.sets[0].stamps[-1].at == 85
    assert run.session.open_set.stamps == ()


@pytest.mark.parametrize("reentry", [True, False])
def test_a_choice_read_late_ends_no_set_before_a_stamp_that_was_heard_in_it(begin, a_set, reentry):
    """What is marked is "something feels wrong": it stops the set where the failure stands, not before."""
    run = begin(a_set(reentry=reentry))
    opens = run.in_window()
    run.at(opens + 20, "space")
    run.at(opens + 20, "escape")
    run.late(opens + 19.9, opens + 20, "enter")
    (done,) = run.session.sets
    assert run.session.stopped == "symptom"
    assert (done.first_failure_s, done.ended_at) == (20, 20)


def test_a_key_pressed_before_a_window_opened_does_not_stamp_it(begin):
    run = begin()
    opens = run.in_window()
    run.late(opens - 0.1, opens + 0.4)
    assert run.stamps == []
    assert run.engine.dropped.reason == "screen"


def test_a_key_pressed_before_the_machine_slept_stamps_the_window_it_broke_off(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 70)
    run.gap(opens + 70, opens + 71)
    run.took(run.engine.press("space", opens + 69.9, opens + 71.1))
    assert run.stamps == [("failure", 69.9)]
    assert run.set.interrupted


def test_keys_read_just_after_the_machine_slept_are_dropped(begin):
    run = begin()
    opens = run.in_window()
    run.gap(opens + 70, opens + 80)
    run.at(opens + 80.2, "space")
    assert run.stamps == []
    assert run.engine.dropped.reason == "gap"


def test_a_key_out_of_order_never_breaks_the_alternation(begin):
    run = begin()
    opens = run.in_window()
    for at in (60, 70):
        run.at(opens + at, "space")
    run.late(opens + 65, opens + 75)
    assert run.stamps == [("failure", 60), ("re-entry", 70)]
    assert run.engine.dropped.reason == "no-use"


# -- taking back


def test_backspace_twice_takes_back_the_last_stamp_and_erases_nothing(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    assert run.backspace_twice(opens + 62) == ["taken-back"]
    assert run.stamps == []
    failure = run.only("failure")
    assert (run.last.of, run.last.at) == (failure.n, 62.5)


def test_after_a_take_back_taps_go_on_from_the_stamps_that_stand(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 65, "space")
    run.backspace_twice(opens + 66)
    run.at(opens + 70, "space")
    assert run.stamps == [("failure", 60), ("re-entry", 70)]


def test_backspace_held_down_takes_nothing_back(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    for n in range(60):
        run.at(opens + 62 + (0.5 + n * 0.033 if n else 0), "backspace")
    run.at(opens + 80)
    assert run.stamps == [("failure", 60)]


def test_a_stamp_between_two_backspaces_is_not_taken_back(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 62, "backspace")
    run.at(opens + 63, "space")
    run.at(opens + 64, "backspace")
    run.at(opens + 66)
    assert run.stamps == [("failure", 60), ("re-entry", 63)]


def test_a_stamp_is_taken_back_up_to_the_close_whatever_key_comes_next(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 80, "space")
    run.at(opens + 89.5, "backspace")
    run.at(opens + 89.95, "backspace")
    run.at(opens + 90.05, "space")
    assert run.stamps == []
    assert run.names.index("taken-back") < run.names.index("window-closed")


def test_a_slip_can_be_taken_back_where_failure_ends_the_set(begin, a_set):
    run = begin(a_set(reentry=False, push_s=0))
    opens = run.in_window()
    run.at(opens + 50, "space")
    run.backspace_twice(opens + 51)
    run.at(opens + 60)
    assert run.session.open_set is not None
    assert run.session.until == opens + 90


def test_with_no_stamp_backspace_does_nothing(begin):
    run = begin()
    opens = run.in_window()
    run.backspace_twice(opens + 30)
    assert "taken-back" not in run.names


def test_stamps_of_a_window_that_is_over_are_not_taken_back(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 80, "space")
    run.backspace_twice(opens + 95)
    assert run.stamps == [("failure", 80)]


def test_the_screen_can_say_that_one_more_backspace_takes_back(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    assert not run.engine.takes_back(opens + 61)
    run.at(opens + 62, "backspace")
    assert run.engine.takes_back(opens + 64)
    assert not run.engine.takes_back(opens + 65.1)
    run.at(opens + 89, "backspace")
    run.at(opens + 90.3)
    assert not run.engine.takes_back(opens + 90.3)  # the window is over


# -- while ready and resting


def test_o_marks_an_off_day_and_takes_it_back(begin):
    run = begin()
    assert run.at(2, "o") == ["off-day"]
    assert run.session.off_day
    run.at(3, "o")
    assert not run.session.off_day


def test_a_held_o_marks_an_off_day_once(begin):
    run = begin()
    run.at(2, "o")
    run.at(2.5, "o")
    run.at(2.55, "o")
    assert run.names.count("off-day") == 1


def test_minus_takes_an_easier_rung_with_no_reason_asked(begin):
    run = begin()
    assert run.at(2, "minus") == ["rung-chosen"]
    assert (run.last.rung, run.last.due, run.last.reason) == ("hips high", "half way", None)
    assert run.engine.part().rung.name == "hips high"
    run.at(4, "space")
    run.at(15)
    assert run.set.rung == "hips high"


def test_plus_asks_for_a_reason_above_the_due_rung_alone(begin):
    run = begin()
    run.at(2, "minus")
    assert run.at(3, "plus") == ["rung-chosen"]
    assert run.at(4, "plus") == []
    assert run.engine.menu.asks_reason_for == "thighs level"
    run.at(5, "down")
    assert run.at(6, "enter") == ["rung-chosen"]
    assert (run.last.rung, run.last.reason) == ("thighs level", "not-possible")


def test_no_reason_no_harder_rung(begin):
    run = begin()
    run.at(2, "plus")
    run.at(3, "up")
    assert run.at(4, "enter") == []
    assert run.engine.part().rung.name == "half way"


def test_there_is_no_rung_beyond_either_end(begin):
    run = begin()
    run.at(2, "minus")
    assert run.at(3, "minus") == []


def test_rungs_can_be_changed_in_a_rest_and_for_the_coming_set_alone(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 95, "minus")
    assert run.session.rungs == {2: "hips high"}
    assert run.session.sets[0].rung == "half way"


@pytest.mark.parametrize("key", ["plus", "minus"])
def test_easy_movement_has_no_rungs(begin, an_easy, key):
    run = begin(an_easy())
    assert run.at(2, key) == []
    assert run.engine.menu is None


def test_the_question_for_a_reason_goes_away_with_the_screen_it_was_asked_on(begin, a_set):
    run = begin(a_set(), a_set(rest_s=20))
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 93, "space")
    run.at(opens + 100, "plus")
    assert run.engine.menu is not None
    run.at(opens + 112)
    assert run.session.phase == "count-in"
    assert run.engine.menu is None
    assert run.at(opens + 115, "enter") == ["not-ready"]
    assert run.engine.menu is None
    assert "rung-chosen" not in run.names


def test_plus_just_after_a_window_still_worked_is_a_late_tap(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 0.5, "plus")
    assert run.last.ev == "late-tap"
