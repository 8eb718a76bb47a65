"""Pages that list lines, one of them marked: the summary after a session, and the choices before one."""

import pytest

from holdtimer.screens.fit import MARK, marked_list
from tests.published.letter_heights import SIZES

MOMENTS = ["summary", "marked", "questions", "not_written", "program", "person"]
SHORT = ["Ada", "Edda", "Hanno"]
LONG = [f"{number}. One-leg heel raise, right: failed at {60 + number} s" for number in range(1, 10)]


@pytest.mark.parametrize("moment", MOMENTS)
async def test_each_list_looks_as_it_was_kept(moment, demo, screen_picture, kept, sized):
    async with demo(f"after.{moment}").run_test(size=SIZES[0]) as pilot:
        await pilot.app.arrange(pilot)
        for size in SIZES:
            name = await sized(pilot, size)
            assert screen_picture(pilot.app) == kept(name=name)


def rows_of(lines, marked, columns, rows):
    drawn, first = marked_list(lines, marked, columns, rows)
    return [row.plain for row in drawn], first


def test_all_lines_come_large_where_they_fit_and_the_arrow_tells_the_marked_one():
    drawn, first = rows_of(SHORT, 1, 80, 20)
    assert len(drawn) <= 20
    assert not any(name in row for row in drawn for name in SHORT)
    with_arrow = [at for at, row in enumerate(drawn) if row[:MARK].strip()]
    height = len(drawn) // 3
    assert first <= min(with_arrow) <= max(with_arrow) < first + height


def test_where_not_all_fit_the_marked_one_alone_is_large_and_no_line_is_lost():
    drawn, first = rows_of(LONG, 4, 120, 24)
    assert len(drawn) <= 24
    assert [line for line in LONG if not any(line in row for row in drawn)] == [LONG[4]]
    assert drawn[first:] != drawn


def test_where_there_is_no_room_for_that_it_stands_in_reverse():
    drawn, first = marked_list(LONG, 4, 80, 10)
    assert [row.plain.strip(" ▶") for row in drawn] == LONG
    assert [at for at, row in enumerate(drawn) if row.style == "reverse"] == [first] == [4]


def test_a_list_too_long_for_the_room_keeps_all_its_lines_to_be_scrolled():
    drawn, first = rows_of(LONG, 8, 80, 4)
    assert len(drawn) == len(LONG)
    assert first == 8


def test_nothing_is_marked_where_nothing_is():
    drawn, first = rows_of(LONG, None, 80, 12)
    assert first == 0
    assert [row.strip() for row in drawn] == LONG


def test_rows_never_go_beyond_the_columns():
    for columns in range(12, 201, 9):
        for marked in (None, 0, 8):
            for row in marked_list(LONG, marked, columns, 30)[0]:
                assert row.cell_len <= columns
