"""Whatever a stranger's file holds, it is read or refused in words, in little time."""

import json
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.profiles import examples
from tests.strangers import KINDS

GOOD_LINES = [json.loads(line) for line in KINDS["log"].good.splitlines()]
VALUES = st.one_of(
    st.sampled_from([value for line in GOOD_LINES for value in line.values() if not isinstance(value, list)]),
    st.sampled_from(
        [0, 0.0, -1, 1e-9, 1e8, 10**18, -(10**400), 0.5, 90, True, False, None, "", [], {}, [0, 1e8]]
    ),
    st.text(max_size=5),
)
EVENTS = sorted({line["ev"] for line in GOOD_LINES})
PLACES = st.integers(0, len(GOOD_LINES) - 1)
FIELDS = st.sampled_from(sorted({key for line in GOOD_LINES for key in line}))
CHANGES = st.lists(
    st.one_of(
        st.tuples(st.just("set"), PLACES, FIELDS, VALUES),
        st.tuples(st.just("swap"), PLACES, PLACES, st.none()),
        st.tuples(st.just("copy"), PLACES, PLACES, st.none()),
        st.tuples(st.just("drop"), PLACES, st.none(), st.none()),
        st.tuples(st.just("be"), PLACES, st.sampled_from(EVENTS), st.none()),
    ),
    max_size=6,
)


def changed(changes, renumbers):
    """Return the lines of the good log after these changes, numbered anew where that is asked."""
    lines = [dict(line) for line in GOOD_LINES]
    for kind, place, other, value in changes:
        at = min(place, len(lines) - 1)
        if kind == "set":
            lines[at][other] = value
        elif kind == "be":
            lines[at]["ev"] = other
        elif kind == "drop" and len(lines) > 1:
            del lines[at]
        elif kind in ("swap", "copy"):
            there = min(other, len(lines) - 1)
            moved = dict(lines[at]) if kind == "copy" else lines.pop(at)
            lines.insert(there, moved)
    for n, line in enumerate(lines):
        line["n"] = n if renumbers else line.get("n")
    return b"\n".join(json.dumps({"n": line.pop("n"), **line}).encode() for line in lines)


@examples(400, 20)
@given(CHANGES, st.booleans())
def test_a_log_in_any_order_and_with_any_value_is_read_to_its_last_word(changes, renumbers):
    KINDS["log"].read(changed(changes, renumbers))


@examples(150, 25)
@given(st.sampled_from(sorted(set(KINDS) - {"log", "program"})), st.data())
def test_a_good_file_with_any_bytes_in_it_is_read_or_refused(kind, data):
    good = KINDS[kind].good
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(good)))
        end = data.draw(st.integers(start, min(len(good), start + 12)))
        spoiler = st.one_of(
            st.binary(max_size=6), st.sampled_from([b"\n", b'"', b"[", b",", b"1e400", b"\xff"])
        )
        good = good[:start] + data.draw(spoiler) + good[end:]
    KINDS[kind].read(good)


DEEP = {
    "program": [b"a=" + b"[" * 90_000, b"[a]\n" * 5_000, b"a." * 20_000 + b"b=1"],
    "csv": [b'"' * 100_001, b"," * 50_000],
    "settings": [b"volume=" + b"[" * 90_000, b"not_taps=[" + b'"x",' * 2_000 + b"]"],
    "remembered": [b'{"person":' + b"[" * 90_000],
    "log": [b"{" * 100_000, b'{"n":0,"t":0,"ev":"opened","rungs":' + b"[" * 90_000 + b"}"],
}


@pytest.mark.parametrize("kind", DEEP)
def test_a_deep_or_long_file_is_refused_at_once(kind):
    for content in DEEP[kind]:
        begun = time.process_time()
        KINDS[kind].read(content)
        assert time.process_time() - begun < 2.0, content[:20]
