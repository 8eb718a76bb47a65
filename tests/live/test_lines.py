import pytest

from holdtimer.live.plain import event_line, menu_line, order_lines, part_lines, repetition_line, tap_line
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.program.timeline import PlannedRung, PlannedSet
from holdtimer.session import events as ev
from holdtimer.session.menu import REASONS, Choice, Menu
from holdtimer.session.schedule import Order, Orders
from holdtimer.session.state import SetState, Stamp, Tap

PLACE = {"set": 1, "exercise": "wall-sit", "side": "left", "at": 64.6234}


@pytest.mark.parametrize(
    ("event", "line"),
    [
        (
            ev.Failure(n=6, t=78.12345, late_ms=0.25, **PLACE),
            "78.123 failure set=1 exercise=wall-sit side=left at=64.623",
        ),
        (ev.Ready(n=2, t=3.5), "3.500 ready cut=no"),
        (ev.Ready(n=2, t=3.5, cut=True), "3.500 ready cut=yes"),
        (
            ev.LateTap(n=7, t=1000, after_s=0.6, **PLACE),
            "1000.000 late-tap set=1 exercise=wall-sit side=left at=64.623 after_s=0.600",
        ),
        (ev.Silent(n=7, t=1, why="the device is gone"), '1.000 silent why="the device is gone"'),
        (ev.Silent(n=7, t=1), "1.000 silent"),
        (ev.Left(n=7, t=1, reason="end-of-input"), "1.000 left reason=end-of-input"),
        (
            ev.Dropped(n=7, t=2, reason="guard", count=3, since=1.25),
            "2.000 dropped reason=guard count=3 since=1.250",
        ),
        (ev.EasyBegun(n=7, t=2, part=0, title="", seconds=120), '2.000 easy part=0 title="" seconds=120'),
    ],
)
def test_an_event_is_one_line_of_its_time_its_name_and_its_fields(event, line):
    assert event_line(event) == line


def test_a_set_is_told_with_its_band():
    event = ev.WindowOpen(n=4, t=13.5, rung="half way", window_s=90, band_s=(60, 90), **PLACE)
    assert event_line(event).startswith("13.500 window-open set=1 exercise=wall-sit side=left at=64.623 ")
    assert ' rung="half way" window_s=90 band_s=60-90 ' in event_line(event)


def test_a_program_is_not_printed_with_its_opening():
    opened = ev.Opened(n=0, t=0, session="s", person='A "B"', program="hall", program_text="format = 1")
    assert "format = 1" not in event_line(opened)
    assert 'person="A \\"B\\""' in event_line(opened)


@pytest.mark.parametrize("meaning", list(Tap))
def test_what_a_tap_does_is_told_for_each_meaning(meaning):
    assert tap_line(meaning).startswith("tap: ")
    assert len(tap_line(meaning)) > len("tap: ")


def test_a_menu_tells_where_its_mark_stands():
    menu = Menu((Choice.SYMPTOM, Choice.END, Choice.GO_ON), Choice.END, 0.0)
    assert menu_line(menu) == "menu 2 of 3: end the session"
    assert menu_line(Menu(REASONS, REASONS[0], 0.0, asks_reason_for="low")).startswith("menu 1 of 4: ")


@pytest.fixture
def parts(hall_text):
    text = hall_text.replace(
        'ladder = ["high", "half way", "low"]', 'ladder = [{rung = "half way", how = "Half."}]'
    )
    text = text.replace(
        'steps = [{exercise = "wall-sit"}]',
        'steps = [{easy = "March", seconds = 120, setup = ["Hold on"]}, {exercise = "wall-sit", push_s = 3}]',
    )
    return compile_script(loads(text, "hall.toml").program).parts


def test_what_is_to_come_is_told_with_the_way_out(parts):
    easy, wall_sit = parts
    assert list(part_lines(easy, {})) == ["next: March, easy for 2:00", "setup: Hold on"]
    lines = list(part_lines(wall_sit, {("wall-sit", "both"): 65.4, ("wall-sit", "left"): 30.0}))
    assert lines.count("last time: failed at 65 s") == 1
    assert lines[:2] == ["next: Wall sit, half way, 10 s", "how: Half."]
    assert "way out: Hands on the chair, stand up." in lines
    assert "needed: a clear wall" in lines


def test_after_a_failure_one_order_comes_at_a_time(parts):
    orders = Orders(failed=40, eases_off=43, way_out=43, back_in=51, too_late=85)
    assert [list(order_lines(parts[1], orders, order)) for order in Order] == [
        ["keep pushing: 3 s"],
        ["way out: Hands on the chair, stand up.", "ease off, breathe"],
        ["back in when ready: Slide down again."],
    ]


def test_where_no_time_is_left_after_the_pushing_the_way_out_comes_before_it(parts):
    orders = Orders(failed=85, eases_off=88, way_out=85, back_in=None, too_late=85)
    assert list(order_lines(parts[1], orders, orders.at(85))) == [
        "way out: Hands on the chair, stand up.",
        "keep pushing 3 s, ease off, breathe",
    ]


def test_the_figures_of_clocks_stand_in_the_log_alone():
    anchor = ev.Anchor(
        n=1, t=0, why="opening", mono_ns=5, boottime_ns=6, wall="2026-11-25T09:07:38Z", offset_s=3600,
        zone="Europe/Berlin", boot_id="7f3a",
    )  # fmt: skip
    assert event_line(anchor) == "0.000 anchor why=opening"
    opened = ev.Opened(
        n=0, t=0, session="s", person="Ada", program="hall", script="A", mono_ns=7, version="1"
    )
    assert event_line(opened) == "0.000 opened session=s person=Ada program=hall script=A off_day=no speed=1"


RAISES = PlannedSet(
    part=0, set=1, exercise="raise", name="Heel raise", kind="reps", side="both",
    ladder=(PlannedRung("hands"),), rung_index=0, window_s=90, band_s=(60, 90), final_s=30, count_in_s=10,
    rest_s=60, push_s=0, reentry=True, advance="tap", failure="The heel stays down.",
    exercise_way_out="Both feet down.", back_in="Rise again.", tempo=(3.0, 1.0, 2.0, 0.0),
)  # fmt: skip


def after_raises(*stamps):
    state = SetState(
        set=1, attempt=1, exercise="raise", side="both", kind="reps", rung="both hands", window_s=90,
        band_s=(60, 90), final_s=30, push_s=0, reentry=True, opened_t=0.0, stamps=stamps,
    )  # fmt: skip
    return list(repetition_line(RAISES, state))


def test_a_failure_of_repetitions_says_how_many_they_were_about():
    assert after_raises(Stamp(5, "failure", 65.5)) == ["about 10 repetitions"]


def test_the_tempo_of_repetitions_is_printed_before_them():
    assert "tempo: lower 3 s, hold 1 s, lift 2 s" in part_lines(RAISES, {})


def test_repetitions_before_and_after_a_re_entry_are_added_up():
    stamps = Stamp(5, "failure", 20.0), Stamp(6, "re-entry", 31.0), Stamp(7, "failure", 50.0)
    assert after_raises(*stamps)[-1] == "about 6 repetitions"
