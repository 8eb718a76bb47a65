from hypothesis import given
from hypothesis import strategies as st

from holdtimer.screens.fit import cuts, lettering, word
from holdtimer.screens.font import DRAWN
from tests.tables import every

WESTERN = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞŒß"
LARGE = set(" ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█")


def is_large(rows):
    return set("".join(rows)) <= LARGE


@every("text", ["I have failed", "Hands on the chair seat,", "I am back in", "I worked to the end"])
def test_what_must_be_read_in_work_fits_one_line_of_80_columns(text):
    drawn = lettering(text, 78, 3)
    assert is_large(drawn)
    assert len(drawn) == 3


def test_a_long_text_breaks_in_two_large_lines_when_there_is_room():
    drawn = lettering("Hands on the chair seat, stand up", 78, 7)
    assert is_large(drawn)
    assert len(drawn) == 7
    assert not drawn[3].strip()


def test_letters_grow_with_the_room():
    heights = [len(lettering("I have failed", columns, 9)) for columns in (60, 80, 120, 200)]
    assert heights == sorted(heights)
    assert heights[-1] == 9


def test_small_letters_are_drawn_as_capitals():
    assert lettering("ready", 80, 3) == lettering("READY", 80, 3)


def test_every_letter_is_unlike_the_others_at_every_size_but_o_and_zero():
    for rows in range(3, 14):
        seen = {}
        for letter in DRAWN:
            other = seen.setdefault(word(letter, rows).rows, letter)
            assert {letter, other} in ({letter}, {"O", "0"}), (rows, letter, other)


def test_no_letter_is_wider_than_its_place():
    for rows in range(3, 14):
        for cut in cuts(rows):
            for letter, draw in DRAWN.items():
                pen = cut.pen(letter)
                shape = draw(pen)
                assert shape.height == pen.height
                assert shape.within(pen.width).rows == shape.rows, (rows, letter)


def test_counters_of_letters_stay_open(holes):
    wanted = dict.fromkeys("ADOPR", 1) | {"B": 2} | dict.fromkeys("CEFGHJKLMNSTUVWXYZ", 0)
    for rows in range(3, 14):
        for cut in cuts(rows):
            for letter, count in wanted.items():
                assert holes(DRAWN[letter](cut.pen(letter))) == count, (rows, cut, letter)


@every("letter", WESTERN)
def test_western_letters_have_a_large_shape(letter):
    assert is_large(lettering(letter * 3, 80, 6))


@every("pair", ["AÄ", "EÉ", "EÈ", "ÉÈ", "EÊ", "NÑ", "CÇ", "OÕ", "ÄÂ", "AÅ"])
def test_an_accent_can_be_seen(pair):
    one, other = (lettering(letter, 80, 8) for letter in pair)
    assert one != other


def test_an_accent_costs_rows_but_not_the_size_of_the_letter():
    plain, accented = word("E", 5), word("É", 5)
    assert accented.height > plain.height
    assert accented.rows[-plain.height :] == plain.rows


@every("text", ["手を椅子に", "load 50 %", "a → b"])
def test_a_text_with_an_unknown_character_stays_ordinary_as_a_whole(text):
    assert lettering(text, 80, 5) == [text]


def test_ordinary_text_without_room_says_so():
    assert lettering("Hands on the chair seat", 10, 1) == ["Hands on…"]


@given(st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÜ .,-", max_size=60), st.integers(1, 220), st.integers(1, 14))
def test_large_words_never_leave_their_box(text, columns, rows):
    drawn = lettering(text, columns, rows)
    assert 1 <= len(drawn) <= rows
    assert all(len(row) <= columns for row in drawn)
