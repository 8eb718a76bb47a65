"""Programs that many tests train with, as text: a village hall with a wall to sit against."""

WALL_SIT = """\
[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
"""
HEEL_RAISE = """\
[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
failure = "The heel stays down."
way_out = "Both feet down."
back_in = "Rise again."
"""


def script(name: str, title: str, *steps: str) -> str:
    """Return the text of a script of these steps."""
    return f'[[scripts]]\nid = "{name}"\ntitle = "{title}"\nsteps = [{", ".join(steps)}]\n'


def program(*parts: str, name: str = "hall", title: str = "Village hall", defaults: str = "") -> str:
    """Return the text of a program of these exercises and scripts."""
    head = f'format = 1\nid = "{name}"\ntitle = "{title}"\n'
    return "\n".join([head, *([f"[defaults]\n{defaults}"] if defaults else []), *parts])


ON_THE_WALL = '{exercise = "wall-sit"}'
_WALL_SIT = WALL_SIT + 'ladder = ["high", "half way", "low"]\nstart = "half way"\n'

# windows of a minute
HALL = program(
    _WALL_SIT,
    script("A", "Legs", ON_THE_WALL),
    defaults="window_s = 60\nband_s = [30, 60]\nfinal_s = 20\ncount_in_s = 3\nrest_s = 0\n",
)
# windows of 10 s after a count-in of 3 s, the band from 5 to 9 s
SHORT_HALL = program(
    _WALL_SIT + 'needs = ["a clear wall"]\n',
    script("A", "Legs", ON_THE_WALL),
    script("B", "Twice", ON_THE_WALL, ON_THE_WALL),
    defaults="""\
window_s = 10
band_s = [5, 9]
final_s = 4
count_in_s = 3
rest_s = 0
side_rest_s = 0
push_s = 0
""",
)
