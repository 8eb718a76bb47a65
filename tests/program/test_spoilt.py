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
    "id with a space": ('id = "hall"', 'id = "the hall"', 2, "letters, digits, - and _ only"),
    "blank title": ('title = "Village hall"', 'title = "  "', 3, "title is blank; give a title"),
    "title too long": ("Village hall", "x" * 61, 3, "61 characters long; it may have at most 60"),
    "title a number": ('"Village hall"', "7", 3, "title is 7; it must be text in quotes"),
    "title a date": ('"Village hall"', "2024-05-01", 3, "title is a date or time; it must be text"),
    "escape sequence": ("Village hall", "\\u001b[31mhall", 3, "text holds a control character (U+001B)"),
    "reordering mark": ("Village hall", "hall \u202e lived", 3, "text holds a control character (U+202E)"),
    "C1 control": ("Village hall", "hall\\u009b31m", 3, "text holds a control character (U+009B)"),
    "window too short": ("window_s = 90", "window_s = 9", 6, "window_s is 9; it must be at least 10"),
    "window too long": ("window_s = 90", "window_s = 601", 6, "window_s is 601; it must be at most 600"),
    "window as text": ("window_s = 90", 'window_s = "90"', 6, "must be a number, without quotes"),
    "window not a number": ("window_s = 90", "window_s = nan", 6, "window_s is nan; it must be a number"),
    "band of three": ("[60, 90]", "[60, 70, 90]", 7, "too many entries; there may be at most 2"),
    "band of one": ("[60, 90]", "[60]", 7, "has 1 numbers; it must have 2"),
    "band falling": ("[60, 90]", "[90, 60]", 7, "the band is 90 to 60 s; it must rise"),
    "band past the window": ("window_s = 90", "window_s = 80", 7, "the band ends at 90 s and the window at 80 s"),
    "final as long as the window": ("final_s = 20", "final_s = 60", 46, "final stretch is 60 s and the window 60 s"),
    "step's window too short for the band": (
        "window_s = 60, band_s = [40, 60]",
        "window_s = 60",
        46,
        "the band ends at 90 s and the window at 60 s",
    ),
    "exercise's window too short": ('joint = "knee"', "window_s = 70", 16, "the window at 70 s"),
    "per_week falling": ("[1, 3]", "[3, 1]", 10, "per_week is [3, 1]; write the least, then the most"),
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
    "former name in use": ('was = ["middle"]', 'was = ["low"]', 23, '"low" is the name, or a former name, of another'),
    "one load missing": ('{rung = "half way", load = 0.66,', '{rung = "half way",', 23, "has no load but others do"),
    "load falling": ("0.72", "0.61", 24, 'load of "low" is 0.61 after 0.66; loads must rise'),
    "load the same": ("0.72", "0.66", 24, "loads must rise"),
    "load of nothing": ("0.60", "0", 22, "load is 0; it must be more than 0"),
    "start no rung": ('start = "high"', 'start = "hihg"', 26, '"hihg" is no rung of this ladder; did you mean "high"?'),
    "first side of a set for both": ('joint = "knee"', 'first_side = "left"', 16, 'first_side is only for sides = "each"'),
    "tempo of a hold": ('joint = "knee"', 'tempo = "3-1-2-0"', 16, 'tempo is only for kind = "reps"'),
    "tempo of three": ("3-1-2-0", "3-1-2", 33, "four numbers of seconds for lower, pause, lift, pause"),
    "tempo of no time": ("3-1-2-0", "0-0-0-0", 33, "it must be from 1 to 30 s together"),
    "unknown exercise": ('"heel-raise"}', '"heel-rise"}', 45, 'no exercise "heel-rise" in this file; did you mean "heel-raise"?'),
    "step of neither kind": ('{exercise = "heel-raise"}', "{rest_s = 3}", 45, 'a step needs "exercise" or "easy"'),
    "step of both kinds": ('{easy = "March", seconds = 120}', '{easy = "March", exercise = "wall-sit"}', 44, "not both"),
    "easy step without a length": (', seconds = 120', "", 44, '"seconds" is missing; say how long'),
    "weeks falling": ("[1, 2]", "[2, 1]", 42, "weeks must rise"),
    "week nought": ("[1, 2]", "[0, 1]", 42, "weeks, item 1, is 0; it must be at least 1"),
    "key twice": ('joint = "knee"', 'kind = "hold"', 16, "this key stands here twice"),
    "table twice": ("[exercises.heel-raise]", "[exercises.wall-sit]", 28, "stands in the file twice"),
    "text not closed": ('title = "Village hall"', 'title = "Village hall', 3, "a text is not closed"),
    "value without quotes": ('title = "Village hall"', "title = Village", 3, "text needs quotes, a number none"),
    "key without a value": ('title = "Village hall"', "title", 3, 'there must be "=" after a key'),
    "table not closed": ("[spacing]", "[spacing", 9, 'the name of a table must end with "]"'),
    "no number at all": ("window_s = 90", f"window_s = {'9' * 5000}", 6, "a number with far too many digits"),
    "number past all use": ("window_s = 90", f"window_s = 0x{'f' * 5000}", 6, "a number too large; it must be"),
    "nested without end": ("window_s = 90", f"window_s = {'[' * 5000}", 6, "nested too deeply here"),
    "dotted without end": ("window_s = 90", f"{'a.' * 5000}b = 1", 6, "too many dots in this line"),
}  # fmt: skip


@every(("old", "new", "line", "words"), SPOILT.values(), ids=SPOILT)
def test_a_spoilt_file_says_where_and_what(spoil, old, new, line, words):
    with pytest.raises(ProgramError) as caught:
        loads(spoil((old, new)), "hall.toml")
    (fault,) = map(str, caught.value.faults)
    assert fault.startswith(f"hall.toml:{line}: "), fault
    assert words in fault
