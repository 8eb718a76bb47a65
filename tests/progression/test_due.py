import json
import os
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta

import pytest

from holdtimer.program.compiling import compile_script
from holdtimer.progression.due import due
from holdtimer.report.due import due_to_json


def heel(diary, word, side, **fields):
    return diary.result(word, exercise="heel-raise", side=side, kind="reps", **fields)


def test_a_person_with_no_log_gets_a_sensible_first_session(program, now):
    told = due_to_json(due(program, [], now))
    assert told == {
        "format": 1,
        "program": "chair-and-wall",
        "script": "A",
        "week": 1,
        "ready": True,
        "hold": None,
        "earliest_start": None,
        "done_last_7_days": 0,
        "sets": [
            {"exercise": exercise, "side": side, "rung": rung, "verdict": "same", "paused": False,
             "because": "first time: start rung", "expected_s": None, "evidence": []}
            for exercise, side, rung in [
                ("heel-raise", "left", "two hands"),
                ("heel-raise", "right", "two hands"),
                ("wall-sit", "both", "middle"),
            ]
        ],
    }  # fmt: skip


def test_what_is_told_is_plain_json(program, diary, now):
    past = diary.weeks("low:75, low:end, lower:55, lower:52")
    told = due_to_json(due(program, past, now))
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    wall = told["sets"][-1]
    assert wall["verdict"] == "easier"
    assert wall["evidence"] == [
        {"session": past[2].session, "first_failure_s": 55.0, "ran_to_end": False, "counted": True},
        {"session": past[3].session, "first_failure_s": 52.0, "ran_to_end": False, "counted": True},
    ]
    assert all(each == round(each, 2) for each in wall["expected_s"])


def test_each_side_has_a_verdict_of_its_own(program, diary, now):
    past = [diary.session(3, heel(diary, "two hands:end", "left"), heel(diary, "two hands:70", "right"))]
    rungs = due(program, past, now).rungs
    assert rungs["heel-raise", "left"] == "fingertips"
    assert rungs["heel-raise", "right"] == "two hands"


@pytest.mark.parametrize(
    ("left", "right", "first"),
    [
        ("two hands:end", "two hands:70", "right"),  # the lower due rung
        ("fingertips:70", "fingertips:65", "right"),  # the shorter last result
        ("fingertips:65", "fingertips:70", "left"),
        ("fingertips:70", "fingertips:70", "left"),
        ("no hands:end", "no hands:80", "right"),  # 80 s is shorter than a run to the end of 90 s
        ("no hands:end", "no hands:end", "left"),
    ],
)
def test_the_weaker_side_goes_first(program, diary, now, left, right, first):
    past = [diary.session(3, heel(diary, left, "left"), heel(diary, right, "right"))]
    found = due(program, past, now)
    assert [each.side for each in found.sets[:2]] == [first, "right" if first == "left" else "left"]
    timeline = compile_script(program, found.script, found.rungs, found.first_sides)
    assert [(each.exercise, each.side) for each in timeline.sets] == [
        (s.exercise, s.side) for s in found.sets
    ]
    assert {(each.exercise, each.side): each.rung.name for each in timeline.sets} == found.rungs


def test_one_side_alone_known_leaves_left_first(program, diary, now):
    past = [diary.session(3, heel(diary, "two hands:70", "right"))]
    assert due(program, past, now).sets[0].side == "left"


def test_a_run_to_the_end_of_a_shorter_window_is_not_known_to_be_longer(program, diary, now):
    past = [
        diary.session(
            3,
            heel(diary, "no hands:end", "left", window_s=60.0, band_s=(40.0, 60.0)),
            heel(diary, "no hands:80", "right"),
        )
    ]
    assert due(program, past, now).sets[0].side == "left"


def test_the_last_counted_result_is_there_for_the_ruler(program, diary, now):
    past = diary.weeks("low:65, low:silent")
    wall = due(program, past, now).sets[-1]
    assert wall.outlook.last.failed_s == 65


def test_a_paused_exercise_is_told(program, diary, now):
    wall = due_to_json(due(program, diary.weeks("high:70p"), now))["sets"][-1]
    assert wall["paused"] is True
    assert wall["evidence"][0]["first_failure_s"] == 70


def test_a_hold_is_told(program, diary, now):
    told = due_to_json(due(program, [diary.session(5, symptom=True)], now))
    assert told["hold"] == "stopped on 15 May because something felt wrong"
    assert told["ready"] is False


def test_sessions_of_another_program_or_year_change_no_verdict(program, diary, now):
    past = diary.weeks("low:75")
    other = [replace(each, program="floor") for each in diary.weeks("low:20, low:20", last=1, apart=1)]
    assert due(program, [*past, *other], now).sets == due(program, past, now).sets


def test_a_session_that_can_not_be_placed_in_time_is_named(program, diary, now):
    past = [diary.session(3, diary.result("low:75"), started=None, ended=None)]
    found = due(program, past, now)
    assert found.left_out == ("sessions with no time of day: 1",)
    assert found.rungs["wall-sit", "both"] == "middle"


def test_an_exercise_done_twice_in_a_script_is_told_once(program, now, program_text):
    from holdtimer.program.loading import loads

    twice = loads(
        program_text.replace('{exercise = "wall-sit"}]', '{exercise = "wall-sit"}, {exercise = "wall-sit"}]'),
        "x",
    )
    assert [each.exercise for each in due(twice.program, [], now).sets].count("wall-sit") == 1


def test_what_is_due_needs_no_scientific_library():
    code = (
        "import sys; import holdtimer.progression.due, holdtimer.progression.trend; "
        "assert not {'scipy', 'numpy', 'textual', 'tree_sitter'} & set(sys.modules), sorted(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env=os.environ)


def test_results_of_the_same_start_stand_in_the_order_of_the_scripts_then_of_the_sessions(
    program_text, diary, now
):
    from holdtimer.program.loading import loads

    both = '[[scripts]]\nid = "B"\ntitle = "B"\nsteps = [{exercise = "wall-sit"}]\n'
    program = loads(f"{program_text}\n{both}", "x").program

    def last(*sessions):
        past = [
            diary.session(3, diary.result(word), session=name, script=script)
            for name, script, word in sessions
        ]
        return {due(program, order, now, "A").sets[-1].outlook.last.session for order in (past, past[::-1])}

    assert last(("a", "B", "low:75"), ("b", "A", "low:50")) == {"a"}
    assert last(("a", "A", "low:75"), ("b", "A", "low:50")) == {"b"}
    assert last(("b", "gone", "low:75"), ("c", "B", "low:50")) == {"b"}


def test_a_row_with_a_date_only_stands_at_the_end_of_its_day(program, diary, now):
    midnight = now.replace(hour=0) - timedelta(days=3)
    row = diary.session(0, diary.result("low:75"), session="row", started=midnight, date_only=True)
    led = diary.session(0, diary.result("low:50"), session="led", started=midnight + timedelta(hours=20))
    next_day = diary.session(0, diary.result("low:60"), session="next", started=midnight + timedelta(days=1))
    assert due(program, [row, led], now).sets[-1].outlook.last.session == "row"
    assert due(program, [row, led, next_day], now).sets[-1].outlook.last.session == "next"
