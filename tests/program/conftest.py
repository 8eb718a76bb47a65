import pytest

GOOD = """\
format = 1
id = "hall"
title = "Village hall"

[defaults]
window_s = 90
band_s = [60, 90]

[spacing]
per_week = [1, 3]

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
joint = "knee"
needs = ["a clear wall"]
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = [
  {rung = "high", load = 0.60},
  {rung = "half way", load = 0.66, was = ["middle"]},
  {rung = "low", load = 0.72},
]
start = "high"

[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
first_side = "left"
tempo = "3-1-2-0"
failure = "The heel stays down."
way_out = "Both feet down."
back_in = "Rise again."
ladder = ["two hands", "one hand"]

[[scripts]]
id = "A"
title = "Legs"
weeks = [1, 2]
steps = [
  {easy = "March", seconds = 120},
  {exercise = "heel-raise"},
  {exercise = "wall-sit", window_s = 60, band_s = [40, 60], final_s = 20},
]
"""


@pytest.fixture(scope="session")
def good() -> str:
    """A sound program file of two exercises and one script."""
    return GOOD


@pytest.fixture
def spoil(good):
    """Return a function that puts one text for another in the good file."""

    def spoil(*changes: tuple[str, str]) -> str:
        text = good
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        return text

    return spoil
