import pytest

from holdtimer.errors import UnknownScriptError
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import find, load, loads
from holdtimer.program.models import resolve


@pytest.fixture
def program(spoil):
    """Return a function that reads the good file with some texts changed."""
    return lambda *changes: loads(spoil(*changes), "hall.toml").program


def plan(program, **how):
    return [(part.exercise, part.side, part.rung.name) for part in compile_script(program, **how).sets]


def rests(program):
    return [part.rest_s for part in compile_script(program).parts]


def steps(*lines):
    """Return the change that gives the good file these steps."""
    old = (
        '  {easy = "March", seconds = 120},\n  {exercise = "heel-raise"},\n'
        '  {exercise = "wall-sit", window_s = 60, band_s = [40, 60], final_s = 20},\n'
    )
    return old, "".join(f"  {{{line}}},\n" for line in lines)


def test_parts_and_sets_are_numbered_in_order(program):
    timeline = compile_script(program())
    assert (timeline.program, timeline.script, timeline.script_title) == ("hall", "A", "Legs")
    assert [part.part for part in timeline.parts] == [0, 1, 2, 3]
    assert [part.set for part in timeline.sets] == [1, 2, 3]


def test_a_step_goes_before_its_exercise_and_that_before_the_defaults(program):
    it = program(
        ("band_s = [60, 90]", "band_s = [60, 90]\nfinal_s = 25\npush_s = 1"), ('joint = "knee"', "push_s = 2")
    )
    left, _, wall = compile_script(it).sets
    assert (left.window_s, left.band_s, left.final_s, left.push_s, left.count_in_s) == (
        90,
        (60, 90),
        25,
        1,
        10,
    )
    assert (wall.window_s, wall.band_s, wall.final_s, wall.push_s, wall.count_in_s) == (
        60,
        (40, 60),
        20,
        2,
        10,
    )


def test_everything_a_set_needs_is_carried_over(program):
    left, _, wall = compile_script(program()).sets
    assert (wall.name, wall.kind, wall.joint, wall.needs) == ("Wall sit", "hold", "knee", ("a clear wall",))
    assert (wall.failure, wall.way_out) == ("You slide down.", "Hands on the chair, stand up.")
    assert wall.back_in == "Slide down again."
    assert [rung.load for rung in wall.ladder] == [0.60, 0.66, 0.72]
    assert wall.ladder[1].was == ("middle",)
    assert left.tempo == (3, 1, 2, 0)
    assert wall.tempo is None


def test_settings_may_be_switched_off_by_a_step(program):
    it = program(steps('exercise = "wall-sit", push_s = 0, reentry = false'))
    (only,) = compile_script(it).sets
    assert (only.push_s, only.reentry) == (0, False)


@pytest.mark.parametrize(
    ("first", "given", "chosen", "order"),
    [
        ("left", {}, {}, ["left", "right"]),
        ("right", {}, {}, ["right", "left"]),
        ("right", {"heel-raise": "left"}, {}, ["right", "left"]),  # the file has decided
        ("weaker", {}, {}, ["left", "right"]),
        ("weaker", {"heel-raise": "right"}, {}, ["right", "left"]),
        ("weaker", {}, {("heel-raise", "left"): "one hand"}, ["right", "left"]),
        ("weaker", {}, {("heel-raise", "right"): "one hand"}, ["left", "right"]),
        ("weaker", {"heel-raise": "left"}, {("heel-raise", "left"): "one hand"}, ["left", "right"]),
    ],
)
def test_the_order_of_sides(program, first, given, chosen, order):
    it = program(('first_side = "left"', f'first_side = "{first}"'))
    assert [side for _, side, _ in plan(it, first_sides=given, rungs=chosen)[:2]] == order


def test_without_a_first_side_the_left_begins(program):
    assert [side for _, side, _ in plan(program(('first_side = "left"\n', "")))] == ["left", "right", "both"]


def test_rungs_are_chosen_by_name_or_former_name_and_else_are_the_start(program):
    def wall_rung(name):
        return plan(it, rungs={("wall-sit", "both"): name})[-1][2]

    it = program(('start = "high"', 'start = "half way"'))
    assert wall_rung("low") == "low"
    assert wall_rung("middle") == "half way"
    assert wall_rung("gone long ago") == "half way"
    assert plan(it)[-1][2] == "half way"


def test_without_a_start_the_easiest_rung_is_the_start(program):
    assert plan(program(('start = "high"\n', "")))[-1][2] == "high"


def test_the_first_set_has_no_rest_before_it_even_after_a_warm_up(program):
    assert rests(program()) == [0, 0, 60, 90]
    assert rests(program(steps('exercise = "wall-sit"', 'exercise = "wall-sit"'))) == [0, 90]


def test_rest_stands_before_its_own_step(program):
    assert rests(program(steps('exercise = "heel-raise"', 'exercise = "wall-sit", rest_s = 120'))) == [
        0,
        60,
        120,
    ]


def test_easy_movement_since_the_last_window_counts_as_rest(program):
    march = 'easy = "March", seconds = {}'
    wall = 'exercise = "wall-sit"'
    assert rests(program(steps(wall, march.format(30), wall))) == [0, 0, 60]
    assert rests(program(steps(wall, march.format(60), march.format(60), wall))) == [0, 0, 0, 0]
    assert rests(program(steps(wall, march.format(20) + ", rest_s = 15", wall))) == [0, 15, 55]


def test_a_side_rest_of_its_own(program):
    it = program(steps('exercise = "heel-raise", side_rest_s = 5'))
    assert rests(it) == [0, 5]


def test_a_script_is_chosen_by_its_id_and_the_first_without(good):
    walk = '{easy = "Walk", seconds = 600, needs = ["shoes"]}'
    program = loads(f'{good}[[scripts]]\nid = "B"\ntitle = "Easy"\nsteps = [{walk}]\n', "hall.toml").program
    assert compile_script(program).script == "A"
    easy = compile_script(program, "B")
    assert (easy.sets, easy.parts[0].needs) == ((), ("shoes",))
    with pytest.raises(UnknownScriptError, match='"hall" has no script "C"; its scripts are: A, B'):
        compile_script(program, "C")


def test_the_resolved_settings_are_a_whole_set_of_defaults(program):
    it = program()
    settings = resolve(it, it.exercises["wall-sit"], it.scripts[0].steps[2])
    assert settings.model_dump() == it.defaults.model_dump() | {
        "window_s": 60,
        "band_s": (40, 60),
        "final_s": 20,
    }


def test_a_test_is_filled_in_by_its_protocol_and_led_to_the_easier_one_where_that_is_not_done_anyway():
    program = load(find("every-four-weeks")).program
    hands, crossed, five, walk, up = compile_script(program).tests
    assert [each.number for each in (hands, crossed, five, walk, up)] == [1, 2, 3, 4, 5]
    assert all(each.easier is None for each in (hands, crossed, five))  # hands come first in this script
    assert (walk.trials, walk.pace, walk.start, walk.aid, walk.presser) == (
        2,
        "usual",
        "standing",
        "none",
        "walker",
    )
    assert (up.lane_m, up.presser, up.variant) == (3.0, "helper", None)
    assert crossed.rest_s == 300
    steps = program.scripts[0].steps
    alone = program.scripts[0].model_copy(update={"steps": (steps[2],)})
    (crossed,) = compile_script(program.model_copy(update={"scripts": (alone,)})).tests
    assert (crossed.easier.test, crossed.easier.variant, crossed.easier.part) == (
        "stand-with-hands",
        "hands",
        0,
    )
