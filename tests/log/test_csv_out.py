import csv
import io
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from holdtimer.log.csv_columns import COLUMNS, guarded, unguarded
from holdtimer.log.csv_read import read_sheet
from holdtimer.log.csv_write import csv_text
from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize
from tests.tables import every

DESIGN = (
    "started,ended,program,script,set,attempt,exercise,side,rung,window_s,band_low_s,band_high_s,first_failure_s,"
    "ran_to_end,confirmed,late_tap_s,tension_s,reentries,interrupted,skipped,stopped,effort,form_broke,pain,"
    "off_day,note"
)


@pytest.fixture
def past(session):
    """A led session as the weeks see it, with more of its events."""

    def past(*more, **opened):
        events = [each for each in session(**opened) if not isinstance(each, ev.Closed)]
        return summarize(fold([*events, *more]))

    return past


def rows(*sessions):
    return list(csv.DictReader(io.StringIO(csv_text(sessions), newline="")))


def test_the_columns_are_those_of_the_design():
    assert csv_text([]) == DESIGN + "\r\n"
    assert ",".join(COLUMNS) == DESIGN


def test_a_led_set_is_one_row(past):
    (row,) = rows(past())
    assert row == {
        "started": "2026-11-25T09:07:38.250+00:00",
        "ended": "2026-11-25T09:09:28.250+00:00",
        "program": "chair",
        "script": "",
        "set": "1",
        "attempt": "1",
        "exercise": "wall-sit",
        "side": "both",
        "rung": "half way",
        "window_s": "90",
        "band_low_s": "60",
        "band_high_s": "90",
        "first_failure_s": "64.623",
        "ran_to_end": "false",
        "confirmed": "false",
        "late_tap_s": "",
        "tension_s": "83.623",
        "reentries": "1",
        "interrupted": "false",
        "skipped": "false",
        "stopped": "",
        "effort": "",
        "form_broke": "",
        "pain": "",
        "off_day": "false",
        "note": "schön, 世界",
    }


def test_corrections_are_in_force(past):
    moved = ev.Answer(n=20, t=200, id="m", field="moved", value=50.0, of=6)
    hurt = ev.Answer(n=21, t=201, id="p", field="pain", value=True, set=1)
    off = ev.Answer(n=22, t=202, id="o", field="off_day", value=True)
    (row,) = rows(past(moved, hurt, off))
    assert (row["first_failure_s"], row["pain"], row["off_day"]) == ("50.000", "true", "true")


def test_times_keep_the_offset_they_were_taken_in(session):
    events = session()
    events[1] = events[1].model_copy(update={"offset_s": 7200})
    (row,) = rows(summarize(fold(events)))
    assert row["started"] == "2026-11-25T11:07:38.250+02:00"


def test_an_end_before_the_start_tells_nothing(past):
    back = replace(past(), ended=datetime(2026, 11, 25, 8, 0, tzinfo=UTC))
    assert rows(back)[0]["ended"] == ""


def test_a_failure_that_may_be_a_slip_is_no_result_yet_but_the_session_was_hard(past):
    slip = [
        ev.Answer(n=20, t=200, id="m", field="moved", value=3.0, of=6),
        ev.Answer(n=21, t=201, id="n", field="moved", value=5.0, of=7),
    ]
    found = past(*slip)
    assert found.results[0].perhaps_slip is None  # one that a person moved is no slip
    in_doubt = replace(found, results=(replace(found.results[0], perhaps_slip=6),))
    (row,) = rows(in_doubt)
    assert (row["first_failure_s"], row["reentries"]) == ("", "1")
    result = {
        "set": 1,
        "exercise": "wall-sit",
        "side": "both",
        "rung": "high",
        "window_s": 90,
        "band_s": (60, 90),
    }
    paper = ev.PaperResult(n=1, t=0, started=row["started"], reentries=1, tension_s=4, **result)
    there = summarize(
        fold([ev.Opened(n=0, t=0, kind="paper", session="s", person="W", program="chair"), paper])
    )
    assert there.is_hard
    assert not there.results[0].counted


def test_a_set_left_out_before_it_began_tells_no_tension(past):
    found = past()
    left_out = replace(found.results[0], skipped=True, tension_s=0.0)
    left = replace(found.results[0], set=2, skipped=True, tension_s=4.5)
    assert [row["tension_s"] for row in rows(replace(found, results=(left_out, left)))] == ["", "4.500"]


def test_a_stop_for_a_symptom_stands_in_the_last_row(past):
    found = past()
    later = replace(found.results[0], set=2)
    stopped = replace(found, symptom=True, results=(*found.results, later))
    assert [row["stopped"] for row in rows(stopped)] == ["", "symptom"]


def test_a_stop_before_any_set_stands_in_a_row_of_the_first_one_planned(past):
    planned = [{"exercise": "wall-sit", "side": "both", "rung": "half way"}]
    early = replace(past(rungs=planned), symptom=True, results=())
    (row,) = rows(early)
    assert (row["exercise"], row["rung"], row["skipped"], row["stopped"]) == (
        "wall-sit",
        "half way",
        "true",
        "symptom",
    )
    assert rows(replace(early, symptom=False)) == []


@every("sign", [*"=+-@\t\r\n", *"＝＋－＠", "﹢", "﹦"])
def test_a_cell_that_begins_like_a_formula_is_marked_and_read_back(past, sign):
    text = f"{sign}HYPERLINK(1)"
    found = past()
    row = rows(replace(found, program=text, results=(replace(found.results[0], note=text, rung=text),)))[0]
    assert row["note"] == row["rung"] == row["program"] == "'" + text
    assert unguarded(row["note"]) == text


@pytest.mark.parametrize("text", ["'=1", "''=1", "'twas", "'", "plain", "1+1", " =1", 'a "b", c\r\nd', ""])
def test_every_text_comes_back_as_it_was(text):
    assert unguarded(guarded(text)) == text


def test_what_steers_a_terminal_or_hides_a_formula_is_shown_as_a_question_mark():
    assert guarded("a\x1b[2J\u202eb") == "a?[2J?b"
    assert guarded("\u200b=1") == "?=1"


def test_what_is_written_is_read_back(past):
    (row,) = read_sheet(csv_text([past()]).encode(), "out.csv", UTC).rows
    assert not row.faults
    assert (row.first_failure_s, row.note, row.reentries) == (64.623, "schön, 世界", 1)
    assert row.started == datetime(2026, 11, 25, 9, 7, 38, 250_000, UTC)
