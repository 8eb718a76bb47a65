import json
import zlib
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Literal, Union, get_args, get_origin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from holdtimer.log.lines import MAX_LINE, Damage, Unknown, begins_as, decode, encode
from holdtimer.session import events as ev
from tests.profiles import examples
from tests.tables import every

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
TIMES = st.floats(0, 1e8).map(lambda value: round(value, 4) + 0.0)


def values(kind, bounds=()):
    """Return a strategy for the values a field of this type can take, within its bounds."""
    if get_origin(kind) is Annotated:
        return values(get_args(kind)[0], [each for info in kind.__metadata__ for each in info_bounds(info)])
    if kind is float and bounds:
        low = max(getattr(each, "ge", getattr(each, "gt", 0)) for each in bounds)
        high = min(getattr(each, "le", 1e8) for each in bounds)
        return st.floats(max(low, 0.0001), high).map(lambda value: round(value, 4))
    if get_origin(kind) is Literal:
        return st.sampled_from(get_args(kind))
    if get_origin(kind) in (Union, UnionType):
        return st.one_of(*[values(each) for each in get_args(kind)])
    if get_origin(kind) is tuple:
        args = get_args(kind)
        return (
            st.lists(values(args[0]), max_size=3).map(tuple)
            if args[-1] is ...
            else st.tuples(*map(values, args))
        )
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return models(kind)
    simple = {bool: st.booleans(), int: st.integers(0, 10), float: TIMES, str: TEXT, NoneType: st.none()}
    return simple[kind]


@cache
def models(kind):
    return st.builds(
        kind, **{name: values(each.annotation, each.metadata) for name, each in kind.model_fields.items()}
    )


def info_bounds(info):
    return getattr(info, "metadata", [])


KINDS = get_args(ev.AnyEvent)
EVENTS = st.one_of([models(kind) for kind in KINDS])


def sealed(body):
    return b'%b,"crc":"%08x"}\n' % (body, zlib.crc32(body))


@pytest.mark.parametrize("kind", KINDS)
@examples(20)
@given(data=st.data())
def test_what_is_encoded_decodes_to_the_same_event(kind, data):
    event = data.draw(models(kind))
    line = encode(event)
    assert decode(line) == event
    assert encode(decode(line)) == line
    assert line.endswith(b"}\n")
    assert line.count(b"\n") == 1


@examples(50)
@given(EVENTS)
def test_a_line_begins_with_number_time_and_name_and_ends_with_its_checksum(event):
    line = encode(event)
    fields = json.loads(line)
    assert list(fields)[:3] == ["n", "t", "ev"]
    assert list(fields)[-1] == "crc"
    assert int(fields["crc"], 16) == zlib.crc32(line[: line.rindex(b',"crc"')])
    assert begins_as(frozenset({event.ev, "other"})).match(line)
    assert not begins_as(ev.NAMES - {event.ev}).match(line)
    assert None not in fields.values()


def test_a_line_is_compact_and_times_have_at_most_four_decimals():
    event = ev.Failure(n=12, t=83.41204999, set=3, exercise="toe", side="left", at=66.00004)
    body = b'{"n":12,"t":83.412,"ev":"failure","set":3,"exercise":"toe","side":"left","at":66.0,"late_ms":0.0'
    assert encode(event) == sealed(body)


@pytest.mark.parametrize("ending", [b"", b"\n", b"\r\n", b" \r\n"])
def test_a_line_is_read_whatever_its_line_ending(ending):
    event = ev.Ready(n=1, t=2)
    assert decode(encode(event).rstrip() + ending) == event


def test_a_line_with_spaces_is_read():
    body = b'{"n": 12, "t": 83.4120, "ev": "ready"'
    line = body + b', "crc": "%08x"}' % zlib.crc32(body)
    assert decode(line) == ev.Ready(n=12, t=83.412)


def test_an_unknown_event_is_told_from_damage():
    assert decode(sealed(b'{"n":1,"t":2.0,"ev":"heart-rate","bpm":90')) == Unknown("heart-rate", 1)


def test_a_field_this_version_does_not_know_is_ignored():
    assert decode(sealed(b'{"n":1,"t":2.0,"ev":"ready","mood":"good"')) == ev.Ready(n=1, t=2)


@every(
    ("line", "reason"),
    [
        (b"", "the line is cut off or was not written by holdtimer"),
        (b'{"n":1,"t":2.0,"ev":"rea', "the line is cut off or was not written by holdtimer"),
        (b"\0" * 200, "the line is cut off or was not written by holdtimer"),
        (b'{"n":1,"t":2.0,"ev":"ready","crc":"00000000"}', "the line does not match its checksum"),
        (sealed(b'{"n":1,"t":2.0,"ev":"ready","x":'), "the line is not JSON"),
        (sealed(b"[1"), "the line is not JSON"),
        (sealed(b'{"n":1,"t":2.0,"ev":"opened","person":"\xc3"'), "the line is not UTF-8"),
        (sealed(b'{"n":1,"t":2.0'), "the line names no event"),
        (sealed(b'{"n":1,"t":-2.0,"ev":"ready"'), "t: Input should be greater than or equal to 0"),
        (sealed(b'{"n":1,"t":NaN,"ev":"ready"'), "t: Input should be a finite number"),
        (sealed(b'{"t":2.0,"ev":"ready"'), "n: Field required"),
        (sealed(b'{"n":1,"t":2.0,"ev":"off-day","value":"\x1b[2J"'), "the line is not JSON"),
        (b"x" * (MAX_LINE + 1), "the line is longer than 4 MB"),
        (sealed(b'{"a":' * 100_000), "the line is not JSON"),
    ],
    ids=range(14),
)
def test_damage_says_in_words_what_is_wrong(line, reason):
    assert decode(line) == Damage(reason)


def test_damage_tells_its_place():
    assert str(Damage("the line is not JSON", "a.jsonl", 3)) == "a.jsonl:3: the line is not JSON"
    assert str(Damage("the file is empty", "a.jsonl")) == "a.jsonl: the file is empty"
    assert str(Damage("the line is not JSON")) == "the line is not JSON"


@given(st.binary(max_size=300))
def test_no_bytes_make_decoding_fail(line):
    assert isinstance(decode(line), Damage)


@examples(50)
@given(EVENTS, st.data())
def test_a_line_with_one_wrong_byte_is_never_another_event(event, data):
    line = bytearray(encode(event)[:-1])
    place = data.draw(st.integers(0, len(line) - 1))
    line[place] ^= data.draw(st.integers(1, 255))
    assert isinstance(decode(bytes(line)), Damage)


def test_no_names_pass_no_line_over():
    assert not begins_as(frozenset()).match(encode(ev.Ready(n=1, t=2)))
