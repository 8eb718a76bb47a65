"""The process that renders speech: takes texts line by line and answers with files of them.

Each line in is a text as JSON. Each line out is a JSON list: the text, its file and its length in seconds,
or two nulls where there is no speech for it. It ends with its input.
"""

import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from holdtimer.sound.samples import RATE
from holdtimer.sound.speech import Speaker, SpeechError, speaker_named
from holdtimer.sound.speech_cache import SpeechCache

Answer = Callable[[str, Path | None, float | None], None]


class Renderer:
    """Says texts into files of a cache, at a volume of 0-1."""

    def __init__(self, speaker: Speaker, cache: SpeechCache, volume: float) -> None:
        self._speaker = speaker
        self._cache = cache
        self._volume = volume

    def render(self, text: str) -> tuple[Path, float] | None:
        """Return the file of a text and its length (s); None where it can't be said."""
        path = self._cache.path(self._speaker.name, text, self._volume)
        length = self._cache.length_s(path)
        if length is None:
            length = self._said(text, path)
        return None if length is None else (path, length)

    def _said(self, text: str, path: Path) -> float | None:
        from holdtimer.sound.shaping import shaped  # only what is not kept yet needs numpy

        try:
            said = self._speaker.say(text)
            samples = shaped(*said, RATE, self._volume) if said is not None else None
            if not samples:
                return None
            self._cache.keep(path, samples)
        except (SpeechError, OSError):
            return None
        return len(samples) / RATE


def render_all(renderer: Renderer, lines: Iterable[str], answer: Answer) -> None:
    """Answer every line."""
    for line in lines:
        with suppress(ValueError):
            text = str(json.loads(line))
            answer(text, *(renderer.render(text) or (None, None)))


def _answer(text: str, path: Path | None, length: float | None) -> None:
    print(json.dumps([text, None if path is None else str(path), length]), flush=True)


def main(speaker: str, words_per_minute: str, volume: str, folder: str) -> None:
    """Render with the named speaker until the input ends. Never returns: the library may hang at its end."""
    os.umask(0o077)
    with tempfile.TemporaryDirectory(prefix="holdtimer-voice-") as spare, suppress(SpeechError):
        speaks = speaker_named(speaker, int(words_per_minute))
        render_all(Renderer(speaks, _cache(Path(folder), Path(spare)), float(volume)), sys.stdin, _answer)
    os._exit(0)


def _cache(folder: Path, spare: Path) -> SpeechCache:
    """Return the cache, for this session alone where its folder can't be used."""
    with suppress(OSError):
        cache = SpeechCache(folder)
        if os.access(folder, os.W_OK):
            return cache
    return SpeechCache(spare)
