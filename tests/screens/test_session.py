"""The session screen: its moments as pictures, its contrast, and every key reaching the driver as a tap."""

import pytest
from textual import events

from holdtimer.report.pages import symptom_page
from holdtimer.screens.page import Page
from holdtimer.screens.themes import THEMES
from tests.published.contrast import contrast
from tests.published.letter_heights import ROWS, SIZES

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
    "asks_scanned",
    "said_yes",
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
OTHER_THEMES = ("working", "failed", "rest")  # kept as pictures in the other themes too
IN_WINDOW = ("working", "working_left", "final_stretch", "failed", "out", "way_back", "back_in")


async def brought(pilot):
    await pilot.app.arrange(pilot)
    return pilot.app


@pytest.mark.parametrize("moment", MOMENTS)
async def test_each_moment_looks_as_it_was_kept_and_can_be_read_in_every_size_theme_and_terminal(
    moment, demo, screen_picture, kept, sized, segments, digits_as_high_as_listed, rows_of_digits, few_colours
):
    async with demo(f"session.{moment}").run_test(size=SIZES[-1]) as pilot:
        app, seen = await brought(pilot), set()
        for size in reversed(SIZES):
            name = await sized(pilot, size)
            assert screen_picture(app) == kept(name=name)
            assert bar_is_whole(app)
            assert digits_as_high_as_listed(app, "session", moment), name
            assert moment not in IN_WINDOW or rows_of_digits(app) >= 9
        for theme in THEMES:  # in the smallest size
            app.theme = theme.name
            await pilot.pause()
            if moment in OTHER_THEMES and theme is not THEMES[0]:
                assert screen_picture(app) == kept(name=theme.name)
            shown = set(pairs(segments(app)))
            assert all(contrast(*pair) >= 7 for pair in shown)
            seen.add(frozenset(shown))
            few_colours.check(app, moment, theme)
        assert len(seen) == 3
        await sized(pilot, (60, 18))
        assert bar_is_whole(app)


def test_each_moment_with_a_listed_height_is_looked_at():
    assert {moment for layout, moment in ROWS if layout == "session"} <= set(MOMENTS)


def pairs(lines):
    """The ink and the field of every piece of text that is on screen."""
    for segment in (segment for line in lines for segment in line):
        if segment.text.strip() and segment.style is not None:
            shown = (segment.style.color, segment.style.bgcolor)
            yield tuple("#{:02x}{:02x}{:02x}".format(*each.get_truecolor()) for each in shown)


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


async def test_in_a_window_any_key_is_a_tap_at_the_time_it_was_pressed(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app, missed = await brought(pilot), []
        for count, name in enumerate(KEYS):
            at = app.clock.time + 2.5
            app.clock.time += 2.7
            key(app, name, at)
            await pilot.pause()
            current = app.driver.engine.session.open_set
            *_, stamp = current.stamps
            is_kind = stamp.kind == ("re-entry" if count % 2 else "failure")
            is_then = stamp.at == pytest.approx(at - current.opened_t, abs=1e-3)
            if not (is_kind and is_then and len(current.stamps) == count + 1):
                missed.append(name)
        assert missed == []


async def test_a_touch_is_a_tap(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        app.clock.time += 5
        event = events.MouseDown(None, 3, 3, 0, 0, 1, False, False, False)
        event.time = app.clock.time
        app.post_message(event)
        await pilot.pause()
        assert len(app.driver.engine.session.open_set.stamps) == 1


async def test_paste_wheel_and_resize_are_nothing(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        app.post_message(events.Paste("x"))
        app.post_message(events.MouseScrollDown(None, 3, 3, 0, 1, 0, False, False, False))
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        assert app.driver.engine.session.open_set.stamps == ()


async def test_what_is_still_in_line_when_a_session_is_over_does_not_take_the_next_page_away(demo):
    async with demo("session.working").run_test(size=(80, 24)) as pilot:
        app = await brought(pilot)
        session, after = app.screen, Page(symptom_page())
        app.driver.leave("quit")
        session.follow()
        session.end()
        app.push_screen(after)
        session.follow()
        session.end()
        await pilot.pause()
        assert app.screen is after
        assert app.fault is None
