import pytest
from textual.app import App, ComposeResult

from holdtimer.screens.painted import Painted, clock_face


class Clock(App):
    def compose(self) -> ComposeResult:
        yield Painted(clock_face, "68", is_moving=True)


@pytest.fixture
async def clock():
    app = Clock()
    async with app.run_test(size=(80, 24)):
        yield app.query_one(Painted)


@pytest.fixture
def asked(clock, monkeypatch):
    """The regions that are to be drawn again."""
    regions = []
    monkeypatch.setattr(clock, "refresh", lambda *some: regions.extend(some))
    return regions


def ink(widget):
    return [widget.render_line(y).text for y in range(widget.size.height)]


async def test_only_the_digit_that_changed_is_drawn_again(clock, asked):
    before = ink(clock)
    clock.show("69")
    (region,) = asked
    after = ink(clock)
    assert before != after
    for y, (was, now) in enumerate(zip(before, after, strict=True)):
        differing = [x for x, pair in enumerate(zip(was, now, strict=True)) if pair[0] != pair[1]]
        assert all(region.contains(x, y) for x in differing)
    assert region.width < clock.size.width / 2


async def test_what_changes_at_both_ends_is_drawn_again_from_end_to_end(clock, asked):
    before = ink(clock)
    clock.show("1:40")
    (region,) = asked
    assert region.width > len(before[12].strip()) / 2


async def test_the_same_text_asks_for_no_drawing(clock, asked):
    clock.show("68")
    assert asked == []
    clock.show("69")
    assert len(asked) == 1


async def test_digits_keep_their_place_from_nine_to_ten(clock):
    clock.show(" 9")
    nine = ink(clock)
    clock.show("19")
    nineteen = ink(clock)
    right = clock.size.width // 2
    assert [row[right:] for row in nine] == [row[right:] for row in nineteen]


async def test_in_and_out_of_work_look_different(clock):
    solid = ink(clock)
    clock.show("68", "hollow")
    assert ink(clock) != solid


async def test_a_changed_clock_reaches_the_screen(clock, screen_picture):
    before = screen_picture(clock.app)
    clock.show("70")
    await clock.app.animator.wait_for_idle()
    assert screen_picture(clock.app) != before
