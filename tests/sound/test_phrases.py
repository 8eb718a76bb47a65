import pytest

from holdtimer.sound.phrases import EVERY, duration, moment, number
from tests.tables import every


@every(("count", "said"), [(0, "zero"), (7, "seven"), (19, "nineteen"), (20, "twenty"), (69, "sixty nine")])
def test_a_number_is_said_in_its_parts(count, said):
    assert " ".join(number(count)) == said


@every("count", [-1, 100])
def test_a_number_that_is_not_said_in_one_is_refused(count):
    with pytest.raises(ValueError, match="not said in one"):
        number(count)


@every(
    ("seconds", "said"),
    [
        (69.99, "sixty nine seconds"),
        (99.0, "ninety nine seconds"),
        (100.0, "one minute forty"),
        (120.0, "two minutes"),
        (600.0, "ten minutes"),
    ],
)
def test_how_long_something_is_follows_the_clock_on_the_screen(seconds, said):
    assert " ".join(duration(seconds)) == said


def test_a_moment_has_no_unit_below_100_seconds():
    assert moment(69.2) == ("sixty", "nine")
    assert " ".join(moment(125)) == "two minutes five"


@every("seconds", range(601))
def test_every_moment_of_the_longest_window_is_made_of_recordings(seconds):
    assert set(moment(seconds)) | set(duration(seconds)) <= set(EVERY)
