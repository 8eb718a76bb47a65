"""Times that cannot be right or cannot be read: what was done still asks for recovery, and still holds."""

import json

import pytest

from holdtimer.log.lines import encode
from holdtimer.session import events as ev

HOUR = 3600.0


def without_times(path):
    """Spoil every anchor of a log, each line whole."""
    events = [ev.event_from_json(line) for line in path.read_bytes().splitlines()]
    path.write_bytes(
        b"".join(
            encode(each.model_copy(update={"wall": "never"}) if each.ev == "anchor" else each)
            for each in events
        )
    )


def test_next_is_not_ready_early_after_the_clock_was_set_back(call, trained, hall):
    trained(40.0, until=100, ago_s=-5 * HOUR)
    found = call("next", hall, "--json").json
    assert (found["ready"], found["done_last_7_days"]) == (False, 1)
    assert found["sets"][0]["evidence"]
    assert "set the clock right" in call("next", hall).out


def test_what_is_later_than_a_time_that_was_asked_about_is_ignored(call, trained, hall):
    path = trained(40.0, until=100)
    at = json.loads(path.read_bytes().splitlines()[1])["wall"]
    before = at.replace(at[:4], str(int(at[:4]) - 1))
    assert not call("next", hall, "--json", "--at", at).json["ready"]
    assert call("next", hall, "--json", "--at", before).json["ready"]


@pytest.mark.parametrize("session", [None, "hall"])
def test_a_stop_for_a_symptom_holds_whatever_became_of_its_times(call, trained, hall, session):
    trained(45.0, until=100, ago_s=100 * HOUR)
    path = trained(until=20, session=session)
    lines = path.read_bytes().splitlines(keepends=True)
    stopped = ev.Stopped(n=len(lines), t=60.0, reason="symptom", scope="session")
    closed = ev.Closed(n=len(lines) + 1, t=60.0, reason="stopped")
    path.write_bytes(b"".join([*lines, encode(stopped), encode(closed)]))
    without_times(path)
    found = call("next", hall, "--json").json
    assert "something felt wrong" in found["hold"]
    assert not found["ready"]
    assert call("show", path.stem).code == 0
