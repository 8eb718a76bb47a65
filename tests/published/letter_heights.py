"""How many rows high the digits are drawn, in both layouts and three sizes of terminal.

The screens are held to it in `tests/screens/`, what it is worth for poor sight in `test_letter_height.py`.
"""

SIZES = ((80, 24), (120, 40), (200, 60))

# rows of digits that a window, the time after a failure, a count-in and a rest get in each size
ROWS = {
    ("session", "working"): (13, 26, 36),
    ("session", "working_left"): (13, 26, 36),
    ("session", "failed"): (9, 17, 28),
    ("session", "out"): (9, 13, 24),
    ("session", "count_in"): (9, 16, 25),
    ("session", "rest"): (7, 13, 20),
    ("far", "working"): (18, 29, 44),
    ("far", "failed"): (11, 20, 28),
    ("far", "out"): (9, 15, 23),
    ("far", "count_in"): (14, 21, 32),
    ("far", "rest"): (13, 14, 22),
}
