from holdtimer.live.lines import after_failure_lines
from holdtimer.script.timeline import PlannedSet, Rung
from holdtimer.session.state import SetState, Stamp

RAISES = PlannedSet(
    part=0, set=1, exercise="raise", name="Heel raise", kind="reps", side="both", ladder=(Rung("hands"),),
    rung_index=0, window_s=90, band_s=(60, 90), final_s=30, count_in_s=10, rest_s=60, push_s=0, reentry=True,
    advance="tap", failure="The heel stays down.", exercise_way_out="Both feet down.", back_in="Rise again.",
    tempo=(3.0, 1.0, 2.0, 0.0),
)  # fmt: skip


def after(*stamps):
    state = SetState(
        number=1, attempt=1, exercise="raise", side="both", kind="reps", rung="both hands", window_s=90,
        band_s=(60, 90), final_s=30, push_s=0, reentry=True, opened_t=0.0, stamps=stamps,
    )  # fmt: skip
    return list(after_failure_lines(RAISES, state))


def test_a_failure_tells_the_way_out_first_and_the_repetitions_last():
    lines = after(Stamp(5, "failure", 65.5))
    assert lines[0] == "way out: Both feet down."
    assert lines[-1] == "about 10 repetitions"


def test_repetitions_before_and_after_a_re_entry_are_added_up():
    stamps = Stamp(5, "failure", 20.0), Stamp(6, "re-entry", 31.0), Stamp(7, "failure", 50.0)
    assert after(*stamps)[-1] == "about 6 repetitions"
