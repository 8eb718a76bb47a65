"""What the review draws: weeks beside each other, a session in two rows, a course over time."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from holdtimer.report.course import Course, Point
from holdtimer.report.function import Lane
from holdtimer.report.review import SessionRow, last_weeks, matching, seconds_typed
from holdtimer.screens.review.exercise import curve, legend
from holdtimer.screens.review.sessions import row_lines, strip_of_weeks
from holdtimer.screens.ruler import RulerData, small_ruler
from holdtimer.session.summary import SessionSummary

NOW = datetime(2026, 3, 19, 12, tzinfo=UTC)  # a Thursday
POINT = Point(NOW, "both", 70.0, False, 0, True)


def session(day, hour=18, **fields):
    started = datetime(2026, 3, day, hour, tzinfo=UTC)
    said = {"complete": True, "rehearsal": False, "off_day": False, "is_hard": True, "results": ()}
    said |= {"symptom": False, "released": False, "ended": started + timedelta(minutes=30)}
    return SessionSummary(
        session=str(day), person="Edda", program="wall", script="A", started=started, **(said | fields)
    )


def test_the_strip_tells_hard_early_and_easy_days_and_those_that_were_for_recovery():
    past = [session(9), session(12, is_early=True), session(14, is_hard=False), session(18, hour=7)]
    weeks = last_weeks(past, NOW, recovery_h=48, count=2)
    assert [week.hard for week in weeks] == [2, 1]
    assert strip_of_weeks(weeks, 20) == ["9 Mar    16 Mar", "█─·!─▄·  ··█─", "2 hard   1 hard"]
    assert strip_of_weeks(weeks, 60)[1].startswith("███ ────·   !   ────▄▄▄ ")


def test_remarks_too_long_for_their_column_go_on_below_and_none_is_broken_or_lost():
    marks = ("1 to answer", "something felt wrong", "pain", "off day", "not finished")
    row = SessionRow("a", date(2026, 3, 2), "Mon 2 Mar 2026", "18:00", "Legs", "1/2", marks)
    shown = {columns: [line.plain for line in row_lines(row, columns)] for columns in (20, 80, 120, 200)}
    begin = shown[200][0].index(marks[0])
    assert shown[200][0][begin:] == ", ".join(marks)
    assert [line[shown[80][0].index(marks[0]) :] for line in shown[80]] == [
        "1 to answer,",
        "something felt wrong,",
        "pain, off day,",
        "not finished",
    ]
    for lines in shown.values():
        assert " ".join(line.strip() for line in lines).endswith(", ".join(marks))


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("", "ab"), ("2026-03", "a"), ("2026-03-02", "a"), ("2 mar", "a"), ("2.3.", "a"), ("02.03.2026", "a"),
        ("mar 2026", "a"), ("March 2", "a"), ("2025", "b"), ("24 dec", "b"), ("12", ""), ("nonsense", ""),
    ],
)  # fmt: skip
def test_a_date_is_found_however_it_is_typed(typed, found):
    row = SessionRow("a", date(2026, 3, 2), "", "", "", "", ())
    rows = [row, replace(row, session="b", day=date(2025, 12, 24)), replace(row, session="c", day=None)]
    shown = "".join(each.session for each in matching(rows, typed))
    assert shown == (found if typed else "abc")


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [
        ("64", 64),
        ("64.5", 64.5),
        ("64,5 s", 64.5),
        ("1:04.5", 64.5),
        ("-3", None),
        ("", None),
        ("1:2:3", None),
    ],
)
def test_a_time_is_read_as_people_write_it(typed, seconds):
    assert seconds_typed(typed) == seconds


def test_a_set_in_two_rows_shows_what_was_worked_its_stamps_and_the_band():
    data = RulerData(90, (60, 90), 30, 90, ((45, "failure"), (54, "re-entry")))
    assert small_ruler(30, data) == ["██████████████▼──▽████████████", "╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌┣━━━━━━━━━┫"]


def plotted(points, rows=20, **more):
    sides = points if isinstance(points, dict) else {"both": points}
    course = Course("x", "X", ("low", "high"), (60, 90), 90, sides)
    drawn = curve(60, rows, course, NOW, **more)
    return course, [line.plain for line in drawn]


@pytest.mark.parametrize("rows", [10, 14, 20, 40])
def test_a_failure_before_the_band_is_never_drawn_inside_it(rows):
    for seconds, is_inside in ((59.9, False), (60.0, True), (75.0, True)):
        _, lines = plotted((replace(POINT, seconds=seconds),), rows)
        marked = next(line for line in lines if "●" in line)
        assert ("░" in marked) is is_inside


def test_marks_tell_sides_runs_to_the_end_and_what_does_not_count():
    week = timedelta(weeks=1)
    left = (POINT, replace(POINT, at=NOW + week, seconds=90.0, is_open=True))
    right = (
        replace(POINT, seconds=40.0, pain=True),
        replace(POINT, at=NOW + week, seconds=50.0, counted=False, off_day=True, rung=1),
        replace(POINT, at=NOW + 2 * week, seconds=None, counted=False),  # silence shows nothing
    )
    course, lines = plotted({"left": left, "right": right})
    shown = "\n".join(lines)
    assert [shown.count(mark) for mark in ("◀", "◁", "▶!", "▶o", "×")] == [1, 1, 1, 1, 1]
    assert "▷" not in shown
    assert legend(course).startswith("◀ left, ▶ right   ◁ ▷ at least")


def test_rungs_are_steps_and_function_tests_stand_under_the_same_time():
    points = (
        replace(POINT, at=NOW - timedelta(weeks=4)),
        replace(POINT, at=NOW - timedelta(weeks=2), rung=1),
    )
    lane = Lane("chair stand", ((NOW - timedelta(weeks=4), "(9)"), (NOW, "12")))
    _, lines = plotted(points, lanes=(lane,))
    *_, high, low, tests = lines
    edge = len(low.rstrip())
    assert (high.split()[0], low.split()[0]) == ("high", "low")
    assert high.index("▀") in (edge - 1, edge)
    assert tests.split() == ["chair", "stand", "(9)", "12"]
    assert tests.index("(9)") == low.index("▀")
