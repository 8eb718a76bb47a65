"""Bare `holdtimer` in a real terminal: from what is due into the session."""

import json
import time

TAP = b" "


def test_a_tap_on_what_is_due_leads_into_the_session(terminals, hall, tmp_path, written_class):
    data = tmp_path / "data"
    data.mkdir()
    (data / "remembered.json").write_text(json.dumps({"person": "Ada", "program": str(hall)}))
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
