import pytest

from holdtimer.progression.censored import median, survival


def test_with_nothing_censored_it_is_the_share_that_lasted_longer():
    assert survival([(50, True), (60, True), (70, True), (80, True)]) == [
        (50, 0.75), (60, pytest.approx(0.5)), (70, pytest.approx(0.25)), (80, 0.0),
    ]  # fmt: skip


def test_the_median_is_reached_at_one_half():
    assert median([(50, True), (60, True), (70, True), (80, True)]) == 65  # the middle of 60 to 70
    assert median([(50, True), (60, True), (80, False), (90, False)]) == 60  # no end to its interval
    assert median([(70, True), (50, True), (60, True)]) == 60


def test_runs_to_the_end_push_the_median_up():
    assert median([(50, True), (60, True), (90, False)]) == 60
    assert median([(50, True), (90, False), (90, False)]) is None


def test_a_failure_comes_before_a_run_to_the_end_at_the_same_second():
    assert survival([(90, False), (90, True)]) == [(90, 0.5)]


def test_nothing_has_no_median():
    assert median([]) is None
