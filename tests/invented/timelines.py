"""Timelines built by hand: parts from one set, each changed where a test needs it otherwise."""

from dataclasses import replace

from holdtimer.program.timeline import Part, PlannedRung, PlannedSet, PlannedTest, Timeline

WALL_SIT = PlannedSet(
    part=0,
    set=1,
    exercise="wall-sit",
    name="Wall sit",
    kind="hold",
    side="both",
    ladder=(PlannedRung("hips high"), PlannedRung("half way"), PlannedRung("thighs level")),
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

HANDS = PlannedTest(
    part=0,
    number=1,
    test="hands",
    name="Chair stand, hands",
    protocol="chair-stand-30",
    variant="hands",
    seat_cm=46,
    trials=1,
    rest_s=0,
    trial_rest_s=60,
    least_s=90,
    way_out="Sit down, hands on the armrests.",
    form=("Up until straight, then sit fully",),
    stop="You feel dizzy.",
)
CROSSED = replace(HANDS, test="crossed", name="Chair stand, crossed", variant="crossed", easier=HANDS)
WALK = replace(
    HANDS,
    test="walk",
    name="Hall walk",
    protocol="timed-walk",
    variant=None,
    seat_cm=None,
    lane_m=6.0,
    pace="usual",
    start="standing",
    aid="none",
    trials=2,
    way_out="Stop, hold the wall.",
)
UP_AND_GO = replace(
    HANDS, test="up", name="Up and go", protocol="up-and-go", variant=None, lane_m=3.0, presser="helper"
)


def timeline_of(*parts: Part) -> Timeline:
    """Return the parts in this order, parts and sets numbered as a script numbers them."""
    numbered: list[Part] = []
    sets = tests = 0
    for index, part in enumerate(parts):
        if isinstance(part, PlannedSet):
            sets += 1
            numbered.append(replace(part, part=index, set=sets))
        elif isinstance(part, PlannedTest):
            tests += 1
            easier = part.easier and replace(part.easier, part=index, number=tests)
            numbered.append(replace(part, part=index, number=tests, easier=easier))
        else:
            numbered.append(replace(part, part=index))
    return Timeline("chair", "Chair", "A", "Legs", tuple(numbered))
