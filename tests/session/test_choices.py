"""What the lines of the menu do, chosen as a person does."""

import pytest

from holdtimer.session.menu import Choice


def choose(run, t, choice):
    """Open the menu at `t`, go down to a line, choose it; what came of the choice."""
    run.at(t, "escape")
    while run.engine.menu.marked is not choice:
        t += 0.1
        run.at(t, "down")
    return run.at(t + 0.1, "enter")


def test_something_feels_wrong_ends_the_session_with_two_keys(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 40, "escape")
    assert run.at(opens + 40.3, "enter") == ["stopped"]
    assert (run.last.reason, run.last.scope, run.last.at) == ("symptom", "session", 40.3)
    assert run.set.stopped == "symptom"
    assert run.engine.is_over(opens + 40.3)
    assert run.at(opens + 200, "space") == []


@pytest.mark.parametrize("t", [1, 5])
def test_a_session_can_be_ended_before_any_window(begin, t):
    run = begin()
    run.at(2, "space")
    assert choose(run, t + 2, Choice.END) == ["stopped"]
    assert run.session.stopped == "choice"
    assert run.engine.is_over(run.now)


def test_a_session_ended_in_a_window_tells_when(begin):
    run = begin()
    opens = run.in_window()
    choose(run, opens + 30, Choice.END)
    assert run.set.ended_at == pytest.approx(30.5)
    assert run.set.stopped == "choice"


def test_a_stopped_set_is_followed_by_the_full_rest(begin, a_set):
    run = begin(a_set(), a_set(rest_s=60))
    opens = run.in_window()
    assert choose(run, opens + 30, Choice.STOP_SET) == ["stopped", "rest"]
    assert run.last.seconds == 60
    assert run.set.stopped == "choice"
    assert run.session.part == 1


def test_a_stopped_set_waits_for_a_tap_though_sets_go_on_by_themselves(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0, advance="auto"))
    choose(run, run.in_window() + 30, Choice.STOP_SET)
    assert run.at(run.now + 600) == []


def test_a_redone_attempt_does_not_exist_and_the_next_one_is_counted_on(begin):
    run = begin()
    opens = run.in_window()
    assert choose(run, opens + 20, Choice.REDO) == ["redone"]
    assert run.session.sets == ()
    assert run.at(run.now + 2, "space") == ["ready", "count-in"]
    run.at(run.now + 10.3)
    assert (run.last.ev, run.last.attempt) == ("window-open", 2)


def test_a_set_can_be_redone_again_and_again(begin):
    run = begin()
    run.in_window()
    for attempt in (2, 3, 4):
        choose(run, run.now + 5, Choice.REDO)
        run.at(run.now + 2, "space")
        run.at(run.now + 10.3)
        assert run.set.attempt == attempt


def test_a_redone_set_waits_for_a_tap_though_sets_go_on_by_themselves(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0, advance="auto"))
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 100.5)
    assert run.session.open_set is not None
    choose(run, opens + 110, Choice.REDO)
    assert run.session.phase == "rest"
    assert run.at(run.now + 600) == []


def test_the_rung_can_be_changed_before_a_set_is_redone(begin):
    run = begin()
    choose(run, run.in_window() + 20, Choice.REDO)
    run.at(run.now + 2, "minus")
    run.at(run.now + 2, "space")
    run.at(run.now + 10.3)
    assert run.set.rung == "hips high"


def test_a_set_skipped_in_its_window_is_marked_and_followed_by_the_full_rest(begin, a_set):
    run = begin(a_set(), a_set(rest_s=60))
    opens = run.in_window()
    run.at(opens + 10, "space")
    assert choose(run, opens + 30, Choice.SKIP) == ["skipped", "rest"]
    assert run.last.seconds == 60
    assert run.set.skipped
    assert run.stamps == [("failure", 10)]


def test_a_set_skipped_in_its_rest_leaves_the_rest_since_the_last_window(begin, a_set):
    run = begin(a_set(), a_set(rest_s=60), a_set(rest_s=90))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    choose(run, closes + 20, Choice.SKIP)
    assert run.session.until == pytest.approx(closes + 90)
    assert (run.set.skipped, run.set.opened_t) == (True, None)
    assert run.set.window_s == 90


def test_skipping_the_first_set_needs_no_rest(begin, a_set):
    run = begin(a_set(), a_set())
    assert choose(run, 2, Choice.SKIP) == ["skipped", "rest"]
    assert run.last.seconds == 0
    assert run.at(run.now + 2, "space") == ["ready", "count-in"]


def test_a_set_can_be_skipped_in_its_count_in(begin, a_set):
    run = begin(a_set(), a_set())
    run.at(2, "space")
    choose(run, 6, Choice.SKIP)
    assert (run.session.phase, run.session.part) == ("rest", 1)


def test_skipping_everything_ends_the_session(begin, a_set):
    run = begin(a_set(), a_set())
    choose(run, 2, Choice.SKIP)
    assert choose(run, 4, Choice.SKIP) == ["skipped"]
    assert run.engine.is_over(run.now + 3)


@pytest.mark.parametrize("in_rest", [False, True])
def test_easy_movement_can_be_skipped_and_the_rest_before_the_set_stays(begin, an_easy, a_set, in_rest):
    run = begin(a_set(), an_easy(60), a_set(rest_s=30))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    if not in_rest:
        run.at(closes + 2, "space")
        assert run.session.phase == "easy"
    assert choose(run, closes + 10, Choice.SKIP) == ["rest"]
    assert (run.last.part, run.last.seconds) == (2, 30)


def test_skipping_easy_movement_at_the_end_ends_the_session(begin, an_easy):
    run = begin(an_easy(60))
    run.at(2, "space")
    choose(run, 10, Choice.SKIP)
    assert run.engine.is_over(run.now + 3)


def test_the_rest_is_shortened_only_from_the_menu(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 5, "space")
    assert run.session.phase == "rest"
    assert choose(run, closes + 20, Choice.HURRY) == ["ready", "count-in"]
    assert run.last.t == pytest.approx(run.now)


def test_a_silent_window_can_be_told_not_to_have_been_worked_to_the_end(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes + 3)
    assert choose(run, closes + 4, Choice.NOT_TO_THE_END) == ["answer"]
    assert run.set.denied
    assert run.session.asking is None
    assert run.at(closes + 20, "space") == ["ready"]


def test_going_on_does_nothing(begin):
    run = begin()
    opens = run.in_window()
    assert choose(run, opens + 30, Choice.GO_ON) == []
    assert run.engine.menu is None
    assert run.session.open_set is not None


# -- the menu over a running window


def test_any_other_key_closes_the_menu_and_stamps(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "escape")
    assert run.at(opens + 61, "space") == ["failure"]
    assert run.engine.menu is None


def test_a_key_that_does_not_count_leaves_the_menu_open(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "escape")
    run.at(opens + 60.2, "f1")
    assert run.engine.menu is not None
    assert run.stamps == []


def test_a_held_key_does_not_close_the_menu(begin):
    run = begin()
    opens = run.in_window()
    for n in range(100):
        run.at(opens + 30 + n * 0.035, "a")
        if n == 60:
            run.at(opens + 30.01 + n * 0.035, "escape")
    assert run.engine.menu is not None


def test_escape_closes_the_menu_and_a_tremor_on_escape_does_not(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "escape")
    run.at(opens + 60.3, "escape")
    assert run.engine.menu is not None
    run.at(opens + 61.5, "escape")
    assert run.engine.menu is None


def test_a_tap_by_enter_just_before_the_menu_chooses_nothing_when_it_repeats(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "enter")
    run.at(opens + 60.2, "escape")
    run.at(opens + 60.5, "enter")
    assert run.session.stopped is None
    assert run.stamps == [("failure", 60)]


def test_enter_is_a_tap_like_any_other_while_no_menu_is_open(begin):
    run = begin()
    run.at(2, "enter")
    run.at(82, "enter")
    run.at(90, "enter")
    run.at(102, "enter")
    assert run.last.ev == "late-tap"
    assert run.stamps == [("failure", 70), ("re-entry", 78)]


def test_the_window_goes_on_and_closes_under_the_menu(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 80, "escape")
    for n in range(3):
        run.at(opens + 81 + n, "down")
    assert run.engine.menu.marked is Choice.SKIP
    run.at(opens + 91)
    assert run.engine.menu.marked is Choice.GO_ON
    run.at(opens + 92, "enter")
    assert "skipped" not in run.names


def test_a_window_that_opens_under_the_menu_stamps_the_next_key(begin):
    run = begin()
    run.at(2, "space")
    run.at(5, "escape")
    run.at(12.3)
    assert run.engine.menu is not None
    assert run.at(60, "space")[-1] == "failure"
