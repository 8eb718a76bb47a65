"""What time alone brings: windows, rests, easy movement, and what goes on by itself."""

import pytest


def test_a_session_waits_for_its_first_tap(begin):
    run = begin()
    assert run.at(800) == []


def test_a_window_opens_when_the_count_in_is_over_and_closes_on_its_own(begin):
    run = begin()
    run.at(2, "space")
    run.at(200)
    assert [(event.ev, event.t) for event in run.events[1:]] == [
        ("ready", 2),
        ("count-in", 2),
        ("window-open", 12),
        ("band", 72),
        ("final-stretch", 72),
        ("window-closed", 102),
    ]


def test_an_opened_window_tells_what_the_set_was_to_be(begin, a_set):
    run = begin(a_set(push_s=4, final_s=20, reentry=False))
    run.in_window()
    opened = run.only("window-open")
    assert (opened.exercise, opened.side, opened.rung, opened.attempt) == ("wall-sit", "both", "half way", 1)
    assert (opened.window_s, opened.band_s, opened.final_s) == (90, (60, 90), 20)
    assert (opened.push_s, opened.reentry, opened.kind) == (4, False, "hold")


@pytest.mark.parametrize(("failed", "push_s", "closes"), [(50, 0, 53), (50, 5, 55), (88, 5, 90), (58, 3, 61)])
def test_where_failure_ends_the_set_the_window_closes_after_the_push_and_time_to_take_it_back(
    begin, a_set, failed, push_s, closes
):
    run = begin(a_set(reentry=False, push_s=push_s))
    opens = run.in_window()
    run.at(opens + failed, "space")
    run.at(opens + 100)
    assert run.only("window-closed").at == closes
    assert ("band" in run.names) is (closes > 60)


def test_the_next_rest_begins_at_the_close(begin, a_set):
    run = begin(a_set(), a_set(rest_s=75))
    closes = run.in_window() + 90
    run.at(closes + 1)
    assert (run.last.ev, run.last.t, run.last.part, run.last.seconds) == ("rest", closes, 1, 75)


def test_a_tap_in_the_rest_means_ready_and_the_rest_is_still_kept(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    assert run.at(closes + 5, "space")[-1] == "ready"
    run.at(closes + 91)
    assert (run.last.ev, run.last.t) == ("count-in", closes + 90)


def test_without_a_tap_the_next_set_does_not_begin(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 900)
    assert run.names.count("count-in") == 1


def test_auto_goes_on_after_the_rest_when_a_tap_answered_the_window(begin, a_set):
    run = begin(a_set(), a_set(advance="auto"))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 91)
    assert (run.last.ev, run.last.t) == ("count-in", closes + 90)


def test_auto_with_no_rest_counts_in_at_the_close(begin, a_set):
    run = begin(a_set(), a_set(advance="auto", rest_s=0))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 1)
    assert (run.last.ev, run.last.t) == ("count-in", closes)


def test_auto_waits_for_an_answer_to_a_silent_window(begin, a_set):
    run = begin(a_set(), a_set(advance="auto"))
    closes = run.in_window() + 90
    run.at(closes + 400)
    assert run.session.phase == "rest"
    assert run.at(closes + 401, "space") == ["confirmed", "count-in"]


def test_auto_goes_on_after_a_late_tap(begin, a_set):
    run = begin(a_set(), a_set(advance="auto", rest_s=20))
    closes = run.in_window() + 90
    run.at(closes + 1, "space")
    run.at(closes + 21)
    assert run.session.phase == "count-in"


def test_auto_does_not_begin_a_session(begin, a_set):
    run = begin(a_set(advance="auto"))
    assert run.at(600) == []


def test_auto_does_not_go_on_when_the_only_stamp_was_taken_back(begin, a_set):
    run = begin(a_set(), a_set(advance="auto", rest_s=0))
    closes = run.in_window() + 90
    run.at(closes - 30, "space")
    run.backspace_twice(closes - 28)
    run.at(closes + 400)
    assert run.session.asking is not None


# -- easy movement


def test_an_easy_script_is_begun_by_a_tap_and_ends_by_itself(begin, an_easy):
    run = begin(an_easy(60), an_easy(30))
    run.at(2, "space")
    run.at(100)
    assert [(event.ev, event.t) for event in run.events if event.ev == "easy"] == [("easy", 2), ("easy", 62)]
    assert run.engine.is_over(100)
    assert run.results == ()


def test_two_easy_parts_in_a_row_go_on_by_themselves_with_the_rest_between(begin, an_easy):
    run = begin(an_easy(60), an_easy(30, rest_s=15))
    run.at(2, "space")
    run.at(80)
    assert (run.last.ev, run.last.t) == ("easy", 77)


def test_after_easy_movement_a_set_waits_for_a_tap(begin, an_easy, a_set):
    run = begin(an_easy(60), a_set(rest_s=0))
    run.at(2, "space")
    run.at(400)
    assert run.session.phase == "rest"
    assert run.at(401, "space") == ["ready", "count-in"]


def test_auto_after_a_warm_up_waits_for_a_tap_too(begin, an_easy, a_set):
    run = begin(an_easy(60), a_set(rest_s=0, advance="auto"))
    run.at(2, "space")
    run.at(400)
    assert run.session.phase == "rest"


def test_auto_goes_on_after_easy_movement_between_two_sets(begin, an_easy, a_set):
    run = begin(a_set(), an_easy(60), a_set(rest_s=30, advance="auto"))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 2, "space")
    run.at(closes + 93)
    assert (run.last.ev, run.last.t) == ("count-in", closes + 92)


def test_easy_movement_after_a_set_waits_for_a_tap(begin, an_easy, a_set):
    run = begin(a_set(), an_easy(60))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 300)
    assert run.session.phase == "rest"
    assert run.at(closes + 301, "space") == ["ready", "easy"]


def test_a_script_that_ends_with_easy_movement_is_over_after_it(begin, an_easy, a_set):
    run = begin(a_set(), an_easy(60))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 2, "space")
    run.at(closes + 65)
    assert run.engine.is_over(closes + 65)


# -- silence


def test_after_fifteen_minutes_with_no_tap_the_session_leaves(begin):
    run = begin()
    run.at(899)
    assert run.session.left is None
    run.at(901)
    assert (run.last.ev, run.last.t, run.last.reason) == ("left", 900, "silence")


def test_the_fifteen_minutes_begin_when_a_long_rest_is_over(begin, a_set):
    run = begin(a_set(), a_set(rest_s=1800))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 2699)
    assert run.session.left is None
    run.at(closes + 2701)
    assert run.last.t == closes + 2700


def test_a_session_that_is_ready_does_not_leave_in_a_long_rest(begin, a_set):
    run = begin(a_set(), a_set(rest_s=1800))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 5, "space")
    run.at(closes + 1801)
    assert run.session.phase == "count-in"


def test_a_question_nobody_answers_leaves_too_after_the_last_set(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 899)
    assert run.session.left is None
    assert not run.engine.is_over(closes + 899)
    run.at(closes + 901)
    assert run.session.left == "silence"


@pytest.mark.parametrize("key", ["o", "minus", "space"])
def test_every_sign_of_life_begins_the_fifteen_minutes_anew(begin, a_set, key):
    run = begin(a_set(rung_index=2))
    run.at(800, key)
    if key == "space":
        run.at(804, key)
    run.at(1690)
    assert run.session.left is None
    run.at(1710)
    assert run.session.left == "silence"


def test_a_tap_that_came_too_soon_to_count_is_a_sign_of_life(begin):
    run = begin()
    run.at(1.4, "space")
    run.at(901)
    assert run.session.left is None
    run.at(902)
    assert (run.last.ev, run.last.t) == ("left", 901.4)


def test_a_held_key_is_no_sign_of_life(begin):
    run = begin()
    for n in range(3):
        run.at(890 + n * 0.03, "question_mark")
    run.at(901)
    assert run.session.left == "silence"


def test_easy_movement_of_any_length_does_not_leave(begin, an_easy):
    run = begin(an_easy(3600))
    run.at(2, "space")
    run.at(3601)
    assert run.session.phase == "easy"
