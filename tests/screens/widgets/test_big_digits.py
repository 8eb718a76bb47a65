import pytest
from textual.app import App, ComposeResult
from textual.geometry import Region

from holdtimer.screens.painted import BigDigits


class Clock(App):
    def compose(self) -> ComposeResult:
        yield BigDigits("68")


@pytest.fixture
async def clock():
    app = Clock()
    async with app.run_test(size=(80, 24)):
        yield app.query_one(BigDigits)


def ink(widget):
    return [widget.render_line(y).text for y in range(widget.size.height)]


async def test_only_the_digit_that_changed_is_drawn_again(clock):
    (region,) = clock.changed("68", "69")
    before, (clock.text,) = ink(clock), ("69",)
    after = ink(clock)
    assert before != after
    for was, now in zip(before, after, strict=True):
        differing = [x for x, pair in enumerate(zip(was, now, strict=True)) if pair[0] != pair[1]]
        assert all(region.x <= x < region.right for x in differing)
    assert region.width < clock.size.width / 2


async def test_the_whole_clock_is_drawn_again_when_its_digits_change_size(clock):
    assert clock.changed("99", "1:40") == []


async def test_the_same_text_asks_for_no_drawing(clock, monkeypatch):
    asked = []
    monkeypatch.setattr(clock, "refresh", lambda *regions: asked.append(regions))
    clock.text = "68"
    assert asked == []
    clock.text = "69"
    assert [len(regions) for regions in asked] == [1]
    assert isinstance(asked[0][0], Region)


async def test_digits_keep_their_place_from_nine_to_ten(clock):
    clock.text = "9"
    nine = ink(clock)
    clock.text = "19"
    nineteen = ink(clock)
    right = clock.size.width // 2
    assert [row[right:] for row in nine] == [row[right:] for row in nineteen]


async def test_in_and_out_of_work_look_different(clock):
    solid = ink(clock)
    clock.look = "hollow"
    assert ink(clock) != solid


async def test_a_changed_clock_reaches_the_screen(clock, screen_picture):
    before = screen_picture(clock.app)
    clock.text = "70"
    await clock.app.animator.wait_for_idle()
    assert screen_picture(clock.app) != before
