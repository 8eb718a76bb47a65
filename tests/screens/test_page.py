"""Pages of words: set for their room, scrolled, and closed by a tap or a key of theirs."""

import pytest
from textual import events

from holdtimer.report.pages import TAP, cautions_page, hold_page, settled_page, symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.fit import MOST_PAGES, large_text, pages
from holdtimer.screens.page import Page
from holdtimer.session.debounce import NEW_SCREEN_S, Settings
from holdtimer.sound.player import steady
from tests.screens.waiting import begun

LINES = ("It is on hold.", "", "Stop signs:", "  pain in the chest, which is a long line of a list", "Ask.")


def test_where_all_fits_all_comes_in_large_letters():
    (drawn,) = pages(LINES, 120, 60)
    assert not any(row.isascii() and row.strip() for row in drawn)


@pytest.mark.parametrize("most_even", [0, 1, MOST_PAGES])
def test_where_little_fits_all_words_are_there_page_by_page(most_even):
    drawn = pages(LINES, 30, 2, most_even)
    assert all(0 < len(page) <= 2 for page in drawn)
    text = " ".join(" ".join(row for page in drawn for row in page).split())
    for line in LINES:
        assert line.strip() in text


def test_an_item_of_a_list_hangs_from_its_dash():
    rows = [row for page in pages(LINES, 30, 2) for row in page]
    at = next(at for at, row in enumerate(rows) if row.startswith("  - pain"))
    assert rows[at + 1].startswith("    ")


def is_large(row):
    return bool(row.strip()) and not row.isascii()


@pytest.mark.parametrize(("columns", "rows"), [(76, 15), (116, 27), (196, 44)])
def test_when_to_call_for_help_is_as_large_as_the_call_at_every_usual_size(columns, rows):
    words = symptom_page()
    drawn = [row for page in pages(words.lines, columns, rows, MOST_PAGES, words.urgent) for row in page]
    calls = [row for line in words.lines[: words.urgent] for row in large_text(line, columns) if row.strip()]
    assert all(map(is_large, [row for row in drawn if row.strip()][: len(calls)]))


@pytest.mark.parametrize("words", [cautions_page(), symptom_page(), settled_page()], ids=lambda w: w.headline)
@pytest.mark.parametrize(("columns", "rows"), [(38, 8), (76, 13), (116, 27), (196, 44)])
def test_no_caution_and_no_stop_sign_is_set_smaller_than_another(words, columns, rows):
    drawn = pages(words.lines, columns, rows, MOST_PAGES, words.urgent)
    calls = (
        pages(words.lines[: words.urgent], columns, rows, MOST_PAGES, words.urgent) if words.urgent else []
    )
    for page in drawn[len(calls) :]:
        assert len({is_large(row) for row in page if row.strip()}) == 1
    assert len({is_large(page[0]) for page in drawn[len(calls) :]}) == 1


def test_no_page_ends_with_what_leads_to_the_next():
    for rows in range(5, 30):
        for page in pages(cautions_page().lines, 76, rows, MOST_PAGES):
            assert not [row for row in page if row.strip()][-1].endswith("notice:")


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
        await begun(pilot)
        yield pilot


async def press(pilot, name, after=NEW_SCREEN_S + 1):
    """Press a key, so many seconds after now and after the one before."""
    event = events.Key(name, None)
    event.time = pilot.pressed_at = max(steady(), getattr(pilot, "pressed_at", 0.0)) + after
    pilot.app.post_message(event)
    await pilot.pause()
    await pilot.pause()


async def test_a_long_page_says_that_arrows_turn_it_and_they_do(shown, screen_picture, answers):
    assert "page 1 of 2 · arrow down: next page" in screen_picture(shown.app)
    before = screen_picture(shown.app)
    for _ in range(3):
        await press(shown, "down")
    assert "page 2 of 2 · arrow up: back" in screen_picture(shown.app)
    for _ in range(3):
        await press(shown, "up")
    assert screen_picture(shown.app) == before
    assert answers == []


@pytest.mark.parametrize("key", ["space", "pagedown", "pageup", "b"])
async def test_only_on_the_last_page_of_the_cautions_a_tap_accepts_them(shown, answers, key):
    await press(shown, key, after=0)
    assert shown.app.screen._at == 0  # not in its first moment
    await press(shown, key)
    assert (shown.app.screen._at, answers) == (1, [])
    await press(shown, key, after=0)
    assert answers == []  # nor in the first moment of the next one
    await press(shown, key)
    assert answers == [TAP]


async def test_a_key_held_down_turns_no_page_after_the_first(shown, answers):
    await press(shown, "pagedown")
    for n in range(1, 101):
        event = events.Key("pagedown", None)
        event.time = shown.pressed_at + 0.04 * n
        shown.app.post_message(event)
    await shown.pause()
    await shown.pause()
    assert (shown.app.screen._at, answers) == (1, [])


@pytest.fixture
async def asked(answers):
    """A question in a terminal so low that it takes several pages."""

    async def story(app):
        stops = ["Legs was stopped on Tuesday 3 March at 18:21 in set 2, Wall sit: something felt wrong."]
        answers.append(await app.push_screen_wait(Page(hold_page(stops * 3, is_today=False))))
        return 0

    app = HoldtimerApp(story)
    async with app.run_test(size=(60, 14)) as pilot:
        await begun(pilot)
        yield pilot


async def test_the_keys_of_a_question_count_only_once_all_of_it_was_shown(asked, answers, screen_picture):
    await press(asked, "s")
    assert answers == []
    assert "it has settled" not in screen_picture(asked.app)
    for _ in asked.app.screen._pages[1:]:
        await press(asked, "pagedown")
    assert "it has settled" in screen_picture(asked.app)
    await press(asked, "S")  # as the page shows it
    assert answers == ["s"]


async def test_a_key_of_no_use_to_somebody_answers_no_page_of_theirs(asked, answers):
    asked.app.settings = Settings(not_taps=frozenset({"f5"}))
    asked.app.screen.on_mount()  # as when a page comes up
    await press(asked, "f5")
    assert answers == []
    await press(asked, "f6")
    assert answers == [TAP]


async def test_a_tap_on_any_page_of_a_question_answers_it_on_the_safe_side(asked, answers):
    await press(asked, "space")
    assert answers == [TAP]


async def test_a_tap_still_in_line_for_a_page_that_is_over_does_not_take_the_next_one_away(answers):
    first, second = Page(cautions_page()), Page(symptom_page())

    async def story(app):
        for page in (first, second):
            answers.append(await app.push_screen_wait(page))
        return 0

    app = HoldtimerApp(story)
    async with app.run_test(size=(80, 24)) as pilot:
        await begun(pilot)
        first._turn(len(first._pages))
        for after in (1, 3):
            first.press("space", steady() + NEW_SCREEN_S + after)
        await pilot.pause()
        await pilot.pause()
        assert app.screen is second
        assert (answers, app.fault) == ([TAP], None)
        await press(pilot, "space", after=NEW_SCREEN_S + 4)
        while len(answers) < 2 and not app.screen._is_last:
            await press(pilot, "space")
        await press(pilot, "space")
        assert answers == [TAP, TAP]


async def test_menu_help_and_take_back_are_no_taps_on_a_page(shown, answers):
    for name in ("escape", "question_mark", "backspace"):
        await press(shown, name)
    assert answers == []


@pytest.mark.parametrize(
    "name",
    [
        "cautions",
        "symptom",
        "hold",
        "hold_today",
        "settled",
        "checked",
        "paused",
        "restore",
        "early",
        "left",
        "today",
    ],
)
async def test_a_page_looks_as_it_was_kept(name, demo, screen_picture, kept):
    async with demo(f"pages.{name}").run_test(size=(80, 24)) as pilot:
        await begun(pilot)
        assert screen_picture(pilot.app) == kept


@pytest.mark.parametrize("size", [(120, 40), (200, 60)])
async def test_on_a_large_screen_when_to_call_for_help_is_all_on_the_first_page(demo, size):
    async with demo("pages.symptom").run_test(size=size) as pilot:
        await begun(pilot)
        page = pilot.app.screen
        calls = pages(
            page._lines[: page._words.urgent], *page._body.scrollable_content_region.size, MOST_PAGES
        )
        assert len(calls) == 1


@pytest.mark.parametrize("name", ["pages.symptom", "after.summary", "after.program", "far.ready", "far.asks"])
async def test_letters_of_a_headline_leave_the_upper_edge_free(name, demo, screen_picture):
    async with demo(name).run_test(size=(80, 24)) as pilot:
        await getattr(pilot.app, "arrange", begun)(pilot)
        rows = screen_picture(pilot.app).splitlines()[1:]
        assert not rows[0].strip()
        assert rows[1].strip()
