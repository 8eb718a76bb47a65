"""Bare `holdtimer` in a real terminal: from what is due into the session."""

import json
import time

import pytest

TAP = b" "


def remember(data, program):
    data.mkdir()
    (data / "remembered.json").write_text(json.dumps({"person": "Ada", "program": str(program)}))


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
    terminal.wait_for("close it and begin anew")
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
