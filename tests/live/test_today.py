"""Bare `holdtimer` in a real terminal: from what is due into the session."""

import json
from functools import partial

import pytest

from holdtimer.cli.paths import last_program
from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.session import events as ev

LEAVE = b"\x11"
LOW = (100, 24)  # in a larger one all of it is drawn, not written

pytestmark = pytest.mark.xdist_group("terminals")
SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


def remember(data, program, person="Ada"):
    data.mkdir(exist_ok=True)
    (data / "remembered.json").write_text(json.dumps({"person": person, "program": str(program)}))


def log_of(data, person, program):
    folder = session_folder(data, person)
    folder.mkdir(parents=True)
    name = "20261101T090000Z-00000001"
    opened = ev.Opened(n=0, t=0, session=name, person=person, program=program, script="A")
    lines = [opened, ev.Closed(n=1, t=9, reason="finished")]
    (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))


@scenario
def what_is_due(stage):
    remember(stage.data, stage.program)
    stage.terminal = stage.terminals("--data", stage.data)
    stage.terminal.wait_for("another program")
    stage.taps_until_printed("doctor").tap_until("opened")
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def left_a_moment_ago(stage):
    stage.run().written.wait_for("opened")
    stage.tap_until("count-in").written.wait_for("window-open")
    stage.terminal.send(LEAVE)
    stage.code_of_the_first = stage.end().code
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("go on or close it")
    stage.terminal.wait_for("Village hall, week 1")  # what is due stands under it
    stage.taps_until_printed("close it and start a new one").tap_until("resumed")
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def named_by_the_log_alone(stage):
    log_of(stage.data, "Ada", "floor")
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("On the floor, week 1")
    stage.terminal.send(LEAVE)
    return stage.end()


def _no_longer_usable(stage, text, words):
    program = stage.data.with_name(f"{stage.data.name} moved.toml")
    remember(stage.data, program)
    if text is not None:
        program.write_text(text)
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for(words)
    stage.terminal.wait_for("moved.toml")
    stage.taps_until_printed("Strength for stairs")  # what is told of the first program to choose from
    stage.terminal.send(LEAVE)
    return stage.end()


UNUSABLE = {"moved": (None, "Moved or renamed"), "spoilt": ("format = 1", "holdtimer check")}
SCENARIOS |= {
    name: partial(_no_longer_usable, text=text, words=words) for name, (text, words) in UNUSABLE.items()
}


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


def test_a_tap_on_what_is_due_leads_into_the_session(stages):
    stage = stages("what_is_due")
    (opened,) = stage.written.of("opened")
    assert (opened["person"], opened["program"]) == ("me", "hall")
    assert stage.code == 1
    command = f"holdtimer run {stage.program} --resume --person me --data {stage.data}"
    assert command.encode() in stage.terminal.output


def test_a_session_left_a_moment_ago_is_told_of_first_and_a_tap_leads_to_it(stages):
    stage = stages("left_a_moment_ago")
    assert len(stage.written.of("resumed")) == 1
    assert (stage.code_of_the_first, stage.code) == (1, 1)


@pytest.mark.parametrize("name", UNUSABLE)
def test_a_program_that_cannot_be_used_any_more_is_named_before_another_is_asked_for(stages, name):
    assert stages(name).code == 1


def test_nobody_is_asked_for_a_program_whose_log_names_a_bundled_one(stages):
    stage = stages("named_by_the_log_alone")
    assert stage.code == 1
    assert b"Which program" not in stage.terminal.output
    assert b"Strength for stairs" not in stage.terminal.output  # what is said of the first to choose from


def test_each_person_gets_the_program_of_their_own_last_session(hall, tmp_path):
    log_of(tmp_path, "Ada", "floor")
    log_of(tmp_path, "Ben", "hall")
    log_of(tmp_path, "Cleo", "gone")
    remember(tmp_path, hall, person="Ben")
    found = {name: last_program(tmp_path, name) for name in ("Ada", "Ben", "Cleo", "Dora")}
    assert {name: each and each.program.id for name, each in found.items()} == {
        "Ada": "floor",
        "Ben": "hall",
        "Cleo": None,
        "Dora": "hall",
    }


def test_the_program_somebody_chose_last_goes_before_that_of_their_last_session(hall, tmp_path):
    log_of(tmp_path, "Ada", "floor")
    remember(tmp_path, hall)
    assert last_program(tmp_path, "Ada").program.id == "hall"
    hall.unlink()
    assert last_program(tmp_path, "Ada").program.id == "floor"
