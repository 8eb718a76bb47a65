from holdtimer.cli.check import describe, warnings
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import find, load, loads


def warned(text):
    return warnings(loads(text, "hall.toml"))


def test_a_sound_file_is_told_whole(good):
    assert describe(loads(good, "hall.toml").program) == [
        "Village hall (hall)",
        "1 to 3 hard sessions in 7 days, 48 h apart",
        "",
        "Script A: Legs, weeks 1, 2",
        "    0:00  easy: March, 2:00",
        "    2:10  set 1: Heel raise, left . two hands . 90 s, band 60 to 90 s",
        "    4:50  set 2: Heel raise, right . two hands . 90 s, band 60 to 90 s",
        "    8:00  set 3: Wall sit . high . 60 s, band 40 to 60 s",
        "    9:00  end: 3 sets, at least 9:00",
        "  you need:",
        "    a clear wall",
    ]


def test_an_easy_day_is_called_one(spoil):
    text = spoil(('  {exercise = "heel-raise"},\n', ""))
    text = text.replace('  {exercise = "wall-sit", window_s = 60, band_s = [40, 60], final_s = 20},\n', "")
    lines = describe(loads(text, "hall.toml").program)
    assert lines[-2:] == ["    2:00  end: easy day, at least 2:00", "  you need: nothing"]


def test_total_and_needs_are_those_of_the_timeline(spoil):
    text = spoil(("seconds = 120}", 'seconds = 120, needs = ["shoes", "a clear wall"]}'))
    timeline = compile_script(loads(text, "hall.toml").program)
    assert timeline.least_s == 120 + (10 + 90) + 60 + (10 + 90) + 90 + (10 + 60)
    assert timeline.needs == ("shoes", "a clear wall")


def test_a_sound_file_brings_no_warning(good):
    assert warned(good) == []


def test_a_step_wider_than_the_band_is_warned_of_with_the_load_between(spoil):
    """Knee: (90/60)**(1/1.88) = 1.241; 0.66 * 1.25 = 0.825, and sqrt(0.66 * 0.825) = 0.738."""
    assert warned(spoil(("0.72", "0.825"))) == [
        'hall.toml:24: warning: from "half way" to "low" the load rises 25%, '
        "more than the band allows (24%); put a rung with load 0.738 between them"
    ]
    assert warned(spoil(("0.72", "0.815"))) == []


def test_the_joint_decides_how_wide_a_step_may_be(spoil):
    wide = ("0.72", "0.80")  # 1.212 times 0.66: within the knee's 1.241, past the trunk's 1.196
    assert warned(spoil(wide)) == []
    assert len(warned(spoil(wide, ('"knee"', '"trunk"')))) == 1
    assert warned(spoil(wide, ('joint = "knee"\n', ""))) == []  # in general 1.227


def test_an_unused_exercise_and_a_spacing_that_cannot_be_kept_are_warned_of(spoil):
    text = spoil(('  {exercise = "heel-raise"},\n', ""), ("[1, 3]", "[4, 5]"))
    assert warned(text) == [
        "hall.toml:10: warning: 4 sessions in 7 days leave no room for 48 h of recovery between them",
        'hall.toml:28: warning: no script uses exercise "heel-raise"; add it to one, or take it out',
    ]


def test_tests_are_told_with_all_that_makes_them_comparable():
    lines = describe(load(find("every-four-weeks")).program)
    assert "Script T: Standing up and walking, every 4 weeks" in lines
    assert "   20:15  test 4: Hall walk . 6 m . usual pace . standing start . no aid . 2 trials" in lines
    assert "   31:00  end: 5 tests, at least 31:00" in lines


def test_a_chair_that_was_not_measured_and_a_test_nobody_does_are_warned_of():
    text = load(find("every-four-weeks")).text
    text = text.replace("seat_cm  = 46\n", "", 1).replace('  {test = "up-and-go"},\n', "")
    assert [warning.partition("warning: ")[2] for warning in warned(text)] == [
        'test "stand-with-hands" has no seat_cm; measure the seat, since another chair is another test',
        'no script uses test "up-and-go"; add it to one, or take it out',
    ]
