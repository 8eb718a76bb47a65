"""Lines with any figure or time and a right checksum: bounded, named, and no command fails over one."""

import json
import zlib
from functools import cache

import pytest

from holdtimer.log import session_log
from holdtimer.log.lines import encode
from holdtimer.program import loading
from holdtimer.session import events as ev

TIMES = ["9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "never"]
NUMBERS = [0, 1e-9, 1, 1e8, 10**9, 10**18, -1, 10**400, 0.5]
PAIRS = [[0, 0], [90, 60], [0, 1e8], [1e-9, 1e-9]]
COMMANDS = (["next", "--json"], ["trend"], ["show"], ["export", "csv"], ["export", "json"])
PAPER = "20261120T180000Z-00000001"
TARGET = {
    "set": 1,
    "exercise": "wall-sit",
    "side": "both",
    "rung": "half way",
    "window_s": 90,
    "band_s": (60, 90),
}


def sealed(fields):
    body = json.dumps(fields).encode()[:-1]
    return b'%b,"crc":"%08x"}\n' % (body, zlib.crc32(body))


def poisoned(lines):
    """Yield the lines with another value in each place that holds a number or a time."""
    for place, line in enumerate(lines):
        fields = json.loads(line)
        del fields["crc"]
        for name, value in fields.items():
            others = NUMBERS if isinstance(value, (int, float)) else []
            others = TIMES if name in ("wall", "started", "ended") else others
            others = PAIRS if name == "band_s" else others
            for other in [] if isinstance(value, bool) else others:
                yield [*lines[:place], sealed(fields | {name: other}), *lines[place + 1 :]]


def on_paper(opened):
    row = {"started": "2026-11-20T18:00:00+00:00", "ended": "2026-11-20T18:30:00+00:00", "tension_s": 70}
    return [
        opened.model_copy(update={"kind": "paper", "session": PAPER}),
        ev.PaperResult(
            n=1, t=0, first_failure_s=66.0, late_tap_s=0.5, reentries=1, effort=5, **row, **TARGET
        ),
        ev.Closed(n=2, t=0, reason="finished"),
    ]


def answers(opened):
    about = {"kind": "answers", "session": "20261126T170000Z-00000002", "about": opened.session}
    fields = ("effort", "moved", "failed_about", "slip")
    said = [
        ev.Answer(n=n, t=0, id=name, field=name, value=5.0, set=1, session=opened.session)
        for n, name in enumerate(fields, 1)
    ]
    return [opened.model_copy(update=about), *said]


@pytest.fixture(autouse=True)
def _what_stays_the_same_is_read_once(monkeypatch):
    """Of hundreds of folders that differ in one line, decode the others once, and their program too."""
    monkeypatch.setattr(session_log, "decode", cache(session_log.decode))
    monkeypatch.setattr(loading, "parse", cache(loading.parse))


@pytest.mark.parametrize("kind", ["led", "on paper", "answers"])
def test_no_figure_and_no_time_in_a_log_ends_a_command(kind, trained, call, hall, data):
    for days in (60, 30, 9):
        trained(40.0 + days / 10, until=100, ago_s=days * 86400.0)
    path = trained(45.0, 52.0, 70.0, until=100, ago_s=86400.0)
    lines = path.read_bytes().splitlines(keepends=True)
    if kind != "led":
        made = (on_paper if kind == "on paper" else answers)(ev.event_from_json(lines[0]))
        path, lines = path.with_name(f"{made[0].session}.jsonl"), list(map(encode, made))
    for number, content in enumerate(poisoned(lines)):
        path.write_bytes(b"".join(content))
        command, *more = COMMANDS[number % len(COMMANDS)]
        said = call(command, *([hall] if command == "next" else []), *more, "--person", "Ada")
        assert said.code == 0, (said.err, content)


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("started", "9999-12-31T23:59:59Z", "started: the year has to be from 1900 to 2999"),
        ("ended", "9999-12-31", "ended: the year has to be from 1900 to 2999"),
        ("window_s", 0, "window_s: Input should be greater than or equal to 10"),
        ("set", 1001, "set: Input should be less than or equal to 1000"),
    ],
)
def test_what_is_out_of_bounds_is_named_and_the_rest_is_used(field, value, fault, trained, call, hall):
    path = trained(45.0, until=100, ago_s=86400.0)
    made = list(map(encode, on_paper(ev.event_from_json(path.read_bytes().splitlines()[0]))))
    fields = json.loads(made[1])
    del fields["crc"]
    path.with_name(f"{PAPER}.jsonl").write_bytes(made[0] + sealed(fields | {field: value}) + made[2])
    said = call("next", hall, "--json")
    assert said.code == 0
    assert fault in said.err
    assert said.json["sets"][0]["evidence"][0]["first_failure_s"] == 45


def test_a_deep_nest_in_the_cache_is_not_believed(trained, call, hall, data):
    path = trained(45.0, until=100, ago_s=86400.0)
    (data / f".{path.parent.name}.digest").write_bytes(b"[" * 100_000 + b"\n{}")
    (data / "remembered.json").write_bytes(b'{"person":' + b"[" * 100_000)
    said = call("next", hall, "--json")
    assert (said.code, said.json["sets"][0]["evidence"][0]["first_failure_s"]) == (0, 45)
