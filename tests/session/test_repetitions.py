import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.session.results import repetitions

TEMPO = (3.0, 1.0, 2.0, 0.0)
WORKED = ((0.0, 20.0), (31.0, 50.0))


@pytest.mark.parametrize(("at", "count"), [(0, 0), (5.9, 0), (6, 1), (65, 10), (66, 11)])
def test_only_whole_repetitions_count(at, count):
    assert repetitions(at, TEMPO, [(0, 90)]) == count


def test_the_rhythm_begins_anew_at_each_re_entry():
    assert repetitions(50.0, TEMPO, WORKED) == 3 + 3


def test_what_came_after_the_stamp_is_left_out():
    assert repetitions(20.0, TEMPO, WORKED) == 3


def test_a_rhythm_that_takes_no_time_tells_nothing():
    assert repetitions(60, (0.0, 0.0, 0.0, 0.0), [(0, 90)]) == 0


@given(st.floats(0, 600), st.tuples(*[st.floats(0.25, 10)] * 4))
def test_there_is_never_more_than_the_time_allows(at, tempo):
    count = repetitions(at, tempo, [(0, 600)])
    assert count * sum(tempo) <= at + 1e-4
    assert (count + 1) * sum(tempo) > at
