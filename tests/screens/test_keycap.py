from hypothesis import given
from hypothesis import strategies as st

from holdtimer.screens.fit import tap_rows
from tests.tables import every

WORDS = ["I have failed", "I am back in", "ready", "I worked to the end"]


@every("words", WORDS)
@every("rows", [3, 4, 5, 7])
def test_what_a_tap_does_is_in_large_letters_at_80_columns(words, rows):
    drawn = tap_rows(words, 78, rows)
    beside = "".join(row[16:] for row in drawn)
    assert len(drawn) == rows
    assert not any(character.isalpha() for character in beside)


def test_the_key_has_large_letters_where_there_is_room():
    assert "TAP" not in "".join(tap_rows("ready", 78, 5))


def test_the_key_gives_up_its_large_letters_before_the_words_do():
    drawn = "".join(tap_rows("I worked to the end", 78, 5))
    assert "TAP" in drawn
    assert "end" not in drawn


@every("rows", [1, 3, 5, 9])
def test_a_key_that_counts_looks_fuller_than_one_that_does_not(rows):
    live, dead = ("".join(tap_rows("ready", 120, rows, live)) for live in (True, False))
    assert live.count("█") > dead.count("█")


@given(st.text("abcdefg hij", max_size=80), st.integers(30, 220), st.integers(1, 12), st.booleans())
def test_the_tap_line_never_leaves_its_box(words, columns, rows, live):
    drawn = tap_rows(words, columns, rows, live)
    assert len(drawn) == rows
    assert all(len(row) <= columns for row in drawn)
