import pytest

from holdtimer.session.state import Tap


@pytest.mark.parametrize(
    ("t", "tap", "meaning"),
    [
        (1.0, None, Tap.BEGIN),
        (2.0, "space", Tap.NOTHING),  # the count-in has just begun
        (3.9, None, Tap.NOTHING),
        (4.0, None, Tap.NOT_READY),
        (12.3, None, Tap.FAILURE),
        (77.0, "space", Tap.NOT_YET),  # nobody is back in so soon
        (79.0, "space", Tap.RE_ENTRY),
        (85.0, "space", Tap.FAILURE),
        (102.3, None, Tap.LATE),
        (104.0, None, Tap.READY),
        (110.0, "space", Tap.NOTHING),  # ready, the rest goes on
    ],
)
def test_what_a_tap_does_now_is_known_at_every_moment(begin, a_set, t, tap, meaning):
    run = begin(a_set(), a_set())
    for then, key in [(2.0, "space"), (77.0, "space"), (85.0, "space"), (110.0, "space")]:
        if then <= t:
            run.at(then, key)
    run.at(t)
    assert run.engine.tap_meaning(t) is meaning


def test_a_silent_window_asks(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 93)
    assert run.engine.tap_meaning(opens + 93) is Tap.CONFIRM


def test_where_failure_ends_the_set_a_tap_does_nothing_more(begin, a_set):
    run = begin(a_set(reentry=False))
    opens = run.in_window()
    run.at(opens + 50, "space")
    assert run.engine.tap_meaning(opens + 52) is Tap.NOTHING


def test_a_tap_does_nothing_while_easy_movement_counts_down(begin, an_easy):
    run = begin(an_easy(60))
    run.at(2, "space")
    assert run.engine.tap_meaning(20) is Tap.NOTHING


def test_a_tap_does_nothing_once_the_session_is_left_stopped_or_closed(begin):
    left, stopped, closed = begin(), begin(), begin()
    left.took(left.engine.leave("quit", 5))
    stopped.at(2, "escape")
    stopped.at(3, "enter")
    closed.took(closed.engine.close(5, "finished"))
    assert [run.engine.tap_meaning(6) for run in (left, stopped, closed)] == [Tap.NOTHING] * 3


def test_a_new_screen_takes_no_tap_for_a_second_and_a_half(begin):
    run = begin()
    assert run.at(1.4, "space") == []
    assert run.engine.dropped.reason == "screen"
    assert begin().at(1.5, "space") == ["ready", "count-in"]


def test_the_new_screen_of_the_rest_takes_no_tap_either(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 91, "space")
    run.at(opens + 93, "space")
    assert run.names[-2:] == ["dropped", "ready"]


def test_a_window_takes_a_tap_from_its_first_instant(begin):
    run = begin()
    run.at(2, "space")
    run.at(12, "space")
    assert run.stamps == [("failure", 0)]


def test_a_tap_in_the_first_two_seconds_of_a_count_in_does_nothing(begin):
    run = begin()
    run.at(2, "space")
    run.at(3.9, "space")
    assert run.session.phase == "count-in"
    assert run.engine.dropped.reason == "no-use"


def test_a_tap_later_in_a_count_in_means_not_ready_and_the_session_waits(begin):
    run = begin()
    run.at(2, "space")
    assert run.at(4, "space") == ["not-ready"]
    assert run.at(600) == []
    assert run.at(601, "space") == ["ready", "count-in"]


def test_not_ready_waits_for_a_tap_where_sets_go_on_by_themselves(begin, a_set):
    run = begin(a_set(), a_set(advance="auto", rest_s=20))
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 111)
    assert run.session.phase == "count-in"
    run.at(opens + 115, "space")
    assert run.session.phase == "rest"
    assert run.at(opens + 600) == []


@pytest.mark.parametrize("after", [0, 0.0001, 0.6, 1.9999])
def test_a_tap_within_two_seconds_of_the_close_is_a_late_tap(begin, after):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + after, "space")
    assert run.last.ev == "late-tap"
    assert run.last.after_s == pytest.approx(after, abs=1e-4)
    (result,) = run.results
    assert (result.ran_to_end, result.confirmed, result.counted) == (True, True, True)


def test_from_two_seconds_on_a_tap_confirms_instead(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 2, "space")
    assert run.last.ev == "confirmed"


def test_a_late_tap_needs_a_window_still_worked_at_its_close(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 80, "space")
    run.at(opens + 90.6, "space")
    assert run.engine.dropped.reason == "screen"
    assert run.set.late_tap_s is None


def test_a_late_tap_after_a_re_entry_is_kept_beside_the_failure(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 75, "space")
    run.at(opens + 90.6, "space")
    (result,) = run.results
    assert (result.first_failure_s, result.ran_to_end, result.late_tap_s) == (70, False, 0.6)


def test_a_late_tap_is_still_one_when_the_next_count_in_has_begun(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0, advance="auto"))
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 75, "space")
    run.at(opens + 90.3)
    assert run.session.phase == "count-in"
    assert run.at(opens + 91, "space") == ["late-tap"]


def test_there_is_only_one_late_tap(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes + 0.2, "space")
    run.at(closes + 1.2, "space")
    assert run.names.count("late-tap") == 1
    assert run.engine.dropped.reason == "screen"


def test_no_late_tap_is_taken_after_the_machine_slept(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 0.3)
    run.gap(closes + 0.3, closes + 0.5, seconds=3600)
    run.at(closes + 1.9, "space")
    assert "late-tap" not in run.names


def test_no_late_tap_is_taken_after_the_set_was_denied(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 0.1, "escape")
    run.at(closes + 0.3, "down")
    assert run.at(closes + 0.6, "enter") == ["answer"]
    run.at(closes + 1.8, "space")
    assert "late-tap" not in run.names
