"""A table of program files with one spoilt place each."""
# ruff: noqa: E501  (one line a case)

import pytest

from holdtimer.errors import ProgramError
from holdtimer.program.loading import loads
from tests.tables import every

# one spoilt place each: what is put for what, the line of the fault, and words that must stand in it
SPOILT = {
    "misspelt key": ("ladder = [\n", "ladde = [\n", 21, 'unknown key "ladde"; did you mean "ladder"?'),
    "misspelt table": ("[spacing]", "[spaceing]", 9, 'unknown key "spaceing"; did you mean "spacing"?'),
    "misspelt key in a rung": ("load = 0.66", "lode = 0.66", 23, 'unknown key "lode"; did you mean "load"?'),
    "misspelt key in a step": ("window_s = 60", "windows = 60", 46, 'did you mean "window_s"?'),
    "key unlike any": ('joint = "knee"', "zzzz = 1", 16, 'unknown key "zzzz"; choose one of: '),
    "format of the future": ("format = 1", "format = 2", 1, "format is 2; this version reads format = 1"),
    "format not a number": ("format = 1", "format = true", 1, "format is true; this version reads"),
    "an exercise's name for its id": ('"heel-raise"}', '"Heel raise"}', 45, 'no exercise "Heel raise" in this file; did you mean "heel-raise"?'),
    "a name for its id in another spelling": ('"wall-sit", window', '"Wall sit", window', 46, 'did you mean "wall-sit"?'),
    "single brackets for scripts": ("[[scripts]]", "[scripts]", 39, "write [[scripts]], with two brackets"),
    "id with a space": ('id = "hall"', 'id = "the hall"', 2, "letters, digits, - and _ only"),
    "blank title": ('title = "Village hall"', 'title = "  "', 3, "title is blank; give a title"),
    "title too long": ("Village hall", "x" * 61, 3, "61 characters long; it may have at most 60"),
    "title a number": ('"Village hall"', "7", 3, "title is 7; it must be text in quotes"),
    "title a date": ('"Village hall"', "2024-05-01", 3, "title is a date or time; it must be text"),
    "escape sequence": ("Village hall", "\\u001b[31mhall", 3, "control character (U+001B)"),
    "reordering mark": ("Village hall", "hall \u202e lived", 3, "control character (U+202E)"),
    "C1 control": ("Village hall", "hall\\u009b31m", 3, "control character (U+009B)"),
    "window too short": ("window_s = 90", "window_s = 9", 6, "window_s is 9; it must be at least 10"),
    "window too long": ("window_s = 90", "window_s = 601", 6, "window_s is 601; it must be at most 600"),
    "window as text": ("window_s = 90", 'window_s = "90"', 6, "must be a number, without quotes"),
    "window not a number": ("window_s = 90", "window_s = nan", 6, "window_s is nan; it must be a number"),
    "band of three": ("[60, 90]", "[60, 70, 90]", 7, "too many entries; use at most 2"),
    "band of one": ("[60, 90]", "[60]", 7, "has 1 of 2 numbers; write both"),
    "band falling": ("[60, 90]", "[90, 60]", 7, "the band is 90 to 60 s; it must rise"),
    "band past the window": ("window_s = 90", "window_s = 80", 7, "the band ends at 90 s and the window at 80 s"),
    "final as long as the window": ("final_s = 20", "final_s = 60", 46, "final stretch is 60 s and the window is 60 s"),
    "step's window too short for the band": (
        "window_s = 60, band_s = [40, 60]",
        "window_s = 60",
        46,
        "the band ends at 90 s and the window at 60 s",
    ),
    "exercise's window too short": ('joint = "knee"', "window_s = 70", 16, "the window at 70 s"),
    "per_week falling": ("[1, 3]", "[3, 1]", 10, "per_week is [3, 1]; write the fewest and the most"),
    "per_week in halves": ("[1, 3]", "[1, 2.5]", 10, "per_week, item 2, is 2.5; it must be a whole number"),
    "no way out": ('way_out = "Hands on the chair, stand up."', "", 12, '"way_out" is missing in exercise "wall-sit"'),
    "blank way out": ("Hands on the chair, stand up.", " \\t ", 19, "way_out is blank; say how to get out safely"),
    "no failure": ('failure = "The heel stays down."', "", 28, '"failure" is missing in exercise "heel-raise"'),
    "no way back in": ('back_in = "Rise again."', "", 28, "or write reentry = false"),
    "reentry as text": ('back_in = "Rise again."', 'reentry = "no"', 36, "it must be true or false"),
    "kind of its own": ('"hold"', '"static"', 14, 'kind is "static"; it must be "hold" or "reps"'),
    "joint of its own": ('"knee"', '"neck"', 16, "joint is "),
    "needs not a list": ('["a clear wall"]', '"a clear wall"', 17, "it must be a list in [ ]"),
    "empty ladder": ('["two hands", "one hand"]', "[]", 37, "ladder is empty; list the rungs, easiest first"),
    "rung a number": ('["two hands", "one hand"]', '["two hands", 2]', 37, "ladder, item 2, is 2; it must be a name"),
    "two rungs of one name": ('"one hand"', '"two hands"', 37, 'two rungs are called "two hands"'),
    "former name in use": ('was = ["middle"]', 'was = ["low"]', 23, '"low" is already the name or a former name of another'),
    "one load missing": ('{rung = "half way", load = 0.66,', '{rung = "half way",', 23, "has no load, but others do"),
    "load falling": ("0.72", "0.61", 24, 'load of "low" is 0.61, after 0.66; loads must rise'),
    "load the same": ("0.72", "0.66", 24, "loads must rise"),
    "load of nothing": ("0.60", "0", 22, "load is 0; it must be more than 0"),
    "start no rung": ('start = "high"', 'start = "hihg"', 26, '"hihg" is not a rung of this ladder; did you mean "high"?'),
    "first side of a set for both": ('joint = "knee"', 'first_side = "left"', 16, 'first_side is only for sides = "each"'),
    "tempo of a hold": ('joint = "knee"', 'tempo = "3-1-2-0"', 16, 'tempo is only for kind = "reps"'),
    "tempo of three": ("3-1-2-0", "3-1-2", 33, "four numbers of seconds for lower, pause, lift, pause"),
    "tempo of no time": ("3-1-2-0", "0-0-0-0", 33, "it must add up to 1 to 30 s"),
    "unknown exercise": ('"heel-raise"}', '"heel-rise"}', 45, 'no exercise "heel-rise" in this file; did you mean "heel-raise"?'),
    "step of neither kind": ('{exercise = "heel-raise"}', "{rest_s = 3}", 45, 'a step needs "exercise", "test" or "easy"'),
    "step of both kinds": ('{easy = "March", seconds = 120}', '{easy = "March", exercise = "wall-sit"}', 44, "not both"),
    "easy step without a length": (', seconds = 120', "", 44, '"seconds" is missing; say how long'),
    "weeks falling": ("[1, 2]", "[2, 1]", 42, "weeks must rise"),
    "week nought": ("[1, 2]", "[0, 1]", 42, "weeks, item 1, is 0; it must be at least 1"),
    "key twice": ('joint = "knee"', 'kind = "hold"', 16, "this key is here twice"),
    "table twice": ("[exercises.heel-raise]", "[exercises.wall-sit]", 28, "is in the file twice"),
    "text not closed": ('title = "Village hall"', 'title = "Village hall', 3, "a text is not closed"),
    "value without quotes": ('title = "Village hall"', "title = Village", 3, "text needs quotes, a number none"),
    "key without a value": ('title = "Village hall"', "title", 3, 'there must be "=" after a key'),
    "a step over two lines": ("window_s = 60, ", "window_s = 60,\n   ", 46, 'what is between "{" and "}" must be on one line; join'),
    "a comma on the next line": ('"wall-sit", window', '"wall-sit"\n  , window', 46, 'must be on one line; join'),
    "a remark inside a step": ("window_s = 60, ", "window_s = 60, # short\n ", 46, 'must be on one line; join'),
    "single brackets twice": ("[[scripts]]", '[scripts]\nid = "B"\n[[scripts]]', 41, "write [[scripts]], with two brackets"),
    "table not closed": ("[spacing]", "[spacing", 9, 'the name of a table must end with "]"'),
    "no number at all": ("window_s = 90", f"window_s = {'9' * 5000}", 6, "far too many digits"),
    "number past all use": ("window_s = 90", f"window_s = 0x{'f' * 5000}", 6, "a number too large; it must be"),
    "nested without end": ("window_s = 90", f"window_s = {'[' * 5000}", 6, "nested too deeply here"),
    "dotted without end": ("window_s = 90", f"{'a.' * 5000}b = 1", 6, "far too many dots"),
}  # fmt: skip


@every(("old", "new", "line", "words"), SPOILT.values(), ids=SPOILT)
def test_a_spoilt_file_says_where_and_what(spoil, old, new, line, words):
    with pytest.raises(ProgramError) as caught:
        loads(spoil((old, new)), "hall.toml")
    (fault,) = map(str, caught.value.faults)
    assert fault.startswith(f"hall.toml:{line}: "), fault
    assert words in fault


# the same of function tests, in a file of their own
SPOILT_TESTS = {
    "no way out": ('way_out = "Sit down."', "", 5, '"way_out" is missing in test "stand"; say how to get out safely'),
    "no protocol": ('protocol = "chair-stand-30"', "", 5, '"protocol" is missing in test "stand"; write what is done'),
    "a balance stance": ('"chair-stand-30"', '"one-leg"', 6, 'protocol is "one-leg"; it must be "chair-stand-30", "five-stands"'),
    "misspelt key": ("seat_cm = 46", "seat_cn = 46", 9, 'unknown key "seat_cn"; did you mean "seat_cm"?'),
    "seat in metres": ("seat_cm = 46", "seat_cm = 0.46", 9, "seat_cm is 0.46; it must be at least 25"),
    "no variant": ('variant = "hands"', "", 5, '"variant" is missing in test "stand"; write variant = "crossed"'),
    "a lane for a chair": ("seat_cm = 46", "lane_m = 6", 9, 'lane_m is only for protocol = "timed-walk"; leave it out'),
    "no lane": ("lane_m = 6.0", "", 12, '"lane_m" is missing in test "walk"; give the metres between the two lines'),
    "a helper's arm": ('"one stick"', '"the arm of a helper"', 16, "a walk can't be timed while someone holds you"),
    "five stands with hands": ('"chair-stand-30"', '"five-stands"', 8, "five stands are done with arms crossed"),
    "an id with a space": ("[tests.stand]", "[tests.'my stand']", 5, '"my stand" can\'t be the id of a test'),
    "an unknown test": ('{test = "stand"}', '{test = "stnd"}', 23, 'there is no test "stnd" in this file; did you mean "stand"?'),
    "a name for its id": ('{test = "stand"}', '{test = "Chair stand"}', 23, 'did you mean "stand"?'),
    "too many trials": ("trials = 2", "trials = 9", 24, "trials is 9; it must be at most 3"),
    "misspelt key in a step": ("trials = 2", "trails = 2", 24, 'unknown key "trails"; did you mean "trials"?'),
    "a step of two kinds": ("trials = 2", "easy = 'Rest'", 24, 'a step is either "test" or "easy", not both'),
    "every week": ("every_weeks = 4", "every_weeks = 1", 21, "every_weeks is 1; it must be at least 2"),
    "weeks of both kinds": ("every_weeks = 4", "weeks = [1]\nevery_weeks = 4", 22, "leave out either weeks or every_weeks"),
    "a test when tired": ('{test = "stand"},', '{exercise = "rise"},', 24, "a test is done rested; put it before"),
}  # fmt: skip

TESTS = """\
format = 1
id = "hall"
title = "Village hall"

[tests.stand]
protocol = "chair-stand-30"
name = "Chair stand"
variant = "hands"
seat_cm = 46
way_out = "Sit down."

[tests.walk]
protocol = "timed-walk"
name = "Hall walk"
lane_m = 6.0
aid = "one stick"
way_out = "Hold the wall."
[[scripts]]
id = "T"
title = "Every four weeks"
every_weeks = 4
steps = [
  {test = "stand"},
  {test = "walk", trials = 2},
]
[exercises.rise]
name = "Rise"
kind = "reps"
sides = "both"
reentry = false
failure = "You stay down."
way_out = "Sit."
ladder = ["slow"]
"""


@every(("old", "new", "line", "words"), SPOILT_TESTS.values(), ids=SPOILT_TESTS)
def test_a_spoilt_function_test_says_where_and_what(old, new, line, words):
    assert old in TESTS
    with pytest.raises(ProgramError) as caught:
        loads(TESTS.replace(old, new, 1), "hall.toml")
    faults = [str(fault) for fault in caught.value.faults]
    assert any(each.startswith(f"hall.toml:{line}: ") and words in each for each in faults), faults
    assert len(faults) == 1 + (old == "[tests.stand]")  # a step that names it is a second one
