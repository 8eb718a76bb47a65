"""The bundled programs: whole, safe, and short enough for a screen read from afar."""

from typing import get_args

import pytest

from holdtimer.cli.check import warnings
from holdtimer.files import programs_folder
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import load
from holdtimer.program.timeline import Protocol
from tests.tables import every

LOADED = {path.stem: load(path) for path in sorted(programs_folder().glob("*.toml"))}
EXERCISES = {
    f"{stem}/{key}": exercise
    for stem, loaded in LOADED.items()
    for key, exercise in loaded.program.exercises.items()
}
each_exercise = pytest.mark.parametrize("exercise", EXERCISES.values(), ids=EXERCISES)


@every("stem", LOADED)
def test_a_bundled_program_is_without_warnings_and_named_as_its_file(stem):
    assert warnings(LOADED[stem]) == []
    assert LOADED[stem].program.id == stem


def test_there_are_four_of_them_with_twelve_exercises_and_all_kinds():
    assert set(LOADED) == {"chair-and-counter", "floor", "easy-day", "every-four-weeks"}
    assert len(EXERCISES) >= 12
    every = EXERCISES.values()
    assert {(it.kind, it.sides) for it in every} == {
        (k, s) for k in ("hold", "reps") for s in ("both", "each")
    }
    assert any(it.reentry is False for it in every)
    assert any(it.tempo for it in every)


@each_exercise
def test_an_exercise_is_written_out_in_full(exercise):
    assert exercise.needs
    assert exercise.setup
    assert exercise.form
    assert exercise.back_in or exercise.reentry is False
    assert len(exercise.ladder) >= 4
    assert all(rung.how for rung in exercise.ladder)
    assert len({rung.how for rung in exercise.ladder}) == len(exercise.ladder)


@each_exercise
def test_lines_fit_a_screen_read_from_afar(exercise):
    ways = [exercise.way_out, *(rung.way_out for rung in exercise.ladder if rung.way_out)]
    assert max(map(len, [*ways, exercise.back_in or ""])) <= 40
    assert max(map(len, (*exercise.setup, *exercise.form))) <= 44
    assert len(exercise.name) <= 24
    assert max(len(rung.rung) for rung in exercise.ladder) <= 26


def test_a_function_test_is_written_out_in_full_and_fits_the_screen():
    tests = LOADED["every-four-weeks"].program.tests
    assert {each.protocol for each in tests.values()} == set(get_args(Protocol))
    for each in tests.values():
        assert each.needs
        assert each.setup
        assert each.form
        assert each.stop
        assert len(each.way_out) <= 40
        assert max(map(len, (*each.setup, *each.form))) <= 44
        assert len(each.name) <= 24
    assert tests["up-and-go"].presser == "helper"


@every("key", ["sit-to-stand", "heel-raise", "side-leg", "split-dip"])
def test_nobody_is_told_to_push_on_standing_unsteadily(key):
    exercise = EXERCISES[f"chair-and-counter/{key}"]
    assert exercise.push_s == 0
    assert "a steady chair" in exercise.needs


def test_a_day_at_chair_and_counter_takes_about_half_an_hour():
    program = LOADED["chair-and-counter"].program
    for script in program.scripts:
        assert 25 * 60 <= compile_script(program, script.id).least_s <= 35 * 60


def test_a_hard_day_begins_and_ends_easily():
    for loaded in LOADED.values():
        for script in loaded.program.scripts:
            parts = compile_script(loaded.program, script.id).parts
            assert not hasattr(parts[0], "window_s")
            assert not hasattr(parts[-1], "window_s")


def test_an_easy_day_has_no_set():
    assert compile_script(LOADED["easy-day"].program).sets == ()
