"""When function tests are due: every so many weeks, rested, before the hard script of that day."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.program.loading import loads
from holdtimer.program.timeline import Series
from holdtimer.progression.due import due
from holdtimer.session.results import FunctionResult
from holdtimer.session.summary import SessionSummary

TEXT = """
format = 1
id = "hall"
title = "Hall"
[exercises.rise]
name = "Rise"
kind = "reps"
sides = "both"
reentry = false
failure = "You stay down."
way_out = "Sit."
ladder = ["slow", "slower"]
[tests.stand]
protocol = "chair-stand-30"
name = "Chair stand"
variant = "hands"
seat_cm = 46
way_out = "Sit."
[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "rise"}]
[[scripts]]
id = "T"
title = "Tests"
every_weeks = 4
steps = [{test = "stand"}]
"""
NOW = datetime(2026, 5, 4, 18, tzinfo=UTC)
STAND = FunctionResult(
    test="stand", series=Series(protocol="chair-stand-30"), trials=(), planned=1, value=9, able=True,
    is_off_day=False, counted=True, counted_because="confirmed",
)  # fmt: skip


@pytest.fixture(scope="module")
def program():
    return loads(TEXT, "hall.toml").program


def session(script, days_ago, *tests, is_hard=False, hours=0):
    started = NOW - timedelta(days=days_ago, hours=hours)
    return SessionSummary(
        session=f"{script}{days_ago}-{hours}", person="Ada", program="hall", script=script, started=started,
        ended=started + timedelta(minutes=30), complete=True, rehearsal=False, off_day=False, is_hard=is_hard,
        symptom=False, released=False, results=(), tests=tests,
    )  # fmt: skip


def test_tests_come_before_the_hard_script_of_the_first_day_and_once_that_day(program):
    first = due(program, [], NOW)
    assert (first.script, first.ready, [each.test for each in first.tests]) == ("T", True, ["stand"])
    after = due(program, [session("T", 0, STAND, hours=1)], NOW)
    assert (after.script, after.ready) == ("A", True)  # tests are not hard


@pytest.mark.parametrize(("days_ago", "script"), [(27, "A"), (28, "T"), (40, "T")])
def test_they_are_due_again_after_four_weeks(program, days_ago, script):
    assert due(program, [session("T", days_ago, STAND)], NOW).script == script


def test_they_wait_for_recovery_after_a_hard_session(program):
    past = [session("T", 30, STAND), session("A", 1, is_hard=True)]
    coming = due(program, past, NOW)
    assert (coming.script, coming.ready) == ("T", False)
    assert coming.earliest_start == NOW - timedelta(days=1) + timedelta(minutes=30, hours=48)


def test_what_was_put_off_is_due_on_the_next_day(program):
    put_off = replace(STAND, series=None, value=None, counted=False, counted_because="not today")
    assert due(program, [session("T", 0, put_off, hours=1)], NOW).script == "A"
    assert due(program, [session("T", 1, put_off)], NOW).script == "T"
    not_able = replace(STAND, value=None, able=False)
    assert due(program, [session("T", 1, not_able)], NOW).script == "A"


def test_a_program_of_tests_alone_says_from_when(program):
    alone = program.model_copy(update={"scripts": program.scripts[1:]})
    coming = due(alone, [session("T", 10, STAND)], NOW)
    assert (coming.script, coming.ready) == ("T", False)
    assert coming.earliest_start == datetime(2026, 5, 22, tzinfo=UTC)
    assert "24 April" in coming.warning
