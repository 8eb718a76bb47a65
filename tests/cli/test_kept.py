"""What was kept on 2026-11-26, before the rooms were rebuilt, reads the same today: to the byte.

`kept_2026_11.zip` holds a data folder as it was left (an invented person's six weeks; one session led, one
killed; results from paper with a pain and a stop), the programs of that day, and what commands printed. When
the progression was rebuilt that evening, what rests on it was printed anew: verdicts, due sets and trends.
"""

import json
import re
import time
import zipfile
from pathlib import Path

import pytest

from holdtimer.cli import main

SINCE = re.compile(rb',\n *"(?:tests|function)": \[\]')  # fields that came since, with nothing in them
KEPT = Path(__file__).with_name("kept_2026_11.zip")
PEOPLE = {
    "Invented Walker": ("chair-and-counter.toml", "2026-04-12T18:00:00+02:00"),
    "Walker Two": ("hall.toml", "2026-11-27T18:00:00+01:00"),
    "Walker Three": ("hall.toml", "2026-11-20T18:00:00+01:00"),
}


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """Return the folder it is unpacked in; the zone is that of the day."""
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    with zipfile.ZipFile(KEPT) as archive:
        archive.extractall(tmp_path)
    yield tmp_path
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def says(kept, capfdbinary):
    """Return what a command prints, about the data kept or in another folder."""

    def says(*args, data=kept / "data"):
        code = main([*map(str, args), "--data", str(data)])
        out, err = capfdbinary.readouterr()
        assert code == 0, (args, err)
        return out

    return says


def sessions(kept, person):
    """Yield the ids of all sessions of a person that are no answers, oldest first."""
    for path in sorted((kept / "data").glob(f"{person.lower().replace(' ', '-')}-*/*.jsonl")):
        opened = json.loads(path.read_text().splitlines()[0])
        if opened["kind"] != "answers":
            yield opened["session"]


@pytest.mark.parametrize("person", PEOPLE)
def test_an_old_log_gives_the_same_sessions_trend_and_next_session(kept, says, person):
    program, at = PEOPLE[person]
    name = person.lower().replace(" ", "-")
    whose = ("--person", person)
    asked = {
        "show.json": b"".join(says("show", each, "--json", *whose) for each in sessions(kept, person)),
        "next.json": says("next", kept / program, "--json", "--at", at, *whose),
        "trend.json": says("trend", kept / program, "--json", "--at", at, *whose),
        "export.json": says("export", "json", *whose),
        "export.csv": says("export", "csv", *whose),
    }
    expected = {what: (kept / f"expected/{name}-{what}").read_bytes() for what in asked}
    assert [what for what, out in asked.items() if SINCE.sub(b"", out) != expected[what]] == []


@pytest.mark.parametrize("person", ["Invented Walker", "Walker Two"])
def test_an_old_export_is_imported_with_the_same_next_session(kept, says, tmp_path, person):
    program, at = PEOPLE[person]
    name = person.lower().replace(" ", "-")
    whose, new = ("--person", person), tmp_path / "new"
    says("import", kept / f"expected/{name}-export.csv", kept / program, *whose, data=new)
    again = json.loads(says("next", kept / program, "--json", "--at", at, *whose, data=new))
    before = json.loads((kept / f"expected/{name}-next.json").read_bytes())
    for each in (again, before):
        for one in each["sets"]:
            one["evidence"] = [{**row, "session": ""} for row in one["evidence"]]
    assert again == before


@pytest.mark.parametrize("program", ["hall.toml", "chair-and-counter.toml"])
def test_a_program_of_that_day_has_no_errors(kept, program):
    assert main(["check", str(kept / program)]) == 0
