import subprocess
import sys
import wave

import pytest

from holdtimer.sound.speech import (
    LIBRARY,
    RECORDINGS,
    SpeechError,
    SystemSpeech,
    speaker_named,
    speakers_here,
)


def here(platform="linux", library=False, commands=()):
    return speakers_here(platform, lambda: library, lambda name: name in commands)


def test_the_recordings_can_always_speak():
    assert here() == (RECORDINGS,)


def test_the_library_goes_before_a_command_and_a_command_before_the_recordings():
    assert here(library=True, commands=("espeak-ng",)) == (LIBRARY, "espeak-ng", RECORDINGS)


@pytest.mark.parametrize(("platform", "own"), [("darwin", "say"), ("win32", "powershell"), ("linux", None)])
def test_each_system_has_its_own_voice(platform, own):
    found = here(platform, commands=("say", "powershell"))
    assert found == ((own, RECORDINGS) if own else (RECORDINGS,))


class Ran:
    """Notes what was run, and writes what a synthesiser would."""

    def __init__(self, channels=1):
        self.channels = channels

    def __call__(self, words, more):
        self.words, self.more = words, more
        name = more.get("HOLDTIMER_SPEECH_FILE") or words[words.index("-o" if "-o" in words else "-w") + 1]
        with wave.open(name, "wb") as file:
            file.setnchannels(self.channels)
            file.setsampwidth(2)
            file.setframerate(22_050)
            file.writeframes(b"\1\0" * 100 * self.channels)


@pytest.mark.parametrize("command", ["espeak-ng", "espeak", "say", "powershell"])
def test_a_command_of_the_system_writes_what_is_said(command):
    ran = Ran()
    samples, rate = SystemSpeech(command, 150, ran).say("ease off")
    assert (len(samples), rate) == (100, 22_050)
    assert ran.words[0] == command
    assert "ease off" in [*ran.words, *ran.more.values()]


@pytest.mark.parametrize("command", ["espeak-ng", "say"])
def test_a_text_is_never_taken_for_an_option(command):
    ran = Ran()
    SystemSpeech(command, 150, ran).say("--output=x; rm -r y")
    assert ran.words[-1] == "output=x; rm -r y"


def test_no_text_is_ever_part_of_a_script():
    ran = Ran()
    SystemSpeech("powershell", 150, ran).say("$(x)'; y")
    assert "$(x)" not in " ".join(ran.words)
    assert ran.more["HOLDTIMER_SPEECH_TEXT"] == "$(x)'; y"
    assert ran.more["HOLDTIMER_SPEECH_RATE"] == "-1"


def test_speech_of_another_kind_is_refused():
    with pytest.raises(SpeechError, match="mono"):
        SystemSpeech("espeak-ng", 150, Ran(channels=2)).say("ease off")


def test_a_command_that_is_not_there_is_told():
    with pytest.raises(SpeechError, match="no-such-command"):
        speaker_named("no-such-command", 150).say("ease off")


def test_the_library_says_any_text():
    speaker = speaker_named(LIBRARY, 150)
    short, rate = speaker.say("Go.")
    long, _ = speaker.say("Hands on the chair seat, stand up. Übung: naïve 100 %.")
    assert rate > 16_000
    assert 0.1 < len(short) / rate < len(long) / rate
    fast, _ = speaker_named(LIBRARY, 250).say("Hands on the chair seat, stand up. Übung: naïve 100 %.")
    assert len(fast) < len(long)


ONE_AFTER_ANOTHER = """
import gc
from holdtimer.sound.speech import LIBRARY, speaker_named
for _ in range(20):
    speaker = speaker_named(LIBRARY, 150)
    assert len(speaker.say("Thirty seconds.")[0]) > 10_000
    del speaker
    gc.collect()
"""


def test_one_speaker_after_another_speaks_and_none_is_called_once_it_is_gone():
    """In a process of its own: a library that calls what is gone takes its process with it."""
    assert subprocess.run([sys.executable, "-c", ONE_AFTER_ANOTHER], timeout=60).returncode == 0
