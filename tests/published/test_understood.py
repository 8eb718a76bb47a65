"""That the recordings are understood: by an offline recogniser with its own model of American English.

Source: PocketSphinx 5 with the acoustic model and the dictionary it carries (a test dependency only). The
words of each kind are told from each other: counting, all numbers, and all that is said by itself.
"""

import re

import numpy as np
import pytest

from holdtimer.session.words import CALL_FOR_HELP, CHOICE_WORDS
from holdtimer.sound import phrases
from holdtimer.sound.phrases import EVERY, SMALL, TENS
from holdtimer.sound.samples import read_file
from holdtimer.sound.speech import RECORDED_RATE as RATE
from holdtimer.sound.speech import file_name, voice_folder

pocketsphinx = pytest.importorskip("pocketsphinx")

PARTS = {phrases.SECONDS, phrases.MINUTE, phrases.MINUTES, phrases.NEXT, phrases.SET}
NUMBERS = (*SMALL[1:], *TENS)
MENU = tuple(words for words in CHOICE_WORDS.values() if words in EVERY)
COMMANDS = tuple(text for text in EVERY if text not in {*SMALL, *TENS, *PARTS, *MENU, *CALL_FOR_HELP})
SHARE = 0.95


def plain(text):
    return " ".join(re.findall(r"[a-z']+", text.lower()))


@pytest.fixture(scope="module")
def decoder():
    return pocketsphinx.Decoder(lm=None, samprate=RATE, loglevel="FATAL")


def understood(decoder, texts):
    """Return what was understood of each text, by a grammar of just these."""
    lines = " | ".join(plain(text) for text in texts)
    decoder.add_jsgf_string("said", f"#JSGF V1.0; grammar said; public <said> = {lines};")
    decoder.activate_search("said")
    return {plain(text): listen(decoder, text) for text in texts}


def listen(decoder, text):
    line = 0.8 * np.array(read_file(voice_folder() / file_name(text), RATE), dtype=float)
    room = np.random.default_rng(1)
    quiet = np.zeros(RATE // 4)
    padded = np.concatenate([quiet, line, quiet])
    padded += room.normal(0, 20, len(padded))
    decoder.start_utt()
    decoder.process_raw(padded.astype(np.int16).tobytes(), False, True)
    decoder.end_utt()
    best = decoder.hyp()
    return best.hypstr if best else ""


@pytest.mark.parametrize("texts", [SMALL[1:11], NUMBERS, COMMANDS, MENU])
def test_recordings_are_understood(decoder, texts):
    found = understood(decoder, texts)
    wrong = {text: got for text, got in found.items() if got != text}
    assert len(wrong) <= (1 - SHARE) * len(texts), wrong
