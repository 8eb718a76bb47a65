import re

from hypothesis import given
from hypothesis import strategies as st

from holdtimer.screens.ruler import RulerData, column, ruler
from holdtimer.text import clock
from tests.tables import every

USUAL = RulerData(90, (60, 90), 30)


@st.composite
def windows(draw):
    """A window at some moment, its stamps in order."""
    window = draw(st.integers(10, 600))
    low = draw(st.integers(1, window - 1))
    high = draw(st.integers(low + 1, window))
    now = draw(st.none() | st.floats(0, window))
    times = sorted(draw(st.lists(st.floats(0, now or 0), max_size=6))) if now else []
    stamps = tuple((at, "re-entry" if n % 2 else "failure") for n, at in enumerate(times))
    last = draw(st.none() | st.floats(0, window))
    return RulerData(window, (low, high), draw(st.integers(1, window - 1)), now, stamps, last)


@given(windows(), st.integers(40, 220), st.integers(3, 8))
def test_the_ruler_fills_its_box_and_never_leaves_it(data, width, rows):
    drawn = ruler(width, rows, data)
    assert len(drawn) == rows
    assert {len(row) for row in drawn} == {width}


@given(windows(), st.integers(40, 220), st.integers(4, 8))
def test_no_words_on_the_ruler_touch(data, width, rows):
    known = r"(\d+(:\d\d)? (failed|back in)|last time \d+(:\d\d)?|final \d+(:\d\d)?( s)?|[▼▽▲])"
    drawn = ruler(width, rows, data)
    for row in (drawn[0], drawn[-1]):
        assert not re.sub(known, "", row).strip(), row


@given(windows(), st.integers(78, 220))
def test_the_brackets_stand_at_the_ends_of_the_band(data, width):
    scale = ruler(width, 5, data)[3]
    low, high = (column(data, at, width) for at in data.band_s)
    if high - low > 1:
        assert scale[low] == "┣"
        assert scale[high] == "┫"


@given(windows(), st.integers(40, 220))
def test_a_number_on_the_scale_stands_at_its_second(data, width):
    scale = ruler(width, 5, data)[3]
    for found in re.finditer(r"\d+(:\d\d)?", scale):
        minutes, _, seconds = found[0].rpartition(":")
        at = int(minutes or 0) * 60 + int(seconds)
        place = column(data, at, width)
        near = found.start() - 1 <= place <= found.end() or found[0] in map(clock, data.band_s)
        assert near or at in (0, data.window_s), scale


@every("width", [78, 118, 198])
@every("window", [30, 60, 90, 180, 600])
def test_a_usual_band_is_named_with_both_ends(width, window):
    data = RulerData(window, (window * 2 // 3, window), window // 3)
    scale = ruler(width, 5, data)[3]
    inside = scale[scale.index("┣") : scale.index("┫")]
    assert "band" in inside
    assert clock(window * 2 // 3) in inside
    assert clock(window) in inside


def test_the_bar_is_filled_as_far_as_was_worked():
    bar = ruler(90, 3, RulerData(90, (60, 90), 30, 45))[1]
    assert bar.count("█") == 45
    assert set(bar[:45]) == {"█"}


def test_stretches_out_of_work_are_empty():
    data = RulerData(90, (60, 90), 30, 80, ((60, "failure"), (70, "re-entry")))
    bar = ruler(90, 3, data)[1]
    assert bar[59:71] == "█" + " " * 10 + "█"
    assert data.worked() == [(0.0, 60), (70, 80)]


def test_a_window_worked_to_the_end_is_filled_to_the_last_column():
    assert set(ruler(78, 3, RulerData(90, (60, 90), 30, 90))[1]) == {"█"}


def test_the_final_stretch_is_a_higher_track():
    bar = ruler(90, 3, USUAL)[1]
    assert bar == "▁" * 60 + "▄" * 30


def test_stamps_and_last_time_have_words_with_them():
    data = RulerData(90, (60, 90), 30, 88, ((69.4, "failure"), (80, "re-entry")), 40.2)
    rows = ruler(118, 5, data)
    assert "▼ 69 failed" in rows[0]
    assert "▽ 80 back in" in rows[0]
    assert "▲ last time 40" in rows[-1]
    assert "final 30 s" in rows[-1]


def test_the_first_failure_keeps_its_words_where_room_is_short():
    stamps = tuple((70 + n / 2, "re-entry" if n % 2 else "failure") for n in range(8))
    row = ruler(60, 5, RulerData(90, (60, 90), 30, 85, stamps))[0]
    assert "70 failed ▼" in row


def test_seconds_are_told_as_the_clock_tells_them():
    assert [clock(at) for at in (0, 9.99, 69.4, 99.9, 100, 600)] == ["0", "9", "69", "99", "1:40", "10:00"]
