"""Bare `holdtimer` in a real terminal: from what is due into the session."""

import json
import time

import pytest

from holdtimer.cli.paths import last_program
from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.session import events as ev

TAP = b" "


def remember(data, program, person="Ada"):
    data.mkdir(exist_ok=True)
    (data / "remembered.json").write_text(json.dumps({"person": person, "program": str(program)}))


def test_a_tap_on_what_is_due_leads_into_the_session(terminals, hall, tmp_path, written_class):
    data = tmp_path / "data"
    remember(data, hall)
    terminal = terminals("--data", data)
    terminal.wait_for("another program")
    time.sleep(1.7)
    terminal.send(TAP)
    terminal.wait_for("doctor")
    time.sleep(1.7)
    terminal.send(TAP)
    opened = written_class(data).wait_for("opened")[0]
    assert (opened["person"], opened["program"]) == ("me", "hall")
    time.sleep(1.0)
    terminal.send(b"\x11")
    assert terminal.end() == 1
    assert f"holdtimer run {hall} --resume --person me --data {data}".encode() in terminal.output


def test_a_session_left_a_moment_ago_is_told_of_first_and_a_tap_leads_to_it(
    terminals, hall, tmp_path, written_class
):
    data = tmp_path / "data"
    run = terminals("run", hall, "--data", data, "--sound", "off", "--plain")
    written = written_class(data)
    written.wait_for("opened")
    time.sleep(1.7)
    run.send(TAP)
    written.wait_for("window-open")
    run.send(b"\x11")
    assert run.end() == 1
    terminal = terminals("--data", data, size=(100, 24))
    terminal.wait_for("go on or close it")
    terminal.wait_for("Village hall, week 1")  # what is due stands under it
    time.sleep(1.7)
    terminal.send(TAP)
    terminal.wait_for("close it and start a new one")
    time.sleep(1.7)
    terminal.send(TAP)
    written.wait_for("resumed")
    terminal.send(b"\x11")
    assert terminal.end() == 1


@pytest.mark.parametrize(("text", "words"), [(None, "Moved or renamed"), ("format = 1", "holdtimer check")])
def test_a_program_that_cannot_be_used_any_more_is_named_before_another_is_asked_for(
    terminals, tmp_path, text, words
):
    data, program = tmp_path / "data", tmp_path / "moved.toml"
    remember(data, program)
    if text is not None:
        program.write_text(text)
    terminal = terminals("--data", data, size=(100, 24))  # in a large one all of it is drawn, not written
    terminal.wait_for(words)
    terminal.wait_for("moved.toml")
    time.sleep(1.7)
    terminal.send(TAP)
    terminal.wait_for("Strength for stairs")  # what is told of the first program to choose from
    terminal.send(b"\x11")
    assert terminal.end() == 1


def log_of(data, person, program):
    folder = session_folder(data, person)
    folder.mkdir(parents=True)
    name = "20261101T090000Z-00000001"
    opened = ev.Opened(n=0, t=0, session=name, person=person, program=program, script="A")
    lines = [opened, ev.Closed(n=1, t=9, reason="finished")]
    (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))


def test_nobody_is_asked_for_a_program_whose_log_names_a_bundled_one(terminals, tmp_path):
    data = tmp_path / "data"
    log_of(data, "Ada", "floor")
    terminal = terminals("--data", data, size=(100, 24))
    terminal.wait_for("On the floor, week 1|, week 1: script")
    assert b"Which program" not in terminal.output
    terminal.send(b"\x11")
    assert terminal.end() == 1


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
