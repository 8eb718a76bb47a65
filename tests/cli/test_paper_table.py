"""The verdict and the due rung of every row of the table, from results typed in as CSV."""

from datetime import datetime, timedelta

import pytest

from holdtimer.live.answers import AnswerBook
from holdtimer.log.reader import read_person
from tests.invented.programs import ON_THE_WALL, WALL_SIT, program, script

NOW = datetime.fromisoformat("2024-05-20T18:00+02:00")
START = "third"

PROGRAM = program(
    WALL_SIT + 'ladder = ["first", "second", "third", "fourth", "fifth"]\nstart = "third"\n',
    script("A", "Legs", ON_THE_WALL),
    name="table",
    title="Table",
)

# each session: days ago, rung, and what was written beside it
ROWS = {
    "nothing yet: the start rung": ([], "same", START, "first time"),
    "stopped for a symptom: on hold": (
        [(5, "third", "72"), (2, "third", "stopped=symptom")], "easier", "second", "something felt wrong",
    ),
    "stopped for a symptom after a run to the end": (
        [(2, "third", "end stopped=symptom")], "easier", "second", "something felt wrong",
    ),
    "pain in the newest result": (
        [(5, "third", "72"), (2, "third", "end pain=yes")], "easier", "second", "pain",
    ),
    "pain in a result that does not count": (
        [(5, "third", "end"), (2, "fourth", "40 pain=yes off_day=yes")], "easier", "second", "pain",
    ),
    "one result without pain after it: not harder": (
        [(8, "third", "72 pain=yes"), (5, "second", "end")], "same", "second", "pain",
    ),
    "two results without pain after it: harder": (
        [(11, "third", "72 pain=yes"), (8, "second", "75"), (5, "second", "end")],
        "harder", "third", "ran to the end",
    ),
    "pain at the bottom rung": ([(2, "first", "72 pain=yes")], "same", "first", "paused"),
    "42 days since": ([(42, "third", "end")], "easier", "second", "42 days"),
    "41 days since": ([(41, "third", "end")], "same", "third", "41 days"),
    "before half the band's start": (
        [(5, "third", "72"), (2, "third", "29.9")], "easier", "second", "before half",
    ),
    "at half the band's start": ([(2, "third", "30")], "same", "third", "grow into it"),
    "before the band, the second in a row": (
        [(5, "third", "55"), (2, "third", "0:52")], "easier", "second", "second time in a row",
    ),
    "before the band, after one at another rung": (
        [(5, "second", "55"), (2, "third", "52")], "same", "third", "grow into it",
    ),
    "before the band": ([(5, "third", "72"), (2, "third", "59.9")], "same", "third", "grow into it"),
    "21 days since": ([(21, "third", "end")], "same", "third", "21 days"),
    "20 days since": ([(20, "third", "end")], "harder", "fourth", "ran to the end"),
    "form broke down before the stamp": ([(2, "third", "end form_broke=x")], "same", "third", "form"),
    "a late tap": ([(2, "third", "late_tap_s=0.6")], "same", "third", "0.6 s after the end"),
    "harder was undone not long ago": (
        [(11, "second", "end"), (8, "third", "20"), (5, "second", "end")], "same", "second", "came back down",
    ),
    "harder was undone, and the second run to the end in a row": (
        [
            (14, "second", "end"), (11, "third", "55"), (9, "third", "58"), (8, "second", "end"),
            (5, "second", "end"),
        ],
        "harder", "third", "ran to the end",
    ),
    "and the second run to the end, where the harder rung was far too hard": (
        [(14, "second", "end"), (11, "third", "20"), (8, "second", "end"), (5, "second", "end")],
        "same", "second", "but at third you failed at 20 s: one more first",
    ),
    "ran to the end": ([(2, "third", "end")], "harder", "fourth", "ran to the end"),
    "after the band of its day, inside the one that is due": (
        [(2, "third", "85 band_high_s=80")], "same", "third", "inside 60-90",
    ),
    "inside the band, at its beginning": ([(2, "third", "60")], "same", "third", "inside 60-90"),
    "inside the band, at its end": ([(2, "third", "1:30")], "same", "third", "inside 60-90"),
    "harder at the top rung": ([(2, "fifth", "end")], "same", "fifth", "needs a harder rung"),
    "easier at the bottom rung": ([(2, "first", "20")], "same", "first", "add an easier one"),
    "an off day never counts": ([(5, "third", "72"), (2, "third", "end off_day=yes")], "same", "third", "72"),
    "a silent window never counts": (
        [(5, "third", "72"), (2, "third", "end confirmed=no")], "same", "third", "72",
    ),
}  # fmt: skip


@pytest.fixture
def program(tmp_path):
    path = tmp_path / "table.toml"
    path.write_text(PROGRAM)
    return path


@pytest.fixture
def typed_in(tmp_path, call, program):
    """Type sessions in as CSV, and return what `next` says of the wall sit."""

    def row(days, rung, what):
        started = NOW - timedelta(days=days, hours=0.5)
        given = dict(each.split("=") for each in what.split() if "=" in each)
        result = what.split()[0] if "=" not in what.split()[0] else ""
        given |= {"ran_to_end": "yes"} if result == "end" else {"first_failure_s": result}
        return given | {
            "started": f"{started:%Y-%m-%dT%H:%M%z}",
            "exercise": "wall-sit",
            "side": "both",
            "rung": rung,
        }

    def typed_in(sessions):
        rows = [row(*each) for each in sessions]
        names = sorted({"started", "exercise", "side", "rung", "first_failure_s"}.union(*rows))
        lines = [names, *([each.get(name, "") for name in names] for each in rows)]
        path = tmp_path / "paper.csv"
        path.write_text("".join(",".join(line) + "\n" for line in lines))
        taken = call("import", path, program)
        assert taken.code == 0, taken.err
        found = call("next", program, "--json", "--at", NOW.isoformat()).json
        return found, found["sets"][0]

    return typed_in


@pytest.mark.parametrize("row", ROWS)
def test_the_table_from_paper(typed_in, row):
    sessions, verdict, rung, because = ROWS[row]
    found, item = typed_in(sessions)
    assert (item["verdict"], item["rung"]) == (verdict, rung)
    assert because in item["because"]
    assert item["paused"] == (row == "pain at the bottom rung")
    assert (found["hold"] is not None) == row.startswith("stopped for a symptom")


def test_a_stop_that_has_settled_gives_easier_and_no_hold(typed_in, data, call, program):
    held, _ = typed_in([(5, "third", "72"), (2, "third", "stopped=symptom")])
    assert held["hold"] is not None
    assert "`holdtimer run` asks what must be so" in call("next", program).out
    stopped = read_person(data, "me")[-1].opened
    book = AnswerBook(data, stopped)
    book.say(field="released", value=True)
    assert book.close()
    found = call("next", program, "--json").json
    assert found["hold"] is None
    assert "has settled" not in call("next", program).out
    assert (found["sets"][0]["verdict"], found["sets"][0]["rung"]) == ("easier", "second")


@pytest.mark.parametrize("later", ["skipped=yes", "ran_to_end=no", "skipped=yes off_day=yes"])
def test_nothing_on_paper_goes_on_from_a_stop(typed_in, later):
    stop = [(8, "third", "72"), (5, "third", "stopped=symptom")]
    held, item = typed_in([*stop, (2, "third", later)])
    assert held["hold"] is not None
    assert item["because"].endswith("because something felt wrong")
    worked, item = typed_in([(1, "third", "50 off_day=yes")])
    assert worked["hold"] is not None
    assert item["because"].endswith("because something felt wrong")


def test_a_stop_written_down_after_a_later_session_on_paper_holds(typed_in, call, program, data):
    typed_in([(2, "third", "72")])
    late, item = typed_in([(5, "third", "stopped=symptom")])
    assert late["hold"] is not None
    assert item["verdict"] == "easier"
    then = call("show", read_person(data, "me")[0].session, "--json").json
    assert then["sets"][0]["verdict_because"].endswith("because something felt wrong")


def test_a_correction_of_a_row_on_paper_acts_as_if_it_had_been_true_from_the_start(
    typed_in, data, call, program
):
    _, item = typed_in([(2, "third", "72")])
    assert item["verdict"] == "same"
    book = AnswerBook(data, read_person(data, "me")[-1].opened)
    book.say(field="failed_about", value=20.0, set=1)
    assert book.close()
    now = call("next", program, "--json").json["sets"][0]
    assert now["evidence"][0]["first_failure_s"] == 20
    assert call("show", "--json").json["sets"][0]["counted_because"] == "failed at 20 s"
