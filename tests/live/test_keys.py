import string

from hypothesis import assume, given
from hypothesis import strategies as st
from textual._ansi_sequences import ANSI_SEQUENCES_KEYS
from textual.keys import _character_to_key

from holdtimer.live.keys import _SEQUENCES, ESCAPE_S, PASTE_S, KeyParser, is_key_name
from tests.tables import every

# other words of the full screen for the same keys
SAME_ON_SCREEN = {
    "ctrl+h": "backspace",
    "ctrl+i": "tab",
    "ctrl+j": "enter",
    "ctrl+m": "enter",
    "ctrl+space": "space",
}


def names(*pieces, then=None, every=0.001):
    """Feed pieces of bytes one after the other and return the names of the keys."""
    parser, keys, at = KeyParser(), [], 0.0
    for piece in pieces:
        keys += parser.feed(piece, at)
        at += every
    keys += parser.settle(at + 1 if then is None else then)
    return [key.name for key in keys]


@every(
    ("data", "name"),
    [
        (b"a", "a"),
        (b" ", "space"),
        (b"\r", "enter"),
        (b"\n", "enter"),
        (b"\t", "tab"),
        (b"\x7f", "backspace"),
        (b"\x08", "backspace"),
        (b"?", "question_mark"),
        (b"+", "plus"),
        (b"-", "minus"),
        (b"\x03", "ctrl+c"),
        (b"\x11", "ctrl+q"),
        (b"\x13", "ctrl+s"),
        (b"\x18", "ctrl+x"),
        (b"\x00", "ctrl+@"),
        ("ß".encode(), "ß"),
        ("世".encode(), "世"),
        ("\u200d".encode(), "ctrl+200d"),
        (b"\x1b[A", "up"),
        (b"\x1b[B", "down"),
        (b"\x1bOA", "up"),
        (b"\x1bOM", "enter"),
        (b"\x1b[5~", "pageup"),
        (b"\x1b[15~", "f5"),
        (b"\x1b[[E", "f5"),
        (b".", "full_stop"),
        (b"\x1bOP", "f1"),
        (b"\x1b[17~", "f6"),
        (b"\x1b[24~", "f12"),
        (b"\x1b[3~", "delete"),
        (b"\x1b[99~", "key[99~"),
        (b"\x1b[1;2A", "key[1;2A"),
        (b"\x1bx", "alt+x"),
        (b"\x1b", "escape"),
        (b"\x1b[I", "focus-in"),
        (b"\x1b[O", "focus-out"),
        (b"\x1b[<0;10;20M", "pointer"),
        (b"\x1b[<2;10;20M", "pointer"),
        (b"\x1b[<4;10;20M", "pointer"),
        (b"\x1b[M !!", "pointer"),  # an old report, and one far to the right
        (b"\x1b[M\x22\xf0\xf1", "pointer"),
        (b"\x1b[M", "key[M"),
        (b"\xc3", "replacement_character"),  # the first byte of a letter, and nothing after it
        (b"\x1b[55296u", "ctrl+d800"),
        (b"\x1b[97u", "a"),
        (b"\x1b[97;1:1u", "a"),
        (b"\x1b[97;1:2u", "a"),
        (b"\x1b[97;;97u", "a"),
        (b"\x1b[27u", "escape"),
        (b"\x1b[13u", "enter"),
        (b"\x1b[127u", "backspace"),
        (b"\x1b[99;5u", "ctrl+c"),
        (b"\x1b[113;5u", "ctrl+q"),
        (b"\x1b[9999999u", "key[9999999u"),
    ],
)
def test_each_key_has_its_name(data, name):
    assert names(data) == [name]


@every(
    "nothing",
    [
        b"\x1b[<0;10;20m",  # a button that goes up
        b"\x1b[<35;10;20M",  # the pointer moves
        b"\x1b[<32;10;20M",  # and drags
        b"\x1b[<64;10;20M",  # the wheel
        b"\x1b[<128;10;20M",
        b"\x1b[M#\xf0\xf1",  # old reports: a button that goes up, a wheel
        b"\x1b[M`!!",
        b"\x1b[1;1:3A",  # an arrow that goes up
        b"\x1b[57441u",  # a modifier alone
        b"\x1b[57442;5:1u",
        b"\x1b[97;1:3u",  # a key that goes up
        b"\x1b[?62;22c",  # answers of the terminal
        b"\x1b[>41;2;0c",
        b"\x1b[200~pasted\r\x1b[Ax\x1b[201~",
        b"\x1b[200~\x1bx\x1b[201~",
        b"",
    ],
)
def test_what_is_no_key_is_nothing(nothing):
    assert names(nothing + b"a") == ["a"]


@every("char", string.digits + string.ascii_letters + string.punctuation + " €ß")
def test_a_key_has_the_name_it_has_on_the_full_screen(char):
    """What a person has said to be no tap is none in either."""
    assert names(char.encode()) == [_character_to_key(char)]


@every(
    "data",
    [*map(chr, range(32)), *(f"\x1b{each}" for each in _SEQUENCES if each not in ("[I", "[O"))],
    ids=repr,
)
def test_a_key_is_called_here_as_it_is_on_the_full_screen(data):
    known = ANSI_SEQUENCES_KEYS.get(data)
    if known:
        assert names(data.encode()) == [SAME_ON_SCREEN.get(known[0].value, known[0].value)]


@every(
    "name",
    [
        "a",
        "A",
        "ß",
        "世",
        "7",
        "space",
        "pointer",
        "full_stop",
        "minus",
        "plus",
        "f5",
        "f24",
        "euro_sign",
        "key[99~",
        "ctrl+x",
        "ctrl+@",
        "ctrl+backslash",
        "alt+x",
        "shift+f5",
        "ctrl+shift+left",
    ],
)
def test_what_a_key_can_be_called_is_known(name):
    assert is_key_name(name)


@every(
    "name",
    ["", " ", "f55", "f0", "f5 ", "F5", "spacebar", "ab", ".", "ctrl+", "ctl+x", "focus-in", "key", "+"],
)
def test_what_no_key_is_called_is_told_from_it(name):
    assert not is_key_name(name)


@given(st.characters(exclude_categories=["Cs"]))
def test_whatever_character_a_key_sends_its_name_is_one(char):
    for name in names(char.encode(), then=1):
        assert is_key_name(name) or not (char.isprintable() and char < "\u3000")


def test_keys_come_in_the_order_they_were_pressed():
    assert names(b"ab\x1b[Ac") == ["a", "b", "up", "c"]


@every("data", ["é".encode(), "世".encode(), "🜁".encode(), b"\x1b[A", b"\x1b[<0;1;1M", b"\x1b[97u"])
def test_a_key_may_come_in_pieces(data):
    pieces = [bytes([byte]) for byte in data]
    assert names(*pieces) == names(data)
    assert len(names(data)) == 1


def test_bytes_that_are_no_text_are_still_a_key():
    assert names(b"\xff", b"a") == ["replacement_character", "a"]


def test_a_lone_escape_is_one_after_a_tenth_of_a_second():
    parser = KeyParser()
    assert parser.feed(b"\x1b", 0.0) == []
    assert list(parser.settle(ESCAPE_S - 0.001)) == []
    (key,) = parser.settle(ESCAPE_S)
    assert (key.name, key.at) == ("escape", 0.0)
    assert list(parser.settle(9.0)) == []


def test_a_key_long_after_an_escape_is_a_key_of_its_own():
    assert names(b"\x1b", b"[", b"A", every=0.2) == ["escape", "left_square_bracket", "A"]


def test_a_report_that_is_never_completed_is_a_key_and_those_after_it():
    assert names(b"\x1b[Ma", b"b", every=0.2) == ["key[M", "a", "b"]


def test_a_key_has_the_text_it_types():
    keys = KeyParser().feed("aß \x1b[A\r\x7f世".encode(), 0.0)
    assert [key.text for key in keys] == ["a", "ß", " ", "", "", "", "世"]


def test_two_escapes_are_two():
    assert names(b"\x1b\x1b") == ["escape", "escape"]


@every("begun", [b"\x1b[", b"\x1b[12", b"\x1b[[", b"\x1bO", b"\x1b[<0;1"])
def test_a_sequence_that_is_never_completed_is_the_keys_it_is_made_of(begun):
    assert names(begun) == ["escape", *map(_character_to_key, begun[1:].decode())]


def test_a_sequence_that_cannot_be_one_hides_no_key_behind_it():
    assert names("\x1b[éa".encode()) == ["escape", "left_square_bracket", "é", "a"]
    assert names(b"\x1b[\x1b[A") == ["escape", "left_square_bracket", "up"]


def test_a_sequence_without_end_is_given_up():
    assert names(b"\x1b[" + b"1" * 80)[-1] == "1"


def test_a_paste_whose_end_is_lost_does_not_swallow_keys_for_ever():
    parser = KeyParser()
    parser.feed(b"\x1b[200~some text", 1.0)
    assert parser.feed(b"x", 1.0 + PASTE_S - 0.01) == []
    assert [key.name for key in parser.feed(b"y", 2.0 + PASTE_S)] == ["y"]


def test_a_key_has_the_time_its_last_byte_was_read():
    parser = KeyParser()
    parser.feed(b"\x1b[", 1.0)
    (key,) = parser.feed(b"A", 1.05)
    assert key.at == 1.05


chunks = st.lists(st.tuples(st.binary(max_size=12), st.floats(0, 0.3)), max_size=30)
bits = st.sampled_from(
    [b"\x1b", b"[", b"O", b"200~", b"201~", b"<0;1;1M", b"57441u", b"A", b"\xc3", b"\xa9", b"1;", b"u"]
)


@given(st.one_of(chunks, st.lists(st.tuples(bits, st.floats(0, 0.3)), max_size=40)))
def test_no_bytes_make_it_fail_and_times_never_run_ahead(pieces):
    parser, at = KeyParser(), 0.0
    for data, pause in pieces:
        at += pause
        for key in [*parser.feed(data, at), *parser.settle(at)]:
            assert key.name
            assert 0 <= key.at <= at
    list(parser.settle(at + 1))
    assert [key.name for key in parser.feed(b"z", at + 2)][-1] == "z"


text = st.text(alphabet=string.ascii_letters + string.digits + "[]O;<~öß世", min_size=1, max_size=20)


@given(text, st.lists(st.integers(1, 7), max_size=10))
def test_no_printable_character_is_ever_lost(typed, cuts):
    data, pieces = typed.encode(), []
    for cut in cuts:
        pieces.append(data[:cut])
        data = data[cut:]
    assert names(*pieces, data) == [_character_to_key(char) for char in typed]


@given(text)
def test_what_follows_an_escape_is_never_lost(typed):
    """After an Escape each character is still in some key, or in a sequence a terminal sends for one."""
    assume(not typed.startswith("[M"))  # a report of the pointer takes any three bytes
    keys = names(b"\x1b" + typed.encode(), b"!")
    assert keys[-1].endswith(("!", "exclamation_mark"))
