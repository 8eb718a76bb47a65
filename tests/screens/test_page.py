"""Pages of words: set for their room, scrolled, and closed by a tap or a key of theirs."""

import pytest
from textual import events

from holdtimer.report.pages import TAP, cautions_page, symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.fit import page_text
from holdtimer.screens.page import Page
from holdtimer.session.debounce import NEW_SCREEN_S
from holdtimer.sound.player import steady

LINES = ("It is on hold.", "", "Stop signs:", "  pain in the chest, which is a long line of a list", "Ask.")


def test_where_all_fits_all_comes_in_large_letters():
    drawn = page_text(LINES, 120, 60)
    assert not any(row.isascii() and row.strip() for row in drawn)


def test_where_little_fits_all_words_are_there_to_scroll():
    text = " ".join(" ".join(page_text(LINES, 30, 2)).split())
    for line in LINES:
        assert line.strip() in text


def test_an_item_of_a_list_hangs_from_its_dash():
    rows = page_text(LINES, 30, 2)
    at = next(at for at, row in enumerate(rows) if row.startswith("  - pain"))
    assert rows[at + 1].startswith("    ")


@pytest.mark.parametrize("rows", [8, 15, 60])
def test_on_an_urgent_page_the_first_line_is_large_at_every_size(rows):
    words = symptom_page()
    assert not page_text(words.lines, 76, rows, is_urgent=words.is_urgent)[0].isascii()


@pytest.fixture
def answers():
    return []


@pytest.fixture
async def shown(demo, answers):
    """A page after its first moment, when taps count."""

    async def story(app):
        answers.append(await app.push_screen_wait(Page(cautions_page())))
        return 0

    app = HoldtimerApp(story)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        yield pilot


async def press(pilot, name, after=NEW_SCREEN_S + 1):
    event = events.Key(name, None)
    event.time = steady() + after
    pilot.app.post_message(event)
    await pilot.pause()
    await pilot.pause()


async def test_a_long_page_says_that_arrows_scroll_and_they_do(shown, screen_picture, answers):
    assert "arrow down: more" in screen_picture(shown.app)
    before = screen_picture(shown.app)
    for _ in range(12):
        await press(shown, "down")
    assert "arrow up: back to the top" in screen_picture(shown.app)
    for _ in range(12):
        await press(shown, "up")
    assert screen_picture(shown.app) == before
    assert answers == []


async def test_a_tap_closes_a_page_but_not_in_its_first_moment(shown, answers):
    await press(shown, "space", after=0)
    assert answers == []
    await press(shown, "b")
    assert answers == [TAP]


async def test_a_tap_still_in_line_for_a_page_that_is_over_does_not_take_the_next_one_away(answers):
    first, second = Page(cautions_page()), Page(symptom_page())

    async def story(app):
        for page in (first, second):
            answers.append(await app.push_screen_wait(page))
        return 0

    app = HoldtimerApp(story)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for after in (1, 3):
            first.press("space", steady() + NEW_SCREEN_S + after)
        await pilot.pause()
        await pilot.pause()
        assert app.screen is second
        assert (answers, app.fault) == ([TAP], None)
        await press(pilot, "space")
        assert answers == [TAP, TAP]


async def test_menu_help_and_take_back_are_no_taps_on_a_page(shown, answers):
    for name in ("escape", "question_mark", "backspace"):
        await press(shown, name)
    assert answers == []


@pytest.mark.parametrize("name", ["cautions", "symptom", "hold", "early", "left"])
async def test_a_page_looks_as_it_was_kept(name, demo, screen_picture, kept):
    async with demo(f"pages.{name}").run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.pause()
        assert screen_picture(pilot.app) == kept


async def test_the_symptom_page_fits_a_large_screen_without_scrolling(demo, screen_picture):
    async with demo("pages.symptom").run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        await pilot.pause()
        assert "arrow down" not in screen_picture(pilot.app)


@pytest.mark.parametrize("name", ["pages.symptom", "after.summary", "after.program", "far.ready", "far.asks"])
async def test_letters_of_a_headline_leave_the_upper_edge_free(name, demo, screen_picture):
    async with demo(name).run_test(size=(80, 24)) as pilot:
        if arrange := getattr(pilot.app, "arrange", None):
            await arrange(pilot)
        await pilot.pause()
        rows = screen_picture(pilot.app).splitlines()[1:]
        assert not rows[0].strip()
        assert rows[1].strip()
