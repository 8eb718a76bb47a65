"""Rows that are kept already: what is kept stays, and what they say otherwise is named."""

import csv
import io

import pytest

from holdtimer.live.answers import AnswerBook
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import read_person

ROW = {
    "started": "2026-05-12T18:00+00:00", "ended": "2026-05-12T18:20+00:00", "script": "A", "set": "1",
    "attempt": "1", "exercise": "wall-sit", "side": "both", "rung": "high", "window_s": "60",
    "band_low_s": "30", "band_high_s": "60", "first_failure_s": "45", "ran_to_end": "no", "confirmed": "no",
    "late_tap_s": "", "tension_s": "50", "reentries": "1", "interrupted": "", "skipped": "", "stopped": "",
    "effort": "8", "form_broke": "no", "pain": "", "off_day": "no", "note": "=cold",
}  # fmt: skip


@pytest.fixture
def take(tmp_path, call, hall):
    """Take rows in, and return what was answered."""

    def take(*rows, person="Ada"):
        path, text = tmp_path / "paper.csv", io.StringIO()
        writer = csv.DictWriter(text, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
        path.write_text(text.getvalue(), encoding="utf-8")
        return call("import", path, hall, "--person", person)

    return take


@pytest.fixture
def answer(data):
    """Say something of the newest session, in a file of its own."""

    def answer(**said):
        logs = [log for log in read_person(data, "Ada") if log.opened.kind != "answers"]
        book = AnswerBook(data, logs[-1].opened)
        book.say(**said)
        assert book.close()

    return answer


@pytest.fixture
def exported(call):
    """Return what is exported now, as rows."""
    return lambda: list(csv.DictReader(io.StringIO(call("export", "csv").out)))


def otherwise(*columns):
    return (
        f"paper.csv:2: set 1 is already kept with other values ({', '.join(columns)}); the kept values stay\n"
    )


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("ended", "2026-05-12T18:10+00:00"), ("ended", "2026-05-12T18:30+00:00"), ("attempt", "2"),
        ("rung", "low"), ("window_s", "90"), ("band_low_s", "40"), ("band_high_s", "50"),
        ("first_failure_s", "20"), ("first_failure_s", "45.1"), ("late_tap_s", "0.5"), ("tension_s", "48"),
        ("reentries", "2"), ("interrupted", "yes"), ("skipped", "yes"), ("stopped", "choice"),
        ("stopped", "symptom"), ("effort", "9"), ("form_broke", "yes"), ("pain", "yes"), ("pain", "no"),
        ("off_day", "yes"), ("note", "warm"),
    ],
)  # fmt: skip
def test_a_row_that_says_otherwise_than_what_is_kept_is_named_with_its_column(take, data, call, column, cell):
    take(ROW)
    before = call("export", "csv").out
    said = take(ROW | {column: cell})
    assert said.code == 0
    assert said.out == "added: 0 sets in 0 sessions\nalready known: 1 set\n"
    assert said.err.endswith(otherwise(column))
    assert len(list(data.rglob("*.jsonl"))) == 1
    assert call("export", "csv").out == before


def test_all_columns_that_say_otherwise_are_named(take):
    take(ROW)
    said = take(ROW | {"first_failure_s": "", "ran_to_end": "yes", "reentries": "", "pain": "yes"})
    assert said.err.endswith(otherwise("first_failure_s", "ran_to_end", "pain"))


def test_a_run_to_the_end_that_is_taken_back_says_otherwise(take):
    ran = ROW | {"first_failure_s": "", "ran_to_end": "yes", "confirmed": "", "reentries": ""}
    take(ran)
    assert take(ran | {"confirmed": "yes"}).err == ""
    assert take(ran | {"confirmed": "no"}).err.endswith(otherwise("confirmed"))


def test_a_cell_that_is_empty_or_spelt_in_another_way_says_nothing_otherwise(take):
    take(ROW)
    few = {key: ROW[key] for key in ("started", "exercise", "side", "rung", "first_failure_s")}
    assert take(few).err == ""
    spelt = {"started": "2026-05-12T20:00+02:00", "exercise": "Wall sit", "side": "", "rung": "HIGH"}
    assert take(few | spelt | {"first_failure_s": "0:45.0"}).err == ""


def test_rows_that_tell_different_ends_and_an_off_day_once_are_the_same_again(take):
    later = {"set": "2", "ended": "2026-05-12T18:40+00:00", "off_day": "yes"}
    rows = [ROW, ROW | later]
    assert take(*rows).err == ""
    assert take(*rows).err == ""
    assert "set 2 is already kept with other values (off_day)" in take(ROW, rows[1] | {"off_day": "no"}).err


# ---- what was said of it since


@pytest.mark.parametrize(
    "said",
    [
        {"field": "pain", "value": True, "set": 1},
        {"field": "form_broke", "value": True, "set": 1},
        {"field": "effort", "value": 3.0, "set": 1},
        {"field": "note", "value": "a\x1b\nb", "set": 1},
        {"field": "off_day", "value": True},
        {"field": "failed_about", "value": 20.0, "set": 1},
        {"field": "ran_to_end", "value": True, "set": 1},
    ],
)
@pytest.mark.parametrize("led", [{}, {"until": 40}, None])
def test_what_was_written_before_a_correction_and_after_it_is_both_known(
    take, trained, answer, exported, data, led, said
):
    if led is None:
        take(ROW)
    else:
        trained(**led)
    before = exported()
    answer(**said)
    after, kept = exported(), read_summaries(data, "Ada").sessions
    assert after != before or (led and said["field"] == "ran_to_end")  # broken off: it did not run to its end
    for rows in (before, after):
        again = take(*rows)
        assert (again.code, again.err) == (0, "")
    assert read_summaries(data, "Ada").sessions == kept
    if led is None:
        assert take(ROW).err == ""
        assert take(ROW | {"window_s": "59"}).err.endswith(otherwise("window_s"))


# ---- sessions that were led


def test_ones_own_sessions_are_known_and_win(trained, take, exported, data):
    trained(45)
    own = read_summaries(data, "Ada").sessions
    (row,) = exported()
    assert row["first_failure_s"].startswith("45.0")
    said = take(row)
    assert said.out == "added: 0 sets in 0 sessions\nalready known: 1 set, 1 of them done here\n"
    assert said.err == ""
    said = take(row | {"first_failure_s": "20", "pain": "yes"})
    assert said.out == "added: 0 sets in 0 sessions\nalready known: 1 set, 1 of them done here\n"
    assert said.err.endswith(otherwise("first_failure_s", "pain"))
    assert read_summaries(data, "Ada").sessions == own


@pytest.mark.parametrize("more", [{}, {"first_failure_s": "", "skipped": "yes", "stopped": "symptom"}])
def test_a_set_that_a_led_session_has_not_is_named_and_left_out(trained, take, exported, more):
    trained(45)
    (row,) = exported()
    said = take(row, row | {"set": "2"} | more)
    assert said.code == 0
    assert said.err.endswith(
        "paper.csv:3: this session was run with holdtimer, without this set; nothing is added to it\n"
    )
