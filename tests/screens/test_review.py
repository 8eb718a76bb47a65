"""The review at the keyboard: each act changes what is due, undo gives it back, and the mouse does it too."""

import pytest
from textual import events
from textual.widgets import Static

from holdtimer.live.review import Review
from holdtimer.log.history import read_summaries
from holdtimer.program.loading import loads
from holdtimer.progression.due import due
from holdtimer.screens.review.base import QuestionScreen, TypingScreen
from holdtimer.screens.review.one_set import SetScreen
from holdtimer.screens.review.sessions import ReviewApp
from tests.invented.evenings import APART, FIRST, PERSON, PROGRAM, write_evenings


class Hands:
    """A person at the keyboard of a running review."""

    def __init__(self, app, pilot, data):
        self.app, self.pilot, self.data = app, pilot, data

    async def press(self, *keys):
        await self.pilot.press(*keys)
        await self.quiet()

    async def type_fast(self, text):
        for one in text:  # the next key is there before the one before it has been taken
            self.app.post_message(events.Key("space" if one == " " else one, one))
        await self.quiet()

    async def quiet(self):
        await self.pilot.pause()
        while getattr(self.app.screen, "is_working_out", False):
            await self.pilot.pause(0.01)
        running = [each for each in self.app.workers if not each.is_finished and each.group != "ask"]
        if running:  # of none, all would be waited for
            await self.app.workers.wait_for_complete(running)
        await self.pilot.pause()

    def said(self, name="#changes"):
        return str(self.app.screen.query_one(name, Static).content)

    def noted(self):
        *_, last = self.app._notifications
        return last.message

    def coming(self, evenings):
        past = read_summaries(self.data, PERSON, rehearsals=True).sessions
        return due(loads(PROGRAM, "wall").program, past, FIRST + evenings * APART)

    def due(self, evenings):
        (only,) = self.coming(evenings).sets
        return only.rung, only.outlook.verdict.word


@pytest.fixture
def reviewed(tmp_path):
    """Open the review of these evenings, and run an act in it."""

    async def run(evenings, act, **more):
        write_evenings(tmp_path, evenings, **more)
        review = Review(tmp_path, PERSON, now=lambda: FIRST + len(evenings) * APART)
        app = ReviewApp(review)
        async with app.run_test(size=(80, 24)) as pilot:
            hands = Hands(app, pilot, tmp_path)
            await hands.quiet()
            await act(hands)
        review.close_all()
        return hands

    return run


async def test_each_act_changes_what_is_due_and_undo_gives_it_back(reviewed):
    async def silence(hands):
        await hands.press("enter", "enter")  # too many: "worked to the end" is marked, and stays open
        assert hands.due(4) == ("middle", "same")
        await hands.press("y")
        assert hands.due(4) == ("low", "harder")
        assert "was middle: the same, going by an earlier session" in hands.said()
        await hands.press("n")
        assert hands.due(4) == ("middle", "same")
        await hands.press("down", "enter")
        assert isinstance(hands.app.screen, TypingScreen)
        await hands.press(*"2x", "enter")
        assert "a number from 0 to 90" in hands.said("#hint")
        await hands.press("backspace", "5", "enter")
        assert hands.due(4) == ("high", "easier")
        await hands.press("u")
        assert hands.noted() == "undone: Wall sit, set 1: failed at 25.0 s taken out"
        await hands.press("u")
        assert hands.noted() == "undone: Wall sit, set 1: worked to the end, now yes"
        assert hands.due(4) == ("low", "harder")
        await hands.press("u")

    async def knock(hands):
        assert hands.due(4) == ("middle", "same")
        assert "Nothing. Due next" in hands.said()
        await hands.press("y")  # "a slip of the key?" is marked: it goes, with the tap that put it right
        assert "Wall sit: high\neasier: failed at 57 s" in hands.said()
        assert "was middle: the same" in hands.said()
        assert hands.due(4) == ("high", "easier")
        await hands.press("u")
        assert hands.noted() == "undone: Wall sit, set 1: now failed at 20.0 s, back in at 23.0 s"
        assert hands.due(4) == ("middle", "same")
        await hands.press("U")
        assert hands.noted() == "done again: Wall sit, set 1: failed at 20.0 s, back in at 23.0 s taken out"
        assert hands.due(4) == ("high", "easier")
        await hands.press("home", *["right"] * 4)  # what is left is moved, as a draft
        assert "inside 60-90" in hands.said()
        assert hands.due(4) == ("high", "easier")
        await hands.press("escape")
        assert "failed at 57 s" in hands.said()
        await hands.press(*["right"] * 4, "enter")
        assert hands.due(4) == ("middle", "same")
        await hands.press("escape", "o", "u")
        assert hands.noted() == "undone: off day, now no"
        await hands.press("u")
        assert hands.noted() == "undone: Wall sit, set 1: now failed at 57.0 s"
        await hands.press("U")
        assert hands.due(4) == ("middle", "same")

    async def act(hands):
        await hands.press("enter")
        await hands.press("enter")
        await silence(hands)
        await hands.press("escape", "escape", "down", "enter")
        await hands.press("enter")
        assert isinstance(hands.app.screen, SetScreen)
        await knock(hands)

    # early, early again but for a knock on the key, then a window closed in silence
    await reviewed([(70,), (55, 60, 80), (20, 23, 57), ()], act)


async def test_a_hold_and_a_pause_end_by_an_explicit_answer_alone(reviewed, screen_picture):
    async def act(hands):
        assert "on hold" in hands.said("#due")
        await hands.press("h")
        assert "S    it has settled" in screen_picture(hands.app)
        await hands.press("escape")
        assert "on hold" in hands.said("#due")
        await hands.press("H")
        await hands.press("S")  # as the question shows it
        assert isinstance(hands.app.screen, QuestionScreen)
        assert hands.coming(2).hold is not None
        await hands.press("y")  # the second step
        assert "on hold" not in hands.said("#due")
        await hands.press("enter")
        await hands.press("enter")
        await hands.press("end", "up", "up", "y")  # pain, at the easiest rung
        assert "Wall sit: left out" in hands.said()
        assert hands.coming(2).sets[0].outlook.verdict.paused
        await hands.press("t")
        await hands.press("r")
        await hands.press("y")
        assert not hands.coming(2).sets[0].outlook.verdict.paused

    await reviewed([(70,), (70,)], act, rung="high", reason="symptom", scope="session")


async def test_the_screens_are_as_kept_a_date_is_found_and_the_mouse_moves_a_stamp(
    reviewed, screen_picture, kept
):
    async def act(hands):
        assert screen_picture(hands.app) == kept(name="sessions")
        await hands.type_fast("17 mar")
        await hands.press("enter")
        assert "1 of 6 sessions" in hands.said("#heading")
        await hands.pilot.click("#sessions", offset=(10, 0))  # what is marked: as Enter
        await hands.quiet()
        assert screen_picture(hands.app) == kept(name="session")
        await hands.press("enter")
        await hands.press("home", "left")
        assert screen_picture(hands.app) == kept(name="set")
        await hands.pilot.click("#ruler", offset=(10, 2))
        await hands.quiet()
        assert "easier: failed at 11 s" in hands.said()
        await hands.press("escape", "t")
        assert screen_picture(hands.app) == kept(name="exercise")
        await hands.press("escape", "escape", "escape", "escape")
        assert "6 sessions" in hands.said("#heading")

    await reviewed([(75,), (66, 80), (), (52, 60), (61,), (20, 23, 57)], act)
