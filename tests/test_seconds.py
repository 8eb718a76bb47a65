"""Seconds in words: rounded down in one place, with one way to write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.text import clock, countdown, in_seconds, tenths, two_times, whole_seconds


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [(8.743, "8 s"), (59.999, "59 s"), (99.9, "99 s"), (100, "1:40"), (105.2, "1:45"), (600, "10:00")],
)
def test_seconds_are_rounded_down_and_have_minutes_from_100_on(seconds, shown):
    assert in_seconds(seconds) == shown


@given(st.floats(0, 6000), st.integers(0, 6000))
def test_nothing_is_rounded_up_across_a_limit(seconds, limit):
    if seconds < limit - 1e-5:
        assert whole_seconds(seconds) < limit


@given(st.floats(0, 6000))
def test_what_has_passed_and_what_is_left_never_add_up_to_less_than_the_whole(seconds):
    gone, left = whole_seconds(seconds), countdown(6000 - seconds)
    minutes, _, rest = left.rpartition(":")
    assert gone + int(minutes or 0) * 60 + int(rest) in (6000, 6001)


def test_a_whole_second_that_floating_point_lacks_a_grain_of_is_whole():
    assert clock(0.1 + 0.2 + 59.7 - 1e-12) == "60"


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0.04, "0.1 s"), (0.68, "0.6 s"), (1.99, "1.9 s"), (2, "2.0 s")]
)
def test_tenths_are_those_reached(seconds, shown):
    assert tenths(seconds) == shown


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (60, 85.9, "60 to 85 s"),
        (65, 105, "65 s to 1:45"),
        (105, 130, "1:45 to 2:10"),
        (99.9, 100, "99 s to 1:40"),
    ],
)
def test_a_range_says_its_unit_once_or_at_each_end(low, high, shown):
    assert two_times(low, "to", high) == shown
