"""What can turn text into speech: a library, a command of the system, or our recordings in `sounds/voice/`.

`python -m holdtimer.sound.speech` records the fixed phrases again, with the extra `voice`.
"""

import ctypes
import os
import re
import subprocess
import sys
import tempfile
from array import array
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from shutil import which
from typing import Any, Protocol

from holdtimer.errors import SoundError
from holdtimer.files import sounds_folder
from holdtimer.sound.samples import Samples, read_any, read_file, write_file
from holdtimer.sound.worker import NO_WINDOW

Speech = tuple[Samples, int]
"""Samples of speech, and how many of them make a second."""

LIBRARY, RECORDINGS = "espeak-ng-library", "recordings"


class Speaker(Protocol):
    """Says texts with one voice at one speed."""

    @property
    def name(self) -> str:
        """A name that another speaker, version, voice or speed does not have."""
        ...

    def say(self, text: str) -> Speech | None:
        """Return a text as speech; None where it has none for it. Raises SoundError."""
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
    """Return a speaker by its name. Raises SoundError where it can't be used."""
    if name == LIBRARY:
        return EspeakLibrary(words_per_minute)
    if name == RECORDINGS:
        return Recordings()
    return SystemSpeech(name, words_per_minute)


# -- a command of the system -------------------------------------------------------------------------------

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
        """Return a text as speech. Raises SoundError."""
        with tempfile.TemporaryDirectory(prefix="holdtimer-voice-") as folder:
            file = Path(folder) / "said.wav"
            self._run(self._words(text, file), self._environment(text, file))
            return read_any(file)

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
        raise SoundError(f"{words[0]} can't speak: {fault}") from fault


# -- the library eSpeak NG ---------------------------------------------------------------------------------

VOICE = "en-us+f2"
"""The voice that an offline recogniser understood best at 150 words a minute."""

# from speak_lib.h of espeak-ng
_SYNCHRONOUS, _DONT_EXIT = 2, 0x8000  # the callback comes on the thread that asks, and only while it does
_RATE = 1
_CHARS_UTF8 = 1
_POSITION_CHARACTER = 1

_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


class EspeakLibrary:
    """Says any text. Raises SoundError where the library is not whole."""

    def __init__(self, words_per_minute: int) -> None:
        self._heard: list[bytes] = []
        self._callback = _Callback(self._hear)  # kept, for the library calls it later
        try:
            loader: Any = import_module("espeakng_loader")
            self._library = ctypes.CDLL(loader.get_library_path())
            data = loader.get_data_path()
        except (ImportError, OSError, RuntimeError) as fault:
            raise SoundError(f"the espeak-ng library can't be loaded: {fault}") from fault
        self._rate = self._begun(data, words_per_minute)
        self._library.espeak_Info.restype = ctypes.c_char_p
        version = (self._library.espeak_Info(None) or b"").decode("ascii", "replace")
        self.name = f"espeak-ng {version} {VOICE} {words_per_minute}"

    def _begun(self, data: str, words_per_minute: int) -> int:
        """Begin, and return the samples a second."""
        rate: int = self._library.espeak_Initialize(_SYNCHRONOUS, 0, data.encode(), _DONT_EXIT)
        if rate <= 0 or self._library.espeak_SetVoiceByName(VOICE.encode()) != 0:
            raise SoundError("the espeak-ng library has no English voice")
        self._library.espeak_SetParameter(_RATE, words_per_minute, 0)
        self._library.espeak_SetSynthCallback(self._callback)
        return rate

    def _hear(self, samples: Any, count: int, _events: Any) -> int:
        if samples and count > 0:
            self._heard.append(ctypes.string_at(samples, 2 * count))
        return 0

    def say(self, text: str) -> Speech:
        """Return a text as speech. Raises SoundError."""
        self._heard.clear()
        said = text.encode() + b"\0"
        size = ctypes.c_size_t(len(said))
        fault = self._library.espeak_Synth(said, size, 0, _POSITION_CHARACTER, 0, _CHARS_UTF8, None, None)
        if fault or self._library.espeak_Synchronize():
            raise SoundError(f"the espeak-ng library failed at {text!r}")
        return array("h", b"".join(self._heard)), self._rate


# -- the recordings ----------------------------------------------------------------------------------------

RECORDED_RATE = 16_000
RECORDED_WORDS_PER_MINUTE = 150


def voice_folder() -> Path:
    """Return the folder of the recordings."""
    return sounds_folder() / "voice"


def file_name(text: str) -> str:
    """Return what the file of a text is called."""
    return re.sub(r"[^a-z]+", "-", text.lower()).strip("-")[:40].rstrip("-") + ".wav"


class Recordings:
    """Says what is recorded, and nothing else."""

    name = "recordings 1"

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or voice_folder()

    def say(self, text: str) -> Speech | None:
        """Return the recording of a text; None where there is none. Raises SoundError for a broken one."""
        from holdtimer.sound.phrases import EVERY  # all the words of a session, which no synthesiser needs

        if text not in EVERY:
            return None
        return read_file(self._folder / file_name(text), RECORDED_RATE), RECORDED_RATE


def record_all(folder: Path) -> None:
    """Record every fixed phrase: mono, 16 bit, 16 kHz. Raises SoundError without the extra `voice`."""
    from holdtimer.sound.phrases import EVERY
    from holdtimer.sound.shaping import shaped

    speaker = speaker_named(LIBRARY, RECORDED_WORDS_PER_MINUTE)
    folder.mkdir(exist_ok=True)
    for text in EVERY:
        said = speaker.say(text)
        if said is not None:
            write_file(shaped(*said, RECORDED_RATE), folder / file_name(text), RECORDED_RATE)


if __name__ == "__main__":
    record_all(voice_folder())
