"""What can turn text into speech: a library, a command of the system, or our recordings."""

import ctypes
import os
import subprocess
import sys
import tempfile
import wave
from array import array
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from shutil import which
from typing import Any, Protocol

from holdtimer.sound.choosing import how_to_add
from holdtimer.sound.helper import NO_WINDOW
from holdtimer.sound.samples import Samples

Speech = tuple[Samples, int]
"""Samples of speech, and how many of them make a second."""

LIBRARY, RECORDINGS = "espeak-ng-library", "recordings"
NOT_ALL = f"voice: numbers and fixed phrases only; for all, {how_to_add('voice')}"


class SpeechError(Exception):
    """A speaker can't be used, or fails at a text; its text says why in plain words."""


class Speaker(Protocol):
    """Says texts with one voice at one speed."""

    @property
    def name(self) -> str:
        """What tells its speech from that of another one, or of another version, voice or speed."""
        ...

    def say(self, text: str) -> Speech | None:
        """Return a text as speech; None where it has none for it. Raises SpeechError."""
        ...


def speakers_here(
    platform: str = sys.platform,
    has_library: Callable[[], bool] = lambda: find_spec("espeakng_loader") is not None,
    has_command: Callable[[str], object] = which,
) -> tuple[str, ...]:
    """Return the names of what can speak here, best first; the recordings always can."""
    found = [LIBRARY] if has_library() else []
    commands = ["espeak-ng", "espeak"]
    if platform == "darwin":
        commands.append("say")
    if platform == "win32":
        commands.append("powershell")
    found += [name for name in commands if has_command(name)]
    return (*found, RECORDINGS)


def speaker_named(name: str, words_per_minute: int) -> Speaker:
    """Return a speaker by its name. Raises SpeechError where it can't be used."""
    if name == LIBRARY:
        return EspeakLibrary(words_per_minute)
    if name == RECORDINGS:
        from holdtimer.sound.recordings import Recordings

        return Recordings()

    return SystemSpeech(name, words_per_minute)


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
        """Return a text as speech. Raises SpeechError."""
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
        raise SpeechError(f"{words[0]} can't speak: {fault}") from fault


def _read(file: Path) -> Speech:
    try:
        with wave.open(str(file), "rb") as said:
            if (said.getnchannels(), said.getsampwidth()) != (1, 2):
                raise SpeechError("the speech of the system is not mono and 16 bit")
            samples = array("h", said.readframes(said.getnframes()))
            if sys.byteorder == "big":
                samples.byteswap()
            return samples, said.getframerate()
    except (OSError, EOFError, ValueError, wave.Error) as fault:
        raise SpeechError(f"the speech of the system can't be read: {fault}") from fault


VOICE = "en-us+f2"
"""The voice that an offline recogniser understood best at 150 words a minute."""

# from speak_lib.h of espeak-ng
_SYNCHRONOUS, _DONT_EXIT = 2, 0x8000  # the callback comes on the thread that asks, and only while it does
_RATE = 1
_CHARS_UTF8 = 1
_POSITION_CHARACTER = 1

_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


class EspeakLibrary:
    """Says any text. Raises SpeechError where the library is not whole."""

    def __init__(self, words_per_minute: int) -> None:
        self._heard: list[bytes] = []
        self._callback = _Callback(self._hear)  # kept, for the library calls it later
        try:
            loader: Any = import_module("espeakng_loader")
            self._library = ctypes.CDLL(loader.get_library_path())
            data = loader.get_data_path()
        except (ImportError, OSError, RuntimeError) as fault:
            raise SpeechError(f"the espeak-ng library can't be loaded: {fault}") from fault
        self._rate = self._begun(data, words_per_minute)
        self._library.espeak_Info.restype = ctypes.c_char_p
        version = (self._library.espeak_Info(None) or b"").decode("ascii", "replace")
        self.name = f"espeak-ng {version} {VOICE} {words_per_minute}"

    def _begun(self, data: str, words_per_minute: int) -> int:
        """Begin, and return the samples a second."""
        rate: int = self._library.espeak_Initialize(_SYNCHRONOUS, 0, data.encode(), _DONT_EXIT)
        if rate <= 0 or self._library.espeak_SetVoiceByName(VOICE.encode()) != 0:
            raise SpeechError("the espeak-ng library has no English voice")
        self._library.espeak_SetParameter(_RATE, words_per_minute, 0)
        self._library.espeak_SetSynthCallback(self._callback)
        return rate

    def _hear(self, samples: Any, count: int, _events: Any) -> int:
        if samples and count > 0:
            self._heard.append(ctypes.string_at(samples, 2 * count))
        return 0

    def say(self, text: str) -> Speech:
        """Return a text as speech. Raises SpeechError."""
        self._heard.clear()
        said = text.encode() + b"\0"
        size = ctypes.c_size_t(len(said))
        fault = self._library.espeak_Synth(said, size, 0, _POSITION_CHARACTER, 0, _CHARS_UTF8, None, None)
        if fault or self._library.espeak_Synchronize():
            raise SpeechError(f"the espeak-ng library failed at {text!r}")
        return array("h", b"".join(self._heard)), self._rate
