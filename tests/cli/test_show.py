import csv
import json
import re

import jsonschema
import pytest

from holdtimer.cli import output
from holdtimer.log.lines import decode, encode

NUMBER_OR_NONE = {"type": ["number", "null"]}
SIDE = {"enum": ["left", "right", "both"]}
SECONDS = {"type": "array", "items": {"type": "number"}}
SET = {
    "set": {"type": "integer"},
    "attempt": {"type": "integer"},
    "exercise": {"type": "string"},
    "side": SIDE,
    "rung": {"type": "string"},
    "window_s": {"type": "number"},
    "band_s": {**SECONDS, "minItems": 2, "maxItems": 2},
    "failures_s": SECONDS,
    "reentries_s": SECONDS,
    "first_failure_s": NUMBER_OR_NONE,
    "ran_to_end": {"type": "boolean"},
    "confirmed": {"type": "boolean"},
    "late_tap_s": NUMBER_OR_NONE,
    "tension_s": {"type": "number"},
    "interrupted": {"type": "boolean"},
    "skipped": {"type": "boolean"},
    "stopped": {"enum": [None, "choice", "symptom"]},
    "effort": {"type": ["integer", "null"], "minimum": 0, "maximum": 10},
    "form_broke": {"type": ["boolean", "null"]},
    "pain": {"type": ["boolean", "null"]},
    "note": {"type": ["string", "null"]},
    "counted": {"type": "boolean"},
    "counted_because": {"type": "string"},
    "verdict": {"enum": [None, "harder", "same", "easier"]},
    "verdict_because": {"type": ["string", "null"]},
}


def exactly(properties):
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


SESSION = exactly(
    {
        "format": {"const": 1},
        "session": {"type": "string"},
        "program": {"type": "string"},
        "script": {"type": "string"},
        "person": {"type": "string"},
        "started": {"type": "string"},
        "ended": {"type": "string"},
        "complete": {"type": "boolean"},
        "rehearsal": {"type": "boolean"},
        "off_day": {"type": "boolean"},
        "sets": {"type": "array", "items": exactly(SET)},
        "tests": {"type": "array", "maxItems": 0},  # those of function tests: test_function.py
    }
)


def test_no_log_yet_is_words_and_an_empty_document(call):
    assert call("show").out == "no session of me yet\n"
    assert call("show", "--json").json == {"format": 1, "session": None, "sets": []}
    assert call("show").code == call("show", "--json").code == 0


@pytest.mark.parametrize("taps", [(), (40.0,), (20.0, 30.0, 45.5), (60.6,)])
def test_json_has_every_key_of_the_contract_and_no_other(call, trained, taps):
    trained(*taps)
    told = call("show", "--json")
    jsonschema.validate(told.json, SESSION)
    assert told.code == 0
    assert told.err == ""


def test_json_tells_what_happened_to_the_millisecond(call, trained):
    trained(20.1234, 30.0, 45.5)
    told = call("show", "--json").json
    (one,) = told["sets"]
    assert one["failures_s"] == [20.123, 45.5]
    assert one["reentries_s"] == [30.0]
    assert one["first_failure_s"] == 20.123
    assert one["tension_s"] == pytest.approx(20.123 + 15.5, abs=0.002)
    assert (one["ran_to_end"], one["confirmed"], one["late_tap_s"]) == (False, False, None)
    assert (one["counted"], one["rung"], one["side"]) == (True, "half way", "both")
    assert (told["complete"], told["rehearsal"], told["off_day"]) == (True, False, False)
    assert told["person"] == "Ada"


def test_a_late_tap_is_told_with_its_distance(call, trained):
    trained(60.6)
    (one,) = call("show", "--json").json["sets"]
    assert (one["ran_to_end"], one["confirmed"], one["late_tap_s"]) == (True, True, 0.6)


def test_a_silent_window_is_not_confirmed(call, trained):
    trained()
    (one,) = call("show", "--json").json["sets"]
    assert (one["ran_to_end"], one["confirmed"], one["counted"]) == (True, False, False)


def test_words_tell_the_same(call, trained):
    trained(20.5, 30.0)
    told = call("show").out
    assert "1  Wall sit: half way  " in told
    assert "  20 s  same  " in told


def test_colour_is_for_a_terminal_that_wants_it_and_nothing_rests_on_it(call, trained, monkeypatch):
    trained(20.5, 30.0)
    monkeypatch.setenv("TERM", "xterm")
    plain = call("show").out
    monkeypatch.setattr(output._Harmless, "isatty", lambda stream: True)
    monkeypatch.setenv("COLUMNS", "80")
    told = {}
    for name, term, no_colour in (("coloured", "xterm", ""), ("plain", "xterm", "1"), ("dumb", "dumb", "")):
        monkeypatch.setenv("TERM", term)
        monkeypatch.setenv("NO_COLOR", no_colour)
        told[name] = call("show").out
    assert re.sub(r"\x1b\[[0-9;]*m", "", told["coloured"]) == plain != told["coloured"]
    assert told["plain"] == plain
    assert told["dumb"].isascii()  # nothing is drawn
    assert "  20 s  same  " in told["dumb"]


def test_a_rehearsal_says_so_and_never_counts(call, trained):
    trained(40.0, speed=10.0)
    told = call("show", "--json").json
    assert told["rehearsal"]
    assert not told["sets"][0]["counted"]


def test_a_session_is_found_by_the_beginning_of_its_id(call, trained):
    trained(40.0, session="20261101T080000Z-aaaaaaaa")
    trained(50.0, session="20261103T080000Z-bbbbbbbb")
    assert call("show", "20261101", "--json").json["sets"][0]["first_failure_s"] == 40
    assert call("show", "--json").json["session"] == "20261103T080000Z-bbbbbbbb"
    several, none = call("show", "2026"), call("show", "1999")
    assert (several.code, none.code) == (2, 2)
    assert "20261101T080000Z-aaaaaaaa" in several.err
    assert "no session of Ada begins with '1999'" in none.err


def test_damage_is_warned_of_and_the_rest_is_told(call, trained):
    path = trained(40.0)
    lines = path.read_bytes().split(b"\n")
    lines[3] = lines[3][:-20]
    path.write_bytes(b"\n".join(lines))
    told = call("show", "--json")
    assert told.code == 0
    assert told.json["sets"][0]["first_failure_s"] == 40
    assert told.err.startswith("warning: ")
    assert path.name in told.err


def test_a_log_without_its_first_line_is_named_and_not_used(call, trained, data):
    trained(40.0, session="20261101T080000Z-aaaaaaaa")
    path = trained(50.0, session="20261103T080000Z-bbbbbbbb")
    path.write_bytes(path.read_bytes().split(b"\n", 1)[1])
    assert call("show", "--json").json["session"] == "20261101T080000Z-aaaaaaaa"
    told = call("show", "20261103")
    assert "the first line is lost" in told.err
    assert "Traceback" not in told.err


STEERING = "\x1b]0;x\x07\x1b[31mred\x9b2J\u202eback"


def test_a_strangers_log_steers_no_terminal(call, trained):
    path = trained(40.0)
    lines = []
    for line in path.read_bytes().splitlines():
        event = decode(line)
        if event.ev == "window-open":
            event = event.model_copy(update={"rung": STEERING})
        lines.append(encode(event))
    path.write_bytes(b"".join(lines))
    for told in (call("show"), call("show", "--json")):
        assert told.code == 0
        assert not {char for char in told.out + told.err if char in STEERING and not char.isprintable()}
    assert call("show", "--json").json["sets"][0]["rung"] == STEERING


def without(path, kind):
    """Take the first event of a kind out of a log."""
    lines = path.read_bytes().splitlines(keepends=True)
    lines.remove(next(line for line in lines if decode(line).ev == kind))
    path.write_bytes(b"".join(lines))


def test_a_set_with_a_lost_line_says_so_and_counts_nowhere(call, trained, hall):
    without(trained(3.0, 9.0, 40.0, until=100), "failure")
    shown, coming = call("show"), call("next", hall, "--json")
    assert "Failed at 40 s at the latest.\n   Does not count: part of its record is lost." in shown.out
    assert "is missing" in shown.err
    assert "is missing" in coming.err
    (row,) = call("show", "--json").json["sets"]
    assert (row["first_failure_s"], row["counted"], row["verdict"]) == (40.0, False, "same")
    assert coming.json["sets"][0]["expected_s"] is None
    assert not any(each["counted"] for each in coming.json["sets"][0]["evidence"])
    call("export", "csv", "-o", hall.with_name("out.csv"))
    (cells,) = csv.DictReader(hall.with_name("out.csv").read_text().splitlines())
    assert (cells["first_failure_s"], cells["ran_to_end"]) == ("", "false")
    assert call("import", hall.with_name("out.csv"), hall, "--person", "Ben").code == 0
    elsewhere = call("next", hall, "--json", "--person", "Ben").json
    assert not any(each["counted"] for each in elsewhere["sets"][0]["evidence"])
    again = call("import", hall.with_name("out.csv"), hall, "--person", "Ada")
    assert (again.code, again.err) == (0, "")


def test_the_newest_session_is_not_passed_over_in_silence(call, trained):
    trained(40.0, until=100, ago_s=86400.0, session="20261120T180000Z-00000001")
    newest = trained(50.0, until=100, session="20261124T180000Z-00000002")
    content = newest.read_bytes()
    newest.write_bytes(b"#" + content)
    said = call("show", "--json")
    assert (said.code, said.json["session"]) == (0, "20261120T180000Z-00000001")
    assert f"{newest}: the first line is lost" in said.err
    assert "20261120T180000Z-00000001: this is not the newest session" in said.err


def test_several_persons_are_asked_for_by_name(call, trained):
    trained(40.0, person="Ada")
    trained(40.0, person="Bo")
    told = call("show")
    assert told.code == 2
    assert "--person" in told.err
    assert "Ada, Bo" in told.err
    assert call("show", "--person", "Bo", "--json").json["person"] == "Bo"


@pytest.mark.parametrize(
    "person", ["Jörg", "李", "O'Neil / x", "..", "con", "a" * 100, " Ada  Lo ", "-x", "NUL", "🦵", "a\nb"]
)
def test_a_person_may_have_any_name(call, trained, person, data):
    trained(40.0, person=person)
    told = call("show", f"--person={person}", "--json")
    assert told.code == 0
    assert told.json["person"] == " ".join(person.split())
    assert [path.parent.parent for path in data.rglob("*.jsonl")] == [data]


@pytest.mark.parametrize("name", [" ", "\t", "a\x1b[31m", "a\u202eb", "a" * 101])
def test_what_is_no_name_is_refused(call, name):
    told = call("show", f"--person={name}")
    assert told.code == 2
    assert told.err.rstrip("\n").isprintable()


def test_a_data_folder_that_is_a_file_is_refused(call, tmp_path):
    path = tmp_path / "a-file"
    path.write_text("x")
    told = call("show", "--data", path)
    assert told.code == 2
    assert "not a folder" in told.err


def test_show_writes_nothing(call, data):
    call("show")
    call("show", "--json", "--person", "Ada")
    assert not data.exists()


def test_json_is_ascii_where_the_output_takes_no_more(process, trained, data):
    trained(40.0, person="Jörg")
    told = process("show", "--json", env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert told.code == 0
    assert json.loads(told.out)["person"] == "Jörg"
    assert told.out.isascii()


def test_a_name_that_is_almost_right_is_asked_about(call, trained):
    trained(40.0)
    assert call("show", "--person", "Adda").out == 'no session of Adda yet; did you mean "Ada"?\n'
