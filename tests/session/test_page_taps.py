"""Taps on a page of words, outside a session."""

import pytest

from holdtimer.session.debounce import PageTaps, Settings


def counted(*heard, since=10.0):
    taps = PageTaps(since)
    return [at for key, at in heard if taps.counts(key, at)]


def test_a_tap_counts_once_the_page_could_be_seen():
    assert counted(("space", 10.0)) == []
    assert counted(("space", 11.49)) == []
    assert counted(("space", 11.5)) == [11.5]


def test_a_tap_too_early_is_in_the_way_of_none_after_it():
    assert counted(("space", 11.0), ("space", 11.8)) == [11.8]


@pytest.mark.parametrize("every", [0.025, 0.04])
def test_a_key_held_since_before_the_page_turns_none(every):
    held = [("space", 10 + n * every) for n in range(int(30 / every))]
    assert counted(*held) == []


@pytest.mark.parametrize("hertz", [2.5, 3.5, 5])
def test_a_tremor_turns_one_page(hertz):
    shaken = [("space", 20 + n / hertz) for n in range(int(2 * hertz))]
    assert counted(*shaken) == [20]


def test_another_key_counts_while_one_is_held():
    held = [("a", 10 + n * 0.03) for n in range(1000)]
    heard = sorted([*held, ("space", 25.01)], key=lambda each: each[1])
    assert counted(*heard) == [25.01]


def test_a_person_with_a_long_guard_and_a_key_of_no_use_is_heard_on_pages_as_in_a_session():
    taps = PageTaps(10.0, Settings(guard_s=2.0, not_taps=frozenset({"f5"})))
    heard = [("f5", 20.0), ("a", 20.5), ("b", 22.0), ("c", 24.1), ("escape", 30.0)]
    assert [key for key, at in heard if taps.is_tap(key, at)] == ["a", "c"]
