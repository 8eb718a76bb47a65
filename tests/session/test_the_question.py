"""The question after a window that closed in silence: a yes and a no of the same weight."""

import pytest

from holdtimer.session.menu import Choice
from holdtimer.session.state import Tap


@pytest.fixture
def asked(begin, a_set):
    """A session three seconds after its first window closed with no stamp; another set follows."""
    run = begin(a_set(), a_set())
    run.at(run.in_window() + 93)
    assert run.session.asking is not None
    return run


def hold(run, start, seconds):
    names = run.at(start, "space")
    t = start + 0.5
    while t < start + seconds:
        names += run.at(round(t, 3), "space")
        t += 0.033
    return names


def choose(run, line):
    run.at(run.engine.menu.scanned_since)
    for _ in range(60):
        if run.engine.menu.marked is line:
            return run.at(run.now + 1, "space")
        run.at(run.now + 0.5)
    raise AssertionError(f"{line} was never marked")


def test_one_backspace_says_no(asked):
    assert asked.at(asked.now + 1, "backspace") == ["answer"]
    assert (asked.last.field, asked.last.value, asked.last.set) == ("ran_to_end", False, 1)
    assert asked.session.asking is None
    (result,) = asked.results
    assert (result.confirmed, result.counted) == (False, False)


def test_a_backspace_takes_a_yes_back_as_long_as_the_rest_lasts(asked):
    assert asked.at(asked.now + 1, "space") == ["confirmed"]
    assert asked.at(asked.now + 20, "backspace") == ["answer"]
    assert not asked.results[0].counted
    assert asked.at(asked.now + 2, "backspace") == []


def test_a_backspace_from_the_window_is_no_answer(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    assert "answer" not in run.at(closes + 1.9, "backspace")
    run.at(closes + 2.6)
    assert run.session.asking is not None
    assert run.engine.dropped.reason == "screen"


def test_a_backspace_held_down_says_no_once(asked):
    t = asked.now + 1
    names = [name for n in range(60) for name in asked.at(t + (0.4 + n * 0.033 if n else 0), "backspace")]
    assert names.count("answer") == 1


def test_a_backspace_elsewhere_in_a_rest_says_nothing(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 95)
    assert run.at(opens + 96, "backspace") == []


def test_one_switch_is_offered_both_answers_one_after_the_other(asked):
    hold(asked, asked.now + 1, 3.3)
    lines = asked.engine.menu.lines
    assert lines[:3] == (Choice.SYMPTOM, Choice.NOT_TO_THE_END, Choice.TO_THE_END)


@pytest.mark.parametrize(("line", "counted"), [(Choice.TO_THE_END, True), (Choice.NOT_TO_THE_END, False)])
def test_one_switch_gives_either_answer(asked, line, counted):
    hold(asked, asked.now + 1, 3.3)
    assert len(choose(asked, line)) == 1
    assert asked.session.asking is None
    assert asked.results[0].counted is counted


def test_whoever_holds_the_only_switch_has_not_said_yes_by_it(asked):
    """They may have fainted on it: the question stays open when nothing is chosen."""
    names = hold(asked, asked.now + 1, 3.3)
    assert names[:1] == ["confirmed"]
    assert asked.session.asking is not None
    asked.at(asked.now + 120)
    assert asked.engine.menu is None
    assert asked.engine.tap_meaning(asked.now) is Tap.CONFIRM
    assert not asked.results[0].counted


def test_a_yes_after_one_that_was_taken_back_counts(asked):
    hold(asked, asked.now + 1, 3.3)
    asked.at(asked.now + 120)
    assert asked.at(asked.now + 2, "space") == ["confirmed"]
    assert asked.results[0].counted


def test_an_honest_yes_stays_when_the_menu_is_asked_for_much_later(asked):
    asked.at(asked.now + 1, "space")
    hold(asked, asked.now + 15, 3.3)
    assert asked.engine.is_scanning
    assert asked.set.confirmed


def test_taps_in_a_row_take_back_yes_and_ready_one_event_after_the_other(asked):
    for n in range(5):
        asked.at(asked.now + 1 + n * 0.1, "space")
    assert {"confirmed", "ready", "not-ready"} < set(asked.names)
    assert (asked.last.ev, asked.last.field, asked.last.value) == ("answer", "ran_to_end", None)
    assert [event.n for event in asked.events] == list(range(len(asked.events)))
    assert asked.session.asking is not None
