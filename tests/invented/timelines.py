"""Timelines built by hand: parts from one set, each changed where a test needs it otherwise."""

from dataclasses import replace

from holdtimer.program.timeline import Part, PlannedSet, Rung, Timeline

WALL_SIT = PlannedSet(
    part=0,
    set=1,
    exercise="wall-sit",
    name="Wall sit",
    kind="hold",
    side="both",
    ladder=(Rung("hips high"), Rung("half way"), Rung("thighs level")),
    rung_index=1,
    window_s=90,
    band_s=(60, 90),
    final_s=30,
    count_in_s=10,
    rest_s=90,
    push_s=3,
    reentry=True,
    advance="tap",
    failure="You slide down.",
    exercise_way_out="Hands on the chair seat.",
    back_in="Slide down again.",
)


def timeline_of(*parts: Part) -> Timeline:
    """Return the parts in this order, parts and sets numbered as a script numbers them."""
    numbered: list[Part] = []
    sets = 0
    for index, part in enumerate(parts):
        if isinstance(part, PlannedSet):
            sets += 1
            numbered.append(replace(part, part=index, set=sets))
        else:
            numbered.append(replace(part, part=index))
    return Timeline("chair", "Chair", "A", "Legs", tuple(numbered))
