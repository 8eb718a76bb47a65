import pytest

ROWS = """\
started,exercise,side,rung,first_failure_s
2026-01-05,wall-sit,both,low,40
2026-01-08,wall-sit,both,low,42
"""


@pytest.fixture
def told(call, tmp_path, hall):
    """Return the lines and the JSON of the trend on a day after two results on paper."""
    file = tmp_path / "on-paper.csv"
    file.write_text(ROWS, encoding="utf-8")
    assert call("import", file, hall).code == 0

    def told(day):
        asked = ("trend", hall, "--at", f"{day}T12:00")
        return call(*asked).out.splitlines(), call(*asked, "--json").json

    return told


def test_while_one_trains_what_was_planned_is_told(told):
    lines, document = told("2026-01-25")
    assert lines[-1] == "hard sessions: 2 done, at least 2 planned"
    assert document["kept"] == {"sessions": 2, "planned": 2}


def test_after_a_long_break_no_plan_is_held_against_anybody(told):
    lines, document = told("2026-11-02")
    assert lines[-1] == "hard sessions: 2 since 5 January"
    assert document["kept"] == {"sessions": 2, "planned": 43}
