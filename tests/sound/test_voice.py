"""The voice and the worker behind it, against small processes that speak, hang or die."""

import sys
from functools import partial
from pathlib import Path
from threading import active_count

import pytest

from holdtimer.sound import voice as voices_of
from holdtimer.sound import worker
from holdtimer.sound.voice import (
    FAILED,
    MOST_ASKED,
    NOT_ALL,
    SILENT,
    Voice,
    VoiceSettings,
    voice_for,
)
from holdtimer.sound.worker import Patience, Worker

SPEAKS = """
import json, sys
print('["well"]', flush=True)
for line in sys.stdin:
    verb, *text = json.loads(line)
    if verb == "ask":
        print('["well"]', flush=True)
        continue
    text = text[0]
    known = [f"/{sys.argv[1]}/{text}", 0.5] if text != "unknown" else [None, None]
    print(json.dumps(["rendered", text, *known]), flush=True)
"""
STICKS = "    if text == 'bad':\n        import time\n        time.sleep(1000)\n    known ="
PROGRAMS = {
    "speaks": SPEAKS,
    "hangs": "import time; time.sleep(1000)",
    "dies": "pass",
    "hangs-at-bad": SPEAKS.replace("    known =", STICKS),
}
PATIENT, IMPATIENT = Patience(30.0, 30.0), Patience(2.0, 0.5)


def starters(speakers, patience, started):
    def start(name, hear):
        found = Worker(name, [sys.executable, "-c", PROGRAMS[name], name], patience, hear)
        started.append(found)
        return found

    return [partial(start, name) for name in speakers]


@pytest.fixture
def voices():
    made = []

    def make(*speakers, patience=PATIENT):
        made.append(Voice(starters(speakers, patience, [])))
        return made[-1]

    yield make
    for voice in made:
        voice.close()


@pytest.fixture
def impatient(monkeypatch):
    monkeypatch.setattr(worker, "CHECK_EVERY_S", 0.05)
    monkeypatch.setattr(worker, "ENDING_S", 0.05)
    return IMPATIENT


def test_a_piece_is_ready_once_it_is_answered(voices, eventually):
    voice = voices("speaks")
    assert voice.length("ease off") is None
    eventually(lambda: voice.length("ease off") == 0.5)
    assert voice.path("ease off") == Path("/speaks/ease off")
    assert voice.changes == 1
    assert voice.trouble() is None


def test_a_piece_that_can_not_be_said_stays_away(voices, eventually):
    voice = voices("speaks")
    voice.want(["unknown", "ease off"])
    eventually(lambda: voice.length("ease off") is not None)
    assert voice.length("unknown") is None
    with pytest.raises(KeyError):
        voice.path("unknown")


def test_far_more_than_a_process_takes_in_at_once_comes_through(voices, eventually):
    voice = voices("speaks")
    pieces = [f"{number} {'x' * 3000}" for number in range(3 * MOST_ASKED)]
    voice.want(pieces)
    eventually(lambda: voice.changes == len(pieces))


@pytest.mark.parametrize("first", ["hangs", "dies"])
def test_where_one_speaker_fails_the_next_speaks_and_that_is_said(voices, eventually, impatient, first):
    voice = voices(first, "speaks", patience=impatient)
    voice.want(["ease off", "breathe"])
    eventually(lambda: voice.length("breathe") is not None)
    assert voice.path("ease off") == Path("/speaks/ease off")
    assert voice.trouble() == FAILED


def test_what_was_ready_stays_ready_when_the_speaker_hangs_later(voices, eventually, impatient):
    voice = voices("hangs-at-bad", "speaks", patience=impatient)
    voice.want(["ease off"])
    eventually(lambda: voice.length("ease off") is not None)
    voice.want(["bad", "breathe"])
    eventually(lambda: voice.length("breathe") is not None)
    assert voice.path("ease off") == Path("/hangs-at-bad/ease off")
    assert voice.path("bad") == Path("/speaks/bad")


def test_where_none_speaks_that_is_said_and_nothing_waits(voices, eventually, impatient):
    voice = voices("hangs", "dies", patience=impatient)
    voice.want(["ease off"])
    eventually(lambda: voice.trouble() == SILENT)
    assert voice.length("ease off") is None


def test_closing_ends_the_process(eventually):
    started = []
    voice = Voice(starters(["speaks"], PATIENT, started))
    voice.close()
    eventually(lambda: not started or started[0].trouble() == "the speaks has ended")


@pytest.mark.parametrize(
    ("player", "settings"),
    [("off", VoiceSettings()), ("bell", VoiceSettings()), ("miniaudio", VoiceSettings(on=False))],
)
def test_without_samples_or_with_the_voice_off_nothing_is_started(player, settings, tmp_path):
    before = active_count()
    voice, remarks = voice_for(player, settings, tmp_path)
    assert remarks == []
    assert voice.length("ease off") is None
    assert voice.trouble() is None
    assert active_count() == before
    voice.close()


def test_with_no_synthesiser_the_recordings_speak_and_that_is_said(monkeypatch, tmp_path, eventually):
    monkeypatch.setattr(voices_of, "speakers_here", lambda: ("recordings",))
    voice, remarks = voice_for("miniaudio", VoiceSettings(volume=0.5), tmp_path / "voice")
    voice.want(["ease off", "Wall sit", "breathe"])
    eventually(lambda: voice.length("breathe") is not None)
    assert remarks == [NOT_ALL]
    assert voice.length("ease off") is not None
    assert voice.length("Wall sit") is None
    voice.close()
