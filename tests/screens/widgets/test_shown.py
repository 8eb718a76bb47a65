"""The widgets as they look together, kept as text."""

from dataclasses import replace

import pytest

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


async def test_a_notice_is_one_row_with_a_sign_before_it(demo):
    app = demo("widgets.back_in")
    async with app.run_test(size=(80, 24)):
        notice = app.query_one("#notice")
        assert notice.size.height == 1
        assert notice.render_line(0).text.strip() == "!  sound is off"


async def test_a_ruler_that_looks_the_same_is_not_drawn_again(demo, monkeypatch):
    app = demo("widgets.in_work")
    async with app.run_test(size=(80, 24)):
        ruler, drawn = app.query_one("#ruler"), []
        (data,) = ruler._content
        for now in (42.01, 42.02, 60.0):
            monkeypatch.setattr(ruler, "refresh", lambda *regions, now=now: drawn.append(now))
            ruler.show(replace(data, now_s=now))
        assert drawn == [60.0]


async def test_the_tap_bar_follows_its_words_and_its_key(demo, screen_picture):
    app = demo("widgets.in_work")
    async with app.run_test(size=(80, 24)) as pilot:
        bar, seen = app.query_one("#tap"), set()
        for words, live in (("I have failed", True), ("ready", True), ("ready", False)):
            bar.show(words, live)
            await pilot.pause()
            seen.add(screen_picture(app))
        assert len(seen) == 3
