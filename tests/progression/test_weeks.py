from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdtimer.errors import UnknownScriptError
from holdtimer.program.loading import loads
from holdtimer.progression.due import due

EXERCISES = """
format = 1
id = "chair-and-wall"
title = "Weeks"
[exercises.sit]
name = "Sit"
kind = "hold"
sides = "both"
failure = "Down."
way_out = "Up."
back_in = "Down again."
ladder = ["one"]
"""


def scripts(*rows):
    text = EXERCISES
    for name, weeks, step in rows:
        listed = f"weeks = {weeks}\n" if weeks else ""
        text += f'[[scripts]]\nid = "{name}"\ntitle = "{name}"\n{listed}steps = [{step}]\n'
    return loads(text, "weeks.toml").program


HARD = '{exercise = "sit"}'
EASY = '{easy = "Walk", seconds = 600}'


def chosen(program, past, now, **asked):
    return due(program, past, now, **asked).script


def on(diary, days_ago, script, **fields):
    return diary.session(days_ago, script=script, **fields)


def test_the_first_script_is_due_first(now):
    assert chosen(scripts(("B", None, HARD), ("A", None, HARD)), [], now) == "B"


def test_the_script_done_longest_ago_is_due(diary, now):
    program = scripts(("A", None, HARD), ("B", None, HARD), ("C", None, HARD))
    assert chosen(program, [on(diary, 9, "A")], now) == "B"
    past = [on(diary, 9, "B"), on(diary, 6, "A"), on(diary, 3, "C")]
    assert chosen(program, past, now) == "B"
    assert chosen(program, [*past, on(diary, 1, "B")], now) == "A"


def test_a_script_that_was_asked_for_is_taken(diary, now):
    program = scripts(("A", None, HARD), ("B", None, HARD))
    assert chosen(program, [], now, script="B") == "B"
    with pytest.raises(UnknownScriptError):
        due(program, [], now, "C")


def test_a_session_opened_and_left_or_rehearsed_was_not_done(diary, now):
    program = scripts(("A", None, HARD), ("B", None, HARD))
    left = on(diary, 3, "A", complete=False, is_hard=False)
    assert chosen(program, [left, on(diary, 2, "A", rehearsal=True)], now) == "A"
    assert due(program, [left], now + timedelta(days=30)).week == 1


@pytest.mark.parametrize(
    ("days", "week", "script"),
    [(0, 1, "A"), (6, 1, "A"), (7, 2, "A"), (14, 3, "B"), (27, 4, "B"), (28, 5, "B"), (400, 58, "B")],
)
def test_weeks_choose_and_the_last_listed_goes_on(diary, now, days, week, script):
    program = scripts(("A", [1, 2], HARD), ("B", [3, 4], HARD))
    found = due(program, [on(diary, days, "A")], now)
    assert (found.week, found.script) == (week, script)


def test_before_the_first_session_it_is_week_one(now):
    assert due(scripts(("A", [2], HARD)), [], now).week == 1


def test_a_week_that_nothing_lists_takes_what_was_listed_before(diary, now):
    program = scripts(("A", [1], HARD), ("B", [5], HARD))
    assert chosen(program, [on(diary, 20, "A")], now) == "A"
    assert chosen(scripts(("A", [3], HARD), ("B", [5], HARD)), [], now) == "A"


def test_scripts_without_weeks_always_belong(diary, now):
    program = scripts(("A", [1], HARD), ("B", [2], HARD), ("C", None, HARD))
    assert chosen(program, [on(diary, 8, "A"), on(diary, 1, "B")], now) == "C"
    assert chosen(program, [on(diary, 8, "C"), on(diary, 1, "B")], now) == "C"
    assert chosen(program, [on(diary, 8, "C")], now) == "B"


def test_a_week_begins_at_local_midnight(diary):
    zone = ZoneInfo("Europe/Berlin")
    first = on(
        diary, 0, "A", started=datetime(2026, 3, 23, 18, 0, tzinfo=zone)
    )  # the clocks change on the 29th
    program = scripts(("A", None, HARD))
    assert due(program, [first], datetime(2026, 3, 29, 23, 59, tzinfo=zone)).week == 1
    assert due(program, [first], datetime(2026, 3, 30, 0, 0, tzinfo=zone)).week == 2


def test_an_easy_day_is_suggested_while_recovering(diary, now):
    program = scripts(("A", None, HARD), ("E", None, EASY))
    found = due(program, [on(diary, 1, "A")], now)
    assert (found.script, found.ready, found.easy_day) == ("A", False, "E")
    assert due(program, [on(diary, 4, "A")], now).easy_day is None


def test_an_easy_day_needs_no_recovery(diary, now):
    program = scripts(("A", None, HARD), ("E", None, EASY))
    found = due(program, [on(diary, 1, "A")], now, script="E")
    assert (found.ready, found.earliest_start, found.when, found.sets) == (True, None, "ready now", ())


def test_an_easy_day_is_due_in_a_week_that_has_nothing_else(diary, now):
    program = scripts(("A", [1], HARD), ("E", [2], EASY))
    assert chosen(program, [on(diary, 7, "A")], now) == "E"


def test_nothing_is_suggested_while_on_hold(diary, now):
    program = scripts(("A", None, HARD), ("E", None, EASY))
    found = due(program, [on(diary, 1, "A", symptom=True)], now)
    assert found.easy_day is None
    assert not due(program, [on(diary, 1, "A", symptom=True)], now, script="E").ready
