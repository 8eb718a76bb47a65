"""The summary after a session: one key alone ends it, arrows lead into the questions."""

import pytest
from textual import events
from textual.widgets import Input

from holdtimer.files import programs_folder
from holdtimer.live.answers import Debrief
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.summary import SummaryScreen
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.events import MAX_TEXT
from holdtimer.session.state import Tap
from holdtimer.sound.player import steady
from tests.screens.waiting import begun

PROGRAM = (programs_folder() / "chair-and-counter.toml").read_text(encoding="utf-8")


def unanswered():
    """A session whose only window so far closed in silence."""
    engine = Engine(compile_script(loads(PROGRAM, "p.toml").program, "A"))
    about = {"session": "20260304T170000Z-00000000", "person": "Edda", "program": "chair-and-counter"}
    engine.record(ev.Opened, 0.0, **about, script="A", program_text=PROGRAM)
    t = 2.0
    while engine.session.asking is None:
        if engine.tap_meaning(t) in (Tap.BEGIN, Tap.READY):
            engine.press("space", t)
        t += 3.0
        engine.tick(t)
    engine.close(t, "stopped")
    return engine.session


@pytest.fixture
async def shown(tmp_path):
    """The summary of that session, once taps count; `ended` tells whether it was closed."""
    debrief = Debrief(tmp_path, unanswered())

    async def story(app):
        app.ended = False
        await app.push_screen_wait(SummaryScreen("Ended", debrief))
        app.ended = True
        return 0

    app = HoldtimerApp(story)
    async with app.run_test(size=(80, 24)) as pilot:
        app.debrief = debrief
        app.at = steady() + 2
        await begun(pilot)
        yield pilot


async def press(pilot, *names):
    for name in names:
        pilot.app.at += 1
        event = events.Key(name, None)
        event.time = pilot.app.at
        pilot.app.post_message(event)
        await pilot.pause()
        await pilot.pause()


@pytest.mark.parametrize("name", ["space", "enter", "pageup", "b"])
async def test_one_tap_of_any_key_ends_it_though_a_set_waits_for_an_answer(shown, name):
    assert shown.app.debrief.waits(1)
    await press(shown, name)
    assert shown.app.ended
    assert shown.app.debrief.answers == ()


async def test_a_set_that_waits_is_answered_with_arrows_and_enter(shown):
    assert shown.app.screen._lines[0].startswith("? ")
    await press(shown, "down", "enter", "enter")
    assert not shown.app.ended
    (answer,) = shown.app.debrief.answers
    assert (answer.field, answer.value) == ("ran_to_end", False)


async def test_two_keys_of_a_clicker_and_a_tap_reach_every_answer_and_page_down_alone_leaves(shown):
    await press(shown, "pagedown")
    assert (shown.app.screen._marked, tap_words(shown)) == (0, "answer")
    await press(shown, "space")
    assert (shown.app.screen._set, tap_words(shown)) == (1, "change")
    await press(shown, "space")
    (answer,) = shown.app.debrief.answers
    assert (answer.field, answer.value) == ("ran_to_end", False)
    await press(shown, "pageup")
    assert tap_words(shown) == "back"
    await press(shown, "pageup")
    assert (shown.app.screen._set, shown.app.ended) == (None, False)
    for _ in shown.app.screen._lines:
        await press(shown, "pagedown")
    assert shown.app.ended
    assert len(shown.app.debrief.answers) == 1


async def test_the_headline_is_the_set_while_its_questions_are_shown(shown):
    await press(shown, "down", "enter")
    assert shown.app.screen._words.headline == "Sit to stand"
    await press(shown, "escape")
    assert shown.app.screen._words.headline == "Ended"


def tap_words(pilot):
    return pilot.app.screen._words.tap


async def test_a_held_key_does_not_close_it_unread(shown):
    await press(shown)
    for n in range(60):
        shown.app.at = steady() + n * 0.03
        event = events.Key("space", None)
        event.time = shown.app.at
        shown.app.post_message(event)
    await shown.pause()
    assert not shown.app.ended


async def test_a_note_stops_at_what_the_log_can_hold(shown):
    await press(shown, "down", "enter")
    last = len(shown.app.screen._lines) - 1
    await press(shown, *["down"] * (last - shown.app.screen._marked), "enter")
    assert shown.app.screen.types_text
    note = shown.app.screen.query_one(Input)
    note.value = "a" * MAX_TEXT
    note.cursor_position = MAX_TEXT
    shown.app.post_message(events.Key("b", "b"))
    await press(shown, "enter")
    (answer,) = shown.app.debrief.answers
    assert (answer.field, len(answer.value)) == ("note", MAX_TEXT)
