"""Whatever a file holds, reading it gives a program or faults, and never anything else."""

import tomllib
from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st

from holdtimer.cli.check import describe, warnings
from holdtimer.errors import ProgramError
from holdtimer.program.loading import load, loads
from holdtimer.text import is_control
from tests.profiles import examples

WORDS = [
    *("format", "id", "title", "defaults", "exercises", "scripts", "steps", "ladder", "rung", "load", "easy"),
    *(
        "band_s",
        "window_s",
        "exercise",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        ",",
        ".",
        "\n",
        '"',
        "'''",
        "\r",
    ),
    *("1", "-1", "nan", "1e400", "0x" + "f" * 400, "true", "[1, 2]", "{}", "2024-01-01", '"x"', '"\\u0007"'),
    *("# remark", "\\", "é", "\x1b"),
]
SPOILERS = st.one_of(st.sampled_from(WORDS), st.text(max_size=6))


def read(text):
    try:
        loaded = loads(text, "f.toml")
    except ProgramError as found:
        last = text.count("\n") + 1
        for fault in found.faults:
            assert 1 <= fault.line <= last
            assert not any(map(is_control, fault.message)), fault.message
        return
    assert not any(map(is_control, "".join(describe(loaded.program) + warnings(loaded))))


@given(st.one_of(st.text(), st.lists(st.sampled_from(WORDS)).map(" ".join)))
def test_any_text_gives_a_program_or_faults(text):
    read(text)


@given(data=st.binary(max_size=400))
def test_any_bytes_give_a_program_or_faults(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_bytes(data)
    with suppress(ProgramError):
        load(path)


@examples(300)
@given(data=st.data())
def test_a_good_file_with_a_piece_changed_gives_a_program_or_faults(good, data):
    text = good
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 12)))
        text = text[:start] + data.draw(SPOILERS) + text[end:]
    read(text)


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=8),
    st.just(10**400),
    st.dates(),
)
VALUES = st.deferred(
    lambda: LEAVES | st.lists(VALUES, max_size=3) | st.dictionaries(st.text(max_size=5), VALUES, max_size=3)
)


def toml(value):
    match value:
        case bool():
            return str(value).lower()
        case str():
            return '"' + "".join(f"\\U{ord(c):08X}" for c in value if not 0xD800 <= ord(c) < 0xE000) + '"'
        case list():
            return "[" + ", ".join(map(toml, value)) + "]"
        case dict():
            return "{" + ", ".join(f"{toml(key)} = {toml(item)}" for key, item in value.items()) + "}"
        case None:
            return '""'
        case int() if value > 10**300:
            return hex(value)
        case _:
            return str(value)


def places(node, path=()):
    yield path
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, item in items:
        yield from places(item, (*path, key))


@examples(300)
@given(data=st.data())
def test_a_good_file_with_any_value_in_any_place_gives_a_program_or_faults(good, data):
    tree = tomllib.loads(good)
    path = data.draw(st.sampled_from([place for place in places(tree) if place]))
    node = tree
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = data.draw(VALUES)
    read("".join(f"{key} = {toml(value)}\n" for key, value in tree.items()))
