import csv
import io
import json
import os
import stat
from pathlib import Path

import pytest

from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.session import events as ev

PAPER = "started,exercise,side,rung,first_failure_s,ran_to_end,note\n"


@pytest.fixture
def diary(tmp_path, call, hall):
    """A led session of Ada's and one she kept on paper."""

    def diary(trained):
        trained(45)
        file = tmp_path / "paper.csv"
        file.write_text(
            f"{PAPER}2026-01-05 18:00,wall-sit,both,low,14,,=cold\n2026-01-08,wall-sit,both,high,,yes,\n"
        )
        assert call("import", file, hall).code == 0

    return diary


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_holds_every_set_oldest_first(diary, trained, call):
    diary(trained)
    found = rows(call("export", "csv").out)
    assert [(row["script"], row["rung"], row["first_failure_s"], row["ran_to_end"]) for row in found] == [
        ("A", "low", "14.000", "false"),
        ("A", "high", "", "true"),
        ("A", "half way", "45.000", "false"),
    ]
    assert [row["note"] for row in found] == ["'=cold", "", ""]
    assert found[1]["started"] == "2026-01-08"


def test_a_rehearsal_is_in_no_csv_and_marked_in_json(trained, call):
    trained(45)
    trained(45, speed=10)
    assert len(rows(call("export", "csv").out)) == 1
    sessions = call("export", "json").json["sessions"]
    assert sorted(each["rehearsal"] for each in sessions) == [False, True]


def test_json_holds_what_show_tells_of_each_session(diary, trained, call):
    diary(trained)
    document = call("export", "json").json
    assert document["format"] == 1
    assert len(document["sessions"]) == 3
    for told in document["sessions"]:
        assert told == call("show", told["session"], "--json").json
    assert [each["sets"][0]["verdict"] for each in document["sessions"]] == ["easier", "harder", "same"]


def test_nothing_yet_is_no_fault(call):
    assert call("export", "csv").out.startswith("started,ended,program,")
    assert call("export", "json").json == {"format": 1, "sessions": []}


def test_a_file_is_for_its_owner_alone_and_replaces_what_was_there(trained, call, tmp_path):
    trained(45)
    path = tmp_path / "out.csv"
    call("export", "csv", "-o", path, "--person", "Ben")
    path.chmod(0o644)
    said = call("export", "csv", "-o", path, "--person", "Ada")
    assert (said.code, said.out) == (0, "")
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600
    assert path.read_bytes().decode() == call("export", "csv", "-o", "-").out.replace("\n", "\r\n").replace(
        "\r\r", "\r"
    )
    assert [each.name for each in tmp_path.glob(".out*")] == []


def test_no_export_follows_a_link(trained, call, tmp_path):
    trained(45)
    link, target = tmp_path / "out.csv", tmp_path / "target"
    call("export", "csv", "-o", tmp_path / "own.csv", "--person", "Ben")
    for content in ((tmp_path / "own.csv").read_text(), "mine", None):
        link.unlink(missing_ok=True)
        link.symlink_to(target)
        target.write_text(content) if content else target.unlink()
        said = call("export", "csv", "-o", link, "--person", "Ada")
        assert (said.code, said.err.split(" ")[0]) == (2, str(link))
        assert target.exists() == bool(content)
        assert not content or target.read_text() == content


@pytest.mark.parametrize("where", ["missing/out.csv", "."])
def test_a_place_that_takes_no_file_is_bad_input_and_nothing_is_left(
    trained, call, tmp_path, monkeypatch, where
):
    trained(45)
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    said = call("export", "json", "-o", where)
    assert said.code == 2
    assert said.err.startswith(where)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_file_that_could_not_be_written_whole_leaves_the_old_one(trained, call, tmp_path, monkeypatch):
    trained(45)
    path = tmp_path / "out.csv"
    call("export", "csv", "-o", path, "--person", "Ben")
    before = path.read_text()

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    said = call("export", "csv", "-o", path, "--person", "Ada")
    assert (said.code, path.read_text()) == (2, before)
    assert "No space left" in said.err
    assert list(tmp_path.glob(".out*")) == []


@pytest.mark.parametrize("kind", ["csv", "json"])
@pytest.mark.parametrize(
    "there", ["started,exercise,side,rung,first_failure_s\n", '{"format": 1, "session": "x"}', "a diary"]
)
def test_a_file_that_is_no_export_is_never_replaced(trained, call, tmp_path, kind, there):
    trained(45)
    path = tmp_path / "results"
    path.write_text(there)
    said = call("export", kind, "-o", path)
    assert (said.code, said.out) == (2, "")
    assert (
        said.err
        == f"{path} exists and is not an export of this kind, so it was not replaced: name another file\n"
    )
    assert path.read_text() == there


@pytest.mark.parametrize(("kind", "other"), [("csv", "json"), ("json", "csv")])
def test_an_export_is_replaced_by_the_next_of_its_kind_alone(trained, call, tmp_path, kind, other):
    trained(45)
    path = tmp_path / "results"
    assert call("export", kind, "-o", path).code == 0
    first = path.read_bytes()
    assert call("export", other, "-o", path).code == 2
    assert path.read_bytes() == first
    trained(50)
    assert call("export", kind, "-o", path).err == f"2 sets of 2 sessions written to {path}\n"
    assert path.read_bytes() != first


def test_an_empty_file_takes_an_export(trained, call, tmp_path):
    trained(45)
    path = tmp_path / "results"
    path.touch()
    assert call("export", "csv", "-o", path).err == f"1 set of 1 session written to {path}\n"
    assert len(rows(path.read_text())) == 1


def test_both_are_utf_8_whatever_the_terminal_takes(trained, call, process, tmp_path, hall):
    file = tmp_path / "paper.csv"
    file.write_text(f"{PAPER}2026-01-05,wall-sit,both,low,29,,schön\n", encoding="utf-8")
    call("import", file, hall)
    plain = {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    assert "schön" in process("export", "csv", env=plain).out
    assert "schön" in process("export", "json", env=plain).out


def test_json_steers_no_terminal(call, tmp_path, hall):
    file = tmp_path / "paper.csv"
    file.write_text(f"{PAPER}2026-01-05,wall-sit,both,low,29,,a\x9bb\u202ec\n", encoding="utf-8")
    call("import", file, hall)
    said = call("export", "json").out
    assert "\x9b" not in said
    assert json.loads(said)["sessions"][0]["sets"][0]["note"] == "a?b?c"


def test_a_session_with_no_time_of_day_is_named_and_left_out(trained, call):
    path = Path(trained(45, session="hall"))  # an id that tells no start either
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(line for line in lines if b'"anchor"' not in line))
    said = call("export", "csv")
    assert rows(said.out) == []
    assert "has no time of day and is left out" in said.err


EASY_DAY = """
[[scripts]]
id = "E"
title = "Easy day"
steps = [{easy = "March on the spot", seconds = 60}]
"""


@pytest.fixture
def stopped(data, hall):
    """A session that was stopped for a symptom before any set, its first line naming no rungs."""

    def stopped(text=None, script="A"):
        name = "20260105T180000Z-1a2b3c4d"
        text = hall.read_text() if text is None else text
        events = [
            ev.Opened(n=0, t=0, session=name, person="Ada", program="hall", script=script, program_text=text),
            ev.Anchor(n=1, t=0, why="opening", mono_ns=0, wall="2026-01-05T18:00:00Z"),
            ev.Stopped(n=2, t=9, reason="symptom", scope="session"),
            ev.Closed(n=3, t=9, reason="stopped"),
        ]
        folder = session_folder(data, "Ada")
        folder.mkdir(parents=True)
        (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, events)))
        return name

    return stopped


@pytest.mark.parametrize("script", ["A", "E", "no longer there"])
def test_a_stop_before_any_set_holds_elsewhere_too(stopped, call, tmp_path, hall, script):
    hall.write_text(hall.read_text() + EASY_DAY)
    stopped(script=script)
    file = tmp_path / "out.csv"
    said = call("export", "csv", "-o", file)
    assert said.err == f"0 sets of 1 session written to {file}\n"
    (row,) = rows(file.read_text())
    assert (row["exercise"], row["rung"], row["stopped"]) == ("wall-sit", "half way", "symptom")
    if script == "no longer there":
        file.write_text(file.read_text().replace(script, "A"))
    assert call("import", file, hall, "--person", "Ben").code == 0
    assert call("next", hall, "--person", "Ben", "--json").json["hold"].startswith("stopped on ")
    assert call("import", file, hall, "--person", "Ada").err == ""


@pytest.mark.parametrize("text", ["", EASY_DAY])
def test_a_stop_that_no_row_can_tell_of_is_named(stopped, call, hall, text):
    name = stopped(text and hall.read_text().split("[exercises")[0] + EASY_DAY)
    said = call("export", "csv")
    assert rows(said.out) == []
    assert f"{name} was stopped because something felt wrong, but no row says so" in said.err


def test_a_damaged_line_is_named(trained, call):
    path = Path(trained(45))
    path.write_bytes(path.read_bytes() + b"torn")
    assert f"{path}:" in call("export", "csv").err
    assert f"{path}:" in call("export", "json").err


def test_what_comes_later_is_not_promised_yet(call):
    assert call("export", "ics").code == 2
