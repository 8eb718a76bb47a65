"""What is heard of function tests: "go" and the bell known ahead, stands answered, answers offered."""

from dataclasses import replace

import pytest

from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.trials import GO_AFTER_S, OFFER_S, QUIET_S
from holdtimer.sound.announcements import announcements, pieces_ahead
from holdtimer.sound.cues import acknowledgements, cues
from holdtimer.sound.patterns import Sound
from tests.invented.timelines import HANDS, WALK, timeline_of


class Heard:
    """A session of one test, and what is heard of it at its moments."""

    def __init__(self, test):
        self.engine = Engine(timeline_of(test))
        self.engine.record(ev.Opened, 0.0, session="s", person="Ada", program="p", script="T")
        self.now = 0.0

    def tap(self, at):
        self.engine.tick(at)
        self.now = at
        return self.engine.press("space", at)

    def to_the_line(self):
        self.tap(2)
        while self.engine.session.question is not None:
            self.tap(self.now + 2.5)

    def cues(self):
        return {(cue.sound, round(cue.at, 3)) for cue in cues(self.engine.session, self.engine.part())}

    def said(self):
        every = announcements(self.engine.session, self.engine.part())
        return [(round(each.at, 3), each.wordings[0]) for each in every]


def test_go_and_the_bell_are_known_ahead_and_a_stand_is_answered():
    heard = Heard(HANDS)
    heard.to_the_line()
    heard.tap(heard.now + 2.5)
    go = heard.now + GO_AFTER_S
    assert (Sound.WINDOW_OPEN, go) in heard.cues()  # while it is still to come
    assert sum(sound is Sound.COUNT_IN for sound, _ in heard.cues()) == 3
    heard.engine.tick(go + 0.3)
    assert heard.cues() == {(Sound.WINDOW_OPEN, go), (Sound.WINDOW_OVER, go + 30)}
    (stand,) = heard.tap(go + 2)
    assert [cue.sound for cue in acknowledgements([stand])] == [Sound.RE_ENTRY]


def test_a_key_that_begins_a_walk_is_answered_and_no_go_is_promised():
    heard = Heard(replace(WALK, start="walking"))
    heard.to_the_line()
    (begun,) = heard.tap(heard.now + 2.5)
    assert [cue.sound for cue in acknowledgements([begun])] == [Sound.WINDOW_OPEN]
    assert heard.cues() == set()


def test_a_question_is_put_with_a_sound_and_in_words():
    heard = Heard(HANDS)
    heard.tap(2)
    assert [sound for sound, _ in heard.cues()] == [Sound.ASKS]
    words = [words for _, words in heard.said()]
    assert any("I feel as usual" in piece for pieces in words for piece in pieces)
    assert ("tap if so",) in words


def test_each_answer_is_offered_when_its_turn_comes():
    heard = Heard(HANDS)
    heard.to_the_line()
    heard.tap(heard.now + 2.5)
    go = heard.now + GO_AFTER_S
    for stand in range(3):
        heard.tap(go + 3 + stand)
    heard.engine.tick(go + 31)
    first = go + 30 + QUIET_S
    offered = heard.said()[:5]
    assert offered == [
        (pytest.approx(first + n * OFFER_S), words)
        for n, words in enumerate(
            [("three", "stands"), ("four", "stands"), ("two", "stands"), ("five", "stands"), ("not able",)]
        )
    ]


def test_all_that_may_be_said_of_a_test_is_prepared():
    pieces = set(pieces_ahead([HANDS]))
    assert {"point", "stands", "once more", HANDS.way_out} <= pieces
    assert any("swaying" in piece for piece in pieces)
