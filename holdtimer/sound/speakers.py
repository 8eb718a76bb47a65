"""What can turn text into speech, and which of it is here."""

import sys
from collections.abc import Callable
from importlib.util import find_spec
from shutil import which
from typing import Protocol

from holdtimer.sound.extras import how_to_add
from holdtimer.sound.samples import Samples

Speech = tuple[Samples, int]
"""Samples of speech, and how many of them make a second."""

LIBRARY, RECORDINGS = "espeak-ng-library", "recordings"
NOT_ALL = f"voice: numbers and fixed phrases only; for all, {how_to_add('voice')}"


class CannotSpeak(Exception):  # noqa: N818 - the house word for it
    """A speaker can't be used, or fails at a text; its text says why in plain words."""


class Speaker(Protocol):
    """Says texts with one voice at one speed."""

    @property
    def name(self) -> str:
        """What tells its speech from that of another one, or of another version, voice or speed."""
        ...

    def say(self, text: str) -> Speech | None:
        """Return a text as speech; None where it has none for it. Raises CannotSpeak."""
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
    """Return a speaker by its name. Raises CannotSpeak where it can't be used."""
    if name == LIBRARY:
        from holdtimer.sound.espeak_library import EspeakLibrary

        return EspeakLibrary(words_per_minute)
    if name == RECORDINGS:
        from holdtimer.sound.recordings import Recordings

        return Recordings()
    from holdtimer.sound.system_speech import SystemSpeech

    return SystemSpeech(name, words_per_minute)
