"""The widgets as they look together, kept as text."""

import pytest

from holdtimer.screens.painted import Notice, Ruler, TapBar
from tests.published.letter_heights import SIZES


@pytest.mark.parametrize("name", ["in_work", "failed"])
async def test_a_window_at_every_usual_size(demo, screen_picture, kept, name):
    for size in SIZES:
        app = demo(f"widgets.{name}")
        async with app.run_test(size=size):
            assert screen_picture(app) == kept(name="{}x{}".format(*size))


@pytest.mark.parametrize("name", ["back_in", "long", "daylight_failed", "closed", "two_tone"])
async def test_a_moment_of_a_window(demo, screen_picture, kept, name):
    app = demo(f"widgets.{name}")
    async with app.run_test(size=(80, 24)):
        assert screen_picture(app) == kept


async def test_in_work_fills_the_screen_even_without_colour(demo, screen_picture, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    fields = []
    for name in ("in_work", "failed"):
        app = demo(f"widgets.{name}")
        async with app.run_test(size=(80, 24)):
            assert app.no_color
            fields.append(app.screen.styles.background.brightness)
            styles = screen_picture(app).split("styles\n")[1]
        assert " on #" in styles
    assert fields[0] - fields[1] > 0.5


async def test_a_notice_without_words_takes_no_row(demo):
    app = demo("widgets.in_work")
    async with app.run_test(size=(80, 24)) as pilot:
        notice = app.query_one(Notice)
        assert not notice.display
        notice.text = "keys do not reach me"
        await pilot.pause()
        assert notice.size.height == 1
        assert "keys do not reach me" in notice.render_line(0).text


async def test_a_ruler_that_looks_the_same_is_not_drawn_again(demo, monkeypatch):
    app = demo("widgets.in_work")
    async with app.run_test(size=(80, 24)):
        ruler, drawn = app.query_one(Ruler), []
        monkeypatch.setattr(ruler, "repaint", lambda: drawn.append(ruler.data.now_s))
        for now in (42.01, 42.02, 60.0):
            ruler.data = type(ruler.data)(90, (60, 90), 30, now, (), 65)
        assert drawn == [60.0]


async def test_the_tap_bar_follows_its_words_and_its_key(demo, screen_picture):
    app = demo("widgets.in_work")
    async with app.run_test(size=(80, 24)) as pilot:
        bar, seen = app.query_one(TapBar), set()
        for words, live in (("I have failed", True), ("ready", True), ("ready", False)):
            bar.words, bar.live = words, live
            await pilot.pause()
            seen.add(screen_picture(app))
        assert len(seen) == 3
