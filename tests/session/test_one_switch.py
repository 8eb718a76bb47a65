"""A session with a single switch: five taps, or a key held down, open a menu that marks its lines in turn."""

import pytest

from holdtimer.session.menu import Choice
from holdtimer.session.state import Tap


def five_taps(run, start):
    names = []
    for n in range(5):
        names += run.at(start + n * 1.5, "space")
    return names


def hold(run, start, seconds, key="space"):
    names = run.at(start, key)
    t = start + 0.5
    while t < start + seconds:
        names += run.at(round(t, 3), key)
        t += 0.033
    return names


def test_five_taps_within_ten_seconds_open_the_scanned_menu(begin):
    run = begin()
    five_taps(run, 2)
    assert run.engine.is_scanning
    assert run.engine.tap_meaning(run.now + 2.4) is Tap.NOT_YET
    assert run.engine.tap_meaning(run.now + 2.5) is Tap.CHOOSE


def test_taps_more_than_ten_seconds_apart_do_not(begin):
    run = begin()
    for n in range(8):
        run.at(2 + n * 2.6, "space")
        if run.engine.session.open_set:
            break
        assert not run.engine.is_scanning


@pytest.mark.parametrize("keys", ["ooooooooo", "---------", "+-o+-o+-o"])
def test_keys_that_set_something_are_no_taps_for_it(begin, keys):
    run = begin()
    named = {"+": ["plus", "down", "enter"], "-": ["minus"], "o": ["o"]}  # a reason for the harder rung
    pressed = [name for key in keys if key in named for name in named[key]]
    for n, key in enumerate(pressed):
        run.at(2 + n * 1.1, key)
        assert not run.engine.is_scanning


def test_a_key_held_for_three_seconds_opens_it_once(begin):
    run = begin()
    hold(run, 2, 2.9)
    assert not run.engine.is_scanning
    run = begin()
    hold(run, 2, 6)
    assert run.engine.is_scanning
    assert run.engine.menu.marked is not Choice.GO_ON


@pytest.mark.parametrize("start", [round(1.5 + n * 0.0501, 4) for n in range(20)])
def test_a_key_held_since_ready_opens_it_whenever_it_went_down(begin, start):
    """Counted back in binary fractions, some of these starts would lie just after the count-in they began."""
    run = begin()
    hold(run, start, 4)
    assert run.engine.is_scanning


def test_each_line_is_marked_for_three_seconds_and_a_tap_chooses(begin):
    run = begin()
    hold(run, 2, 3.2)
    since = run.engine.menu.scanned_since
    lines = run.engine.menu.lines
    for n, line in enumerate(lines):
        for into in (0.1, 1.5, 2.9):
            run.at(since + 3 * n + into)
            assert run.engine.menu.marked is line
    assert lines[0] is Choice.SYMPTOM
    assert lines[-1] is Choice.GO_ON
    run.at(since + 3 * (2 * len(lines) - 2) + 1.5, "space")
    assert run.last.ev == "left"


def test_the_menu_goes_away_after_three_rounds_and_the_session_waits(begin):
    run = begin()
    hold(run, 2, 3.2)
    over = run.engine.menu.scanned_since + 9 * len(run.engine.menu.lines)
    run.at(over - 0.1)
    assert run.engine.is_scanning
    run.at(over)
    assert run.engine.menu is None
    assert run.engine.tap_meaning(run.now) in (Tap.BEGIN, Tap.READY)


def test_nothing_begins_by_itself_behind_the_menu(begin):
    run = begin()
    names = run.at(2, "space")
    assert "count-in" in names
    assert "not-ready" in hold(run, 5, 4)
    assert run.engine.is_scanning
    assert "window-open" not in run.at(40)


def test_a_held_key_in_a_window_is_one_failure_and_opens_nothing(begin):
    run = begin()
    run.at(2, "space")
    run.at(13)
    assert hold(run, 73, 5).count("failure") == 1
    assert not run.engine.is_scanning


def test_the_rest_that_is_left_stays_when_the_menu_stopped_it(begin, a_set):
    run = begin(a_set(), a_set(rest_s=90))
    run.at(2, "space")
    run.at(72, "space")
    run.at(103)
    run.at(110, "space")
    hold(run, 112, 3.5)
    assert run.engine.is_scanning
    choose(run, Choice.GO_ON)
    assert run.session.until == 192
    run.at(run.now + 2, "space")
    assert "count-in" in run.at(193)


def choose(run, line):
    """Wait until a line is marked in its turn, and tap."""
    run.at(run.engine.menu.scanned_since)
    for _ in range(60):
        if run.engine.menu.marked is line:
            return run.at(run.now + 1, "space")
        run.at(run.now + 0.5)
    raise AssertionError(f"{line} was never marked")


def test_one_switch_changes_the_rung_and_says_why(begin):
    run = begin()
    hold(run, 2, 3.2)
    assert choose(run, Choice.EASIER) == ["rung-chosen"]
    hold(run, run.now + 2, 3.2)
    assert choose(run, Choice.HARDER) == ["rung-chosen"]
    hold(run, run.now + 2, 3.2)
    assert choose(run, Choice.HARDER) == []
    assert run.engine.menu.asks_reason_for == "thighs level"
    assert choose(run, Choice.ADVISED) == ["rung-chosen"]
    assert run.session.rungs == {1: "thighs level"}


def test_one_switch_leaves_to_go_on_later(begin):
    run = begin()
    hold(run, 2, 3.2)
    assert choose(run, Choice.LEAVE) == ["left"]


def test_one_switch_skips(begin, a_set):
    run = begin(a_set(), a_set())
    hold(run, 2, 3.2)
    assert choose(run, Choice.SKIP)[:1] == ["skipped"]


@pytest.mark.parametrize("apart", [0.8, 1.2, 1.5, 2.0, 2.49])
def test_whoever_taps_on_and_on_in_haste_chooses_nothing(begin, a_set, apart):
    """Somebody impatient in a rest must not end up at "something feels wrong"."""
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 92)
    for n in range(20):
        run.at(opens + 93 + n * apart, "space")
    assert run.engine.is_scanning
    assert run.session.stopped is None
    assert run.engine.dropped.reason == "screen"
    assert choose(run, Choice.SKIP)[:1] == ["skipped"]


# -- something feels wrong


def test_something_feels_wrong_is_asked_again_and_a_second_tap_stops(begin):
    run = begin()
    five_taps(run, 2)
    assert choose(run, Choice.SYMPTOM) == []
    assert run.engine.menu.asks_again
    assert run.engine.menu.lines == (Choice.SYMPTOM, Choice.GO_ON)
    assert choose(run, Choice.SYMPTOM) == ["stopped"]
    assert run.session.stopped == "symptom"
    assert run.engine.is_over(run.now)


def test_whoever_says_that_something_feels_wrong_and_then_nothing_is_stopped_for(begin):
    """Silence is no all-clear: they may be on the floor."""
    run = begin()
    five_taps(run, 2)
    choose(run, Choice.SYMPTOM)
    asked_since = run.engine.menu.scanned_since
    assert run.at(asked_since + 5.9) == []
    assert run.at(asked_since + 6.2) == ["stopped"]
    assert (run.last.reason, run.last.scope, run.last.t) == ("symptom", "session", asked_since + 6)


@pytest.mark.parametrize("reason", ["quit", "terminated", "hang-up"])
def test_whoever_is_asked_again_whether_something_feels_wrong_when_the_program_ends_is_on_hold(begin, reason):
    run = begin()
    five_taps(run, 2)
    choose(run, Choice.SYMPTOM)
    assert run.engine.menu.asks_again
    assert run.took(run.engine.leave(reason, run.now + 1)) == ["stopped"]
    assert (run.session.stopped, run.session.left) == ("symptom", None)


def test_one_tap_takes_back_that_something_feels_wrong(begin):
    run = begin()
    five_taps(run, 2)
    choose(run, Choice.SYMPTOM)
    assert choose(run, Choice.GO_ON) == []
    assert run.engine.menu is None
    run.at(run.now + 60)
    assert run.session.stopped is None


def test_whoever_taps_on_while_it_is_asked_again_is_not_put_off(begin):
    run = begin()
    five_taps(run, 2)
    choose(run, Choice.SYMPTOM)
    said = run.now
    for n in range(1, 4):
        run.at(said + n * 0.9, "space")
    assert run.session.stopped == "symptom"


def test_something_feels_wrong_stands_though_what_lies_under_the_question_ends(begin, an_easy, a_set):
    run = begin(an_easy(20), a_set())
    run.at(2, "space")
    five_taps(run, 4)
    choose(run, Choice.SYMPTOM)
    assert run.session.phase == "easy"
    run.at(24)
    assert run.session.stopped == "symptom"


def test_something_feels_wrong_stands_though_the_machine_fell_asleep_at_the_question(begin):
    run = begin()
    five_taps(run, 2)
    choose(run, Choice.SYMPTOM)
    assert run.gap(run.now + 1, run.now + 600, 599) == ["stopped"]
    assert run.session.stopped == "symptom"


# -- a window that closed in silence


@pytest.mark.parametrize("ask", [lambda run, t: hold(run, t, 3.5), five_taps])
def test_the_tap_that_began_asking_for_the_menu_can_still_be_denied(begin, a_set, ask):
    """With one switch there is no other way to the menu than by what says "I worked to the end"."""
    run = begin(a_set(), a_set())
    ask(run, run.in_window() + 95)
    assert "confirmed" in run.names
    assert choose(run, Choice.NOT_TO_THE_END) == ["answer"]
    assert run.set.denied
    (result,) = run.results
    assert (result.confirmed, result.counted) == (False, False)
    hold(run, run.now + 2, 3.5)
    assert Choice.NOT_TO_THE_END not in run.engine.menu.lines


def test_after_the_last_window_too_and_the_session_waits_for_it(begin):
    run = begin()
    t = run.in_window() + 95
    for n in range(90):
        run.at(t + (0.3 + n * 0.033 if n else 0), "space")
        assert not run.engine.is_over(run.now)
    assert run.engine.is_scanning
    assert choose(run, Choice.NOT_TO_THE_END) == ["answer"]
    assert run.engine.is_over(run.now)
    (result,) = run.results
    assert not result.counted


# -- elsewhere


def test_a_key_held_from_the_window_into_the_rest_opens_nothing(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    hold(run, opens + 60, 38)
    assert run.session.phase == "rest"
    assert not run.engine.is_scanning
    assert [kind for kind, _ in run.stamps] == ["failure"]


def test_another_key_is_a_late_tap_while_one_is_held_over_the_close(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 50, "a")
    for n in range(1300):
        run.at(opens + 50.5 + n * 0.033, "a")
        if n in (150, 1230):
            run.at(opens + 50.51 + n * 0.033, "space")
    assert [kind for kind, _ in run.stamps] == ["failure", "re-entry"]
    assert run.set.late_tap_s == pytest.approx(1.1)


def test_the_scanned_menu_never_lies_over_a_window(begin, a_set, an_easy):
    run = begin(a_set(), an_easy(20), a_set(rest_s=0, advance="auto"))
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 2, "space")
    hold(run, closes + 5, 4)
    assert run.engine.is_scanning
    run.at(closes + 33)
    assert run.session.open_set is not None
    assert not run.engine.is_scanning
    assert run.at(closes + 60, "space")[-1] == "failure"


def test_keys_that_are_no_taps_choose_nothing_and_escape_lays_the_menu_away(begin):
    run = begin()
    hold(run, 2, 3.2)
    run.at(7)
    for n, key in enumerate(["question_mark", "backspace", "up", "down"]):
        assert run.at(7.5 + n, key) == []
        assert run.engine.is_scanning
    run.at(13, "escape")
    assert not run.engine.is_scanning


def test_taps_in_a_window_do_not_add_up_to_the_menu(begin, a_set):
    run = begin(a_set(window_s=30, band_s=(20, 30), final_s=10))
    opens = run.in_window()
    for n in range(8):
        run.at(opens + 8 + n * 2.1, "space")
    assert not run.engine.is_scanning
