from hypothesis import given
from hypothesis import strategies as st

from holdtimer.screens.bitmap import Bitmap, box, side_by_side, slant

SHAPES = st.integers(1, 40).flatmap(
    lambda width: st.lists(st.integers(0, (1 << width) - 1), min_size=1, max_size=20).map(
        lambda rows: Bitmap(width, tuple(rows))
    )
)
LIT = {block: bits for bits, block in enumerate(" ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█")}


def dots(rows):
    """Read block characters back to dots."""
    return {
        (2 * x + bit % 2, 2 * y + bit // 2)
        for y, row in enumerate(rows)
        for x, character in enumerate(row)
        for bit in range(4)
        if LIT[character] >> bit & 1
    }


def test_a_square_is_drawn_as_full_blocks():
    assert box(0, 0, 4, 4, 4).blocks() == ["██", "██"]


def test_round_corners_lose_dots_only_at_the_corners_named():
    plain, one = box(0, 0, 20, 10, 10), box(0, 0, 20, 10, 10, radius=4, corners="a")
    lost = dots((plain - one).blocks())
    assert (0, 0) in lost
    assert all(x < 10 and y < 5 for x, y in lost)


def test_a_slant_runs_from_its_first_to_its_last_place():
    shape = slant(0, 0, 8, 6, 2, 6)
    assert shape.rows[0] == 0b11
    assert shape.rows[-1] == 0b11 << 8


@given(SHAPES)
def test_blocks_show_exactly_the_dots(shape):
    wanted = {(x, y) for y, row in enumerate(shape.rows) for x in range(shape.width) if row >> x & 1}
    assert dots(shape.blocks()) == wanted


@given(SHAPES)
def test_half_a_turn_twice_is_the_shape_itself(shape):
    assert shape.turned().turned() == shape


@given(SHAPES, st.integers(1, 3))
def test_an_outline_is_part_of_its_shape_and_keeps_the_rim(shape, pen):
    rim = shape.outline(pen)
    assert (rim - shape).rows == (0,) * shape.height
    assert rim.rows[0] == shape.rows[0]
    assert rim.rows[-1] == shape.rows[-1]


@given(SHAPES, st.integers(0, 5))
def test_shapes_side_by_side_keep_all_their_dots(shape, gap):
    both = side_by_side([shape, shape], gap)
    assert both.width == 2 * shape.width + gap
    assert sum(row.bit_count() for row in both.rows) == 2 * sum(row.bit_count() for row in shape.rows)
