import sys
import unicodedata

import pytest

from holdtimer.text import CONTROLS, control_in, did_you_mean, harmless, nearest, one_line


@pytest.mark.parametrize(
    "char", ["\x00", "\x07", "\x1b", "\x7f", "\x9b", "\u061c", "\u200b", "\u2028", "\u202e", "\u2066"]
)
def test_what_steers_a_terminal_or_hides_or_reorders_text_is_a_control(char):
    assert control_in(f"wall{char}sit") == char
    assert harmless(f"wall{char}sit") == "wall?sit"


def test_every_control_invisible_mark_and_separator_of_unicode_is_known():
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    known = {char for char in every if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp")}
    found = set(CONTROLS.findall(every))
    assert known - found == {"\u200c", "\u200d"}
    assert {unicodedata.category(char) for char in found - known} <= {"Cn"}  # of another Unicode


def test_letters_of_any_language_are_no_controls():
    for text in ["Kniebeuge über Eck", "विस्तृत\u200dक्ष", "μυς", "深蹲", "a\tb\nc"]:
        assert control_in(text) is None


def test_quoted_text_is_cut():
    assert harmless("x" * 41) == "x" * 40 + "..."


def test_white_space_is_folded():
    assert one_line("  wall \n\t sit ") == "wall sit"


def test_the_nearest_word_is_offered_only_when_it_is_near():
    assert nearest("ladde", ["load", "ladder"]) == "ladder"
    assert nearest("zzz", ["load", "ladder"]) is None
    assert did_you_mean("zzz", ["load", "ladder"]) == "; choose one of: load, ladder"
    assert did_you_mean("zzz", []) == "; there is none yet"
