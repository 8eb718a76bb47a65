"""Whatever a stranger wrote into any file: no byte that leaves steers a terminal."""

import json
import unicodedata

import pytest

from holdtimer.log.folder import person_folder
from tests.cli.test_poison import sealed
from tests.invented.programs import HALL

HOSTILE = "\x1b]0;x\x07\x1b[31m\x9b2J\u202e\u061c\xad\u2028\U000e0041red"
NAME = "\x1b]0;x\x07\x1b[31m\x9b2J\u202e\u061c\xad\U000e0041red"  # white space in a name is folded
AS_IT_WAS = {"ev", "wall", "side", "kind", "session"}


def spoilt(value):
    """Return a value with hostile text in each text of it."""
    if isinstance(value, dict):
        return {key: each if key in AS_IT_WAS else spoilt(each) for key, each in value.items()}
    if isinstance(value, list):
        return [spoilt(each) for each in value]
    return f"{value}{HOSTILE}" if isinstance(value, str) else value


def spoil(path, person, *, keeps_program):
    """Put hostile text into every field of a log, and the log where those of that person belong."""
    lines = []
    for fields in map(json.loads, path.read_bytes().splitlines()):
        del fields["crc"]
        changed = spoilt(fields)
        if fields["ev"] == "opened":
            changed["person"] = person
            if keeps_program:
                changed["program_text"] = fields["program_text"]
        lines.append(changed)
    note = {"n": len(lines), "t": 90.0, "ev": "answer", "id": "x", "field": "note", "value": HOSTILE}
    folder = person_folder(path.parent.parent, person)
    folder.mkdir(parents=True)
    (folder / path.name).write_bytes(b"".join(map(sealed, [*lines, note | {"set": 1}])))
    (folder / f"{NAME}.jsonl").write_bytes(b"{}\n")
    path.unlink()


@pytest.fixture
def strangers(trained, data):
    """Two people whose every file is hostile; their names."""
    names = [f"Ada{NAME}", f"Bea{NAME}"]
    for name in names:
        spoil(trained(3.0, 9.0, until=30, person=name[:3]), name, keeps_program=name == names[0])
    (data / "remembered.json").write_text(json.dumps({"person": names[0], "program": HOSTILE}))
    return names


def steering(text):
    return {
        f"U+{ord(each):04X}" for each in text if unicodedata.category(each) in ("Cc", "Cf", "Zl", "Zp")
    } - {"U+000A"}


def test_no_command_lets_through_what_steers_a_terminal(
    strangers, call, process, hall, data, tmp_path, monkeypatch
):
    config = tmp_path / "config.toml"
    config.write_text(f'[people."x\\u001b[31m{HOSTILE[-3:]}"]\nguard_s = "\\u009b2J"\n')
    csv = tmp_path / "paper.csv"
    csv.write_text(f"started,exercise,side,rung,first_failure_s,{HOSTILE}\n{HOSTILE},{HOSTILE},both,x,1,2\n")
    program = tmp_path / f"{NAME}.toml"
    program.write_text(HALL.replace("Village hall", "Hall\\u001b[31m").replace("rest_s", f'"{HOSTILE[-9:]}"'))
    said = []
    for command in (
        *(
            ["show"],
            ["show", "--json"],
            ["log"],
            ["log", "--json"],
            ["next", hall],
            ["next", hall, "--json"],
            ["trend", hall],
        ),
        *(
            ["export", "csv"],
            ["export", "html"],
            ["export", "ics"],
            ["export", "sheet", hall],
            ["export", "json"],
            ["config"],
            ["import", csv, hall],
            ["check", program],
        ),
        *(["run", "--plain", program], ["show", HOSTILE], [HOSTILE], ["next", "--at", HOSTILE]),
        *(["run", hall, "--close"],),
    ):
        told = call(*command)
        assert told.code != 70, told.err
        said.append(told.out.replace("\r\n", "\n") + told.err)
    assert "red" in "".join(said)
    monkeypatch.setenv("HOLDTIMER_CONFIG", str(config))
    said += [call("config").err, call("config", "--person", strangers[1]).err]
    (data / "remembered.json").write_text(json.dumps({"person": strangers[1]}))
    asked = process("run", hall, "--plain", "--sound", "off", env={"HOLDTIMER_CONFIG": "/no-config.toml"})
    assert "Go on?" in asked.out
    said.append(asked.out + asked.err)
    (data / "remembered.json").unlink()
    said.append(call("show").err)  # whose?
    assert not steering("".join(said))
