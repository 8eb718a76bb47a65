"""The session screen: its moments as pictures, its contrast, and every key reaching the driver as a tap."""

import pytest
from textual import events

from holdtimer.report.pages import symptom_page
from holdtimer.screens.page import Page
from tests.screens.contrast import contrast

MOMENTS = (
    "ready",
    "easy",
    "count_in",
    "working",
    "working_left",
    "final_stretch",
    "failed",
    "out",
    "way_back",
    "back_in",
    "asks",
    "window_over",
    "rest",
    "rest_ready",
    "rest_over",
    "menu",
    "menu_out",
    "scanned",
    "asked_again",
    "help",
    "unheard",
    "dropped",
    "over",
)
SIZES = ((80, 24), (120, 40), (200, 60))
IN_WINDOW = ("working", "working_left", "final_stretch", "failed", "out", "way_back", "back_in")


async def brought(pilot):
    await pilot.app.arrange(pilot)
    return pilot.app


@pytest.mark.parametrize("moment", MOMENTS)
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
async def test_each_moment_looks_as_it_was_kept(moment, size, demo, screen_picture, kept):
    async with demo(f"session.{moment}").run_test(size=size) as pilot:
        assert screen_picture(await brought(pilot)) == kept
        assert bar_is_whole(pilot.app)


@pytest.mark.parametrize("moment", ["working", "failed", "rest"])
@pytest.mark.parametrize("theme", ["daylight", "two-tone"])
async def test_the_other_themes_tell_the_same(moment, theme, demo, screen_picture, kept):
    app = demo(f"session.{moment}")
    app.theme = theme
    async with app.run_test(size=(80, 24)) as pilot:
        assert screen_picture(await brought(pilot)) == kept


@pytest.mark.parametrize("moment", MOMENTS)
async def test_every_letter_stands_out_seven_to_one_in_every_theme(moment, demo, segments):
    async with demo(f"session.{moment}").run_test(size=(80, 24)) as pilot:
        app, seen = await brought(pilot), set()
        for theme in ("evening", "daylight", "two-tone"):
            app.theme = theme
            await pilot.pause()
            shown = set(pairs(segments(app)))
            assert all(contrast(*pair) >= 7 for pair in shown)
            seen.add(frozenset(shown))
        assert len(seen) == 3


def pairs(lines):
    """The ink and the field of every piece of text that is on screen."""
    for segment in (segment for line in lines for segment in line):
        if segment.text.strip() and segment.style is not None:
            shown = (segment.style.color, segment.style.bgcolor)
            yield tuple("#{:02x}{:02x}{:02x}".format(*each.get_truecolor()) for each in shown)


@pytest.mark.parametrize("moment", IN_WINDOW)
async def test_the_digits_of_a_window_are_nine_rows_high_at_the_usual_size(moment, demo):
    async with demo(f"session.{moment}").run_test(size=(80, 24)) as pilot:
        digits = (await brought(pilot)).screen.query_one("#digits")
        rows = [y for y in range(digits.size.height) if digits.render_line(y).text.strip()]
        assert len(rows) >= 9


@pytest.mark.parametrize("moment", MOMENTS)
async def test_the_tap_bar_is_whole_in_a_small_terminal_too(moment, demo):
    async with demo(f"session.{moment}").run_test(size=(60, 18)) as pilot:
        assert bar_is_whole(await brought(pilot))


def bar_is_whole(app):
    bar = app.screen.query_one("#tap")
    return bar.region.bottom <= app.size.height and bar.region.height >= 3


# -- keys


def key(app, name, at):
    event = events.Key(name, None)
    event.time = at
    app.post_message(event)


KEYS = [
    "space",
    "enter",
    "tab",
    "shift+tab",
    "ctrl+p",
    "ctrl+b",
    "f1",
    "f5",
    "pageup",
    "pagedown",
    "b",
    "full_stop",
    "o",
    "plus",
    "minus",
    "up",
    "q",
    "home",
]


@pytest.mark.parametrize("name", KEYS)
async def test_in_a_window_any_key_is_a_tap_at_the_time_it_was_pressed(name, demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        at = app.clock.time + 5
        app.clock.time += 5.2
        key(app, name, at)
        await pilot.pause()
        (stamp,) = app.driver.engine.session.open_set.stamps
        opened = app.driver.engine.session.open_set.opened_t
        assert stamp.kind == "failure"
        assert stamp.at == pytest.approx(at - opened, abs=1e-3)


async def test_a_touch_is_a_tap(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        app.clock.time += 5
        event = events.MouseDown(None, 3, 3, 0, 0, 1, False, False, False)
        event.time = app.clock.time
        app.post_message(event)
        await pilot.pause()
        assert len(app.driver.engine.session.open_set.stamps) == 1


@pytest.mark.parametrize("name", ["left_shift", "right_control", "caps_lock", "shift+left_shift"])
async def test_modifiers_alone_are_nothing(name, demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        app.clock.time += 5
        key(app, name, app.clock.time)
        await pilot.pause()
        assert app.driver.engine.session.open_set.stamps == ()


async def test_paste_wheel_and_resize_are_nothing(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        app.post_message(events.Paste("x"))
        app.post_message(events.MouseScrollDown(None, 3, 3, 0, 1, 0, False, False, False))
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        assert app.driver.engine.session.open_set.stamps == ()


async def test_a_tick_still_in_line_when_a_session_is_over_does_not_take_the_next_page_away(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        session, after = app.screen, Page(symptom_page())
        app.driver.leave("quit")
        session._tick()
        app.push_screen(after)
        session._tick()
        await pilot.pause()
        assert app.screen is after
        assert app.fault is None
