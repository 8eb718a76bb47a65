"""The key is tried once before the first session of a program: seen, heard, and never a stamp."""

import pytest

from holdtimer.live.plain import PlainSession
from holdtimer.screens.view import view
from holdtimer.session.state import Tap
from holdtimer.sound.patterns import Sound
from tests.live.test_plain import HandKeys


@pytest.fixture
def tried(faked_at):
    """A first session at ready, its key not yet tried."""
    return faked_at(tries_key=True).begin().go(2)


def meaning(faked):
    return faked.engine.tap_meaning(faked.t)


def seen(faked):
    return view(faked.engine, faked.t, {})


def test_the_first_tap_of_a_first_session_is_no_event_and_the_next_one_begins(tried):
    assert meaning(tried) is Tap.TRY
    tried.press()
    assert (tried.names, meaning(tried)) == (["opened", "anchor"], Tap.BEGIN)
    tried.go(4).press().go(4.5)
    assert tried.names[2:] == ["ready", "count-in"]


def test_one_press_of_a_trembling_hand_does_not_try_and_begin(tried):
    for at in (2, 2.3, 2.9, 3.4):
        tried.go(at).press()
    tried.go(9)
    assert set(tried.names) == {"opened", "anchor", "dropped"}


def test_a_key_typed_before_the_screen_was_seen_is_no_trial(faked_at):
    faked = faked_at(tries_key=True).begin().go(1)
    faked.press().go(2)
    assert meaning(faked) is Tap.TRY


def test_the_trial_is_asked_for_and_answered_on_screen(tried):
    before = seen(tried)
    assert (before.headline, before.tap) == ("Try your key", "try your key")
    assert "key you will use at failure" in before.lines[0].text
    after = seen(tried.press())
    assert (after.headline, after.tap, after.alarm) == ("Legs", "ready", "your key works")
    assert seen(tried.go(6)).alarm == ""


def test_the_trial_sounds_as_a_failure_will(tried):
    tried.press()
    assert [sound for sound, _ in tried.player.scheduled].count(Sound.FAILURE) == 1


def test_what_is_no_tap_tries_nothing_and_o_still_marks_an_off_day(tried):
    tried.press("escape").go(3).press("escape").go(4).press("o").go(5)
    assert meaning(tried) is Tap.TRY
    assert tried.names[-1] == "off-day"


def test_plain_lines_ask_for_the_trial_and_answer_it(faked_at, capsys):
    faked = faked_at(tries_key=True)
    source = HandKeys(faked)
    source.coming, source.until = [(2, "space"), (4, "space")], 5.0
    begin = {"session": "s", "person": "Ada", "program": "hall", "script": "A"}
    PlainSession(faked.driver, source, {}).run(lambda: faked.driver.begin(begin))
    printed = capsys.readouterr().out.splitlines()
    asked = printed.index("press the key you will use at failure, once, to try it")
    works = printed.index("note: your key works; the next tap begins")
    assert printed[asked + 1] == "tap: try your key"
    assert printed[works + 1] == "tap: ready"
    assert (
        asked < works < next(at for at, line in enumerate(printed) if " ready" in line and line[0].isdigit())
    )


def test_the_voice_asks_for_the_trial_first(faked_at):
    faked = faked_at(tries_key=True).begin()
    assert [each.wordings[0][0] for each in faked.driver._audio._announced] == [
        "press the key you will use at failure, once, to try it"
    ]
    faked.go(2).press()
    assert ("tap when ready",) in [each.wordings[0] for each in faked.driver._audio._announced]
