"""Speech by a command of the system: espeak-ng or espeak, `say` of macOS, or PowerShell of Windows."""

import os
import subprocess
import sys
import tempfile
import wave
from array import array
from collections.abc import Callable
from pathlib import Path

from holdtimer.sound.helper import NO_WINDOW
from holdtimer.sound.speakers import CannotSpeak, Speech

TIMEOUT_S = 8.0
POWERSHELL = """
Add-Type -AssemblyName System.Speech
$voice = New-Object System.Speech.Synthesis.SpeechSynthesizer
$voice.Rate = [int]$env:HOLDTIMER_SPEECH_RATE
$voice.SetOutputToWaveFile($env:HOLDTIMER_SPEECH_FILE)
$voice.Speak($env:HOLDTIMER_SPEECH_TEXT)
$voice.Dispose()
"""

Run = Callable[[list[str], dict[str, str]], None]


class SystemSpeech:
    """Says any text with the named command, which writes a file; `run` runs one with more environment."""

    def __init__(self, command: str, words_per_minute: int, run: "Run | None" = None) -> None:
        self.name = f"{command} {words_per_minute}"
        self._command = command
        self._words_per_minute = words_per_minute
        self._run = run or _run

    def say(self, text: str) -> Speech:
        """Return a text as speech. Raises CannotSpeak."""
        with tempfile.TemporaryDirectory(prefix="holdtimer-voice-") as folder:
            file = Path(folder) / "said.wav"
            self._run(self._words(text, file), self._environment(text, file))
            return _read(file)

    def _words(self, text: str, file: Path) -> list[str]:
        """Return the command line; a text never begins like an option."""
        text, speed = text.lstrip("-"), str(self._words_per_minute)
        if self._command == "say":
            form = ["--file-format=WAVE", "--data-format=LEI16@22050"]
            return ["say", "-r", speed, *form, "-o", str(file), text]
        if self._command == "powershell":
            return ["powershell", "-NoProfile", "-NonInteractive", "-Command", POWERSHELL]
        return [self._command, "-v", "en-us", "-s", speed, "-w", str(file), text]

    def _environment(self, text: str, file: Path) -> dict[str, str]:
        if self._command != "powershell":
            return {}
        # that voice's speeds go from -10 to 10, each step about 12 %, from about 170 words a minute
        rate = max(-10, min(10, round((self._words_per_minute - 170) / 20)))
        return {
            "HOLDTIMER_SPEECH_TEXT": text,
            "HOLDTIMER_SPEECH_FILE": str(file),
            "HOLDTIMER_SPEECH_RATE": str(rate),
        }


def _run(words: list[str], more: dict[str, str]) -> None:
    try:
        subprocess.run(  # noqa: S603 - a command of the system, with no shell between
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=os.environ | more,
            timeout=TIMEOUT_S,
            check=True,
            creationflags=NO_WINDOW,
        )
    except (OSError, subprocess.SubprocessError) as fault:
        raise CannotSpeak(f"{words[0]} can't speak: {fault}") from fault


def _read(file: Path) -> Speech:
    try:
        with wave.open(str(file), "rb") as said:
            if (said.getnchannels(), said.getsampwidth()) != (1, 2):
                raise CannotSpeak("the speech of the system is not mono and 16 bit")
            samples = array("h", said.readframes(said.getnframes()))
            if sys.byteorder == "big":
                samples.byteswap()
            return samples, said.getframerate()
    except (OSError, EOFError, ValueError, wave.Error) as fault:
        raise CannotSpeak(f"the speech of the system can't be read: {fault}") from fault
