"""What is due, in words: titles, one way to write seconds, and nothing that contradicts itself."""

from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.program.loading import loads
from holdtimer.progression.due import due
from holdtimer.report.due import due_blocks, expected_words
from holdtimer.report.table import text_lines
from holdtimer.report.text import script_title
from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize
from tests.invented.programs import HALL

NOW = datetime(2026, 5, 20, 18, 0, tzinfo=UTC)
EASY_DAY = """
[[scripts]]
id = "E"
title = "A walk"
steps = [{easy = "Walk", seconds = 600}]
"""


def on_paper(program, **row):
    opened = ev.Opened(n=0, t=0, kind="paper", session="p", person="Ada", program=program.id, script="A")
    about = {"set": 1, "exercise": "wall-sit", "side": "both", "window_s": 60, "band_s": (30, 60)}
    paper = ev.PaperResult(n=1, t=0, **about | row)
    return summarize(fold([opened, paper, ev.Closed(n=2, t=0, reason="finished")]))


@pytest.fixture
def told():
    """The lines of what is due some hours after a result on paper."""

    def told(hours=72, text=HALL, **row):
        program = loads(text, "hall.toml").program
        started = (NOW - timedelta(hours=hours)).isoformat()
        past = [on_paper(program, started=started, **{"rung": "half way", "first_failure_s": 45} | row)]
        return text_lines(due_blocks(due(program, past, NOW), program), 80, None)

    return told


def test_the_script_goes_by_its_title(told):
    assert told()[0] == "Legs: ready now."


def test_the_easy_day_goes_by_its_title(told):
    assert "Until then, if you like: A walk." in told(hours=20, text=HALL + EASY_DAY)


def test_two_scripts_of_one_title_are_told_from_each_other():
    program = loads(HALL + EASY_DAY.replace("A walk", "Legs"), "hall.toml").program
    assert [script_title(program, each) for each in ("A", "E")] == ["Legs (A)", "Legs (E)"]


def test_a_paused_exercise_has_no_verdict_that_contradicts_it(told):
    lines = told(rung="high", pain=True)
    at = lines.index("Wall sit: high  45 s  left out")
    why = "Pain on 17 May, at the easiest rung. Restore it when it has settled or was"
    assert lines[at + 1 : at + 3] == [f"   {why}", "   checked."]


def test_nothing_is_said_of_brackets_where_a_hold_leaves_none(told):
    legend = "In brackets: on most days; + means at least."
    assert legend in told()
    held = told(stopped="symptom")
    assert held[0].startswith("On hold")
    assert legend not in held


def test_the_first_time_is_not_called_the_same():
    program = loads(HALL, "hall.toml").program
    lines = text_lines(due_blocks(due(program, (), NOW), program), 80, None)
    assert lines[3:5] == ["                    next", "Wall sit: half way  first"]


@pytest.mark.parametrize(
    ("expected", "window", "words"),
    [
        ((60.9, 72.9, 85.9), 90, "72 s (60-85)"),
        ((65, 80, 105), 120, "80 s (65-1:45)"),
        ((65, 80, 105), 90, "80 s (65+)"),
        ((65, 95, 140), 90, "65+ s"),
        ((95, 110, 140), 90, "to end"),
        ((65, 80, 90), 90, "80 s (65+)"),
    ],
)
def test_no_failure_is_expected_after_the_end_of_the_window(expected, window, words):
    assert expected_words(expected, window) == words
