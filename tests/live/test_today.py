"""Bare `holdtimer` in a real terminal: from what is due into the session."""

import json
import time
from datetime import UTC, datetime, timedelta
from functools import partial

import pytest

from holdtimer.cli.paths import last_program
from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.session import events as ev
from tests.live.stage import CAUTIONS, NEW_SCREEN_S, TAP

LEAVE = b"\x11"
LOW = (100, 24)  # in a larger one all of it is drawn, not written

pytestmark = pytest.mark.waits
SCENARIOS = {}
HOUR = timedelta(hours=1)
AT_READY = "any key or touch is a tap"


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
    text = stage.program.read_text()  # a script of this name is no page of cautions
    stage.program.write_text(text.replace('title = "Legs"', 'title = "Before you begin"'))
    remember(stage.data, stage.program)
    stage.terminal = stage.terminals("--data", stage.data)
    stage.terminal.wait_for("another program")
    stage.taps_until_printed(CAUTIONS).past_the_cautions().tap_until("count-in")
    stage.terminal.send(LEAVE)
    return stage.end()


def asked(stage):
    """Wait until the question on screen takes an answer, and mark in the output where it was asked."""
    time.sleep(NEW_SCREEN_S)
    stage.asked_at = len(stage.terminal.output)


@scenario
def left_a_moment_ago(stage):
    stage.open()
    stage.terminal.send(LEAVE)
    stage.code_of_the_first = stage.end().code
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("close it and start a new one")
    stage.terminal.wait_for("Every stamp in it is saved")
    asked(stage)
    stage.tap_until("resumed")
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def named_by_the_log_alone(stage):
    log_of(stage.data, "Ada", "floor")
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("On the floor, week")
    stage.terminal.send(LEAVE)
    return stage.end()


def paper(stage, ago, **fields):
    """A session of one set on paper, so long ago."""
    started = datetime.now(UTC) - ago
    name = f"{started:%Y%m%dT%H%M%SZ}-00000001"
    opened = ev.Opened(n=0, t=0, kind="paper", session=name, person="me", program="hall", script="A")
    place = {
        "set": 1,
        "exercise": "wall-sit",
        "side": "both",
        "rung": "high",
        "window_s": 10,
        "band_s": (5, 9),
    }
    times = {"started": started.isoformat(), "ended": (started + HOUR / 4).isoformat()}
    result = ev.PaperResult(n=1, t=0, first_failure_s=7.0, **place, **times, **fields)
    folder = session_folder(stage.data, "me")
    folder.mkdir(parents=True)
    lines = [opened, result, ev.Closed(n=2, t=0, reason="finished")]
    (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))
    remember(stage.data, stage.program, person="me")


@scenario
def on_hold_and_tapped(stage):
    paper(stage, 60 * HOUR, stopped="symptom")
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("it has settled")
    time.sleep(NEW_SCREEN_S)
    stage.terminal.send(TAP)
    return stage.end()


@scenario
def on_hold_and_settled(stage):
    paper(stage, 60 * HOUR, stopped="symptom")
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("it has settled")
    asked(stage)
    stage.terminal.send(b"s")
    stage.terminal.wait_for("page 1 of")
    stage.taps_until_printed("page 2 of")
    time.sleep(NEW_SCREEN_S)
    stage.terminal.send(TAP)  # once: on the next page a tap would mean not today
    stage.terminal.wait_for("all of it is gone")
    time.sleep(NEW_SCREEN_S)
    stage.terminal.send(b"y")
    stage.terminal.wait_for(AT_READY)
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def not_yet_due(stage):
    paper(stage, 44 * HOUR)
    stage.terminal = stage.terminals("--data", stage.data, size=LOW)
    stage.terminal.wait_for("start anyway")
    asked(stage)
    stage.terminal.send(b"e")
    stage.terminal.wait_for(CAUTIONS)
    stage.taps_until_printed(AT_READY)
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


def is_asked_once(stage, words):
    """Whether these words were seen on what is due today, and no more after the answer."""
    output = stage.terminal.output
    return words in output[: stage.asked_at] and words not in output[stage.asked_at :]


def test_a_session_left_a_moment_ago_is_told_of_first_and_a_tap_leads_to_it(stages):
    stage = stages("left_a_moment_ago")
    assert is_asked_once(stage, b"close it and start a new one")
    assert len(stage.written.of("resumed")) == 1
    assert (stage.code_of_the_first, stage.code) == (1, 1)


def test_a_tap_on_a_hold_means_not_today_and_never_begins(stages):
    stage = stages("on_hold_and_tapped")
    assert stage.code == 1
    assert [line["ev"] for line in stage.written.lines()] == ["opened", "paper-result", "closed"]


def test_from_the_bare_command_a_hold_is_released_in_two_steps_each_asked_once(stages):
    stage = stages("on_hold_and_settled")
    assert is_asked_once(stage, b"it has settled")
    files = stage.data.rglob("*.jsonl")
    answers = [json.loads(line) for path in files for line in path.read_text().splitlines()]
    assert [line["value"] for line in answers if line["ev"] == "answer"] == [True, "it has settled"]


def test_what_is_not_yet_due_is_asked_about_once(stages):
    stage = stages("not_yet_due")
    assert is_asked_once(stage, b"start anyway")
    assert stage.code == 1


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
