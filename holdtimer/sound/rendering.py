"""The worker that renders speech: makes each text a file, and keeps the files between sessions.

It takes the order `render TEXT` and answers `rendered TEXT FILE SECONDS`, with two nulls where it has no
speech for a text.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from holdtimer.errors import SoundError
from holdtimer.sound.samples import RATE, Samples, read_file, write_file
from holdtimer.sound.speech import Speaker, speaker_named
from holdtimer.sound.worker import Message, answer, orders, serve, working

MOST_BYTES = 64_000_000
USED_BYTES = 48_000_000  # what is left once there was more


class SpeechCache:
    """A folder of files, one a text, named by all that makes its sound: speaker, text and volume.

    Raises OSError where the folder can't be made.
    """

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        folder.chmod(0o700)
        self._folder = folder
        self._most = most_bytes
        self._prune()

    def path(self, speaker: str, text: str, volume: float) -> Path:
        """Return where a text is kept, or would be."""
        key = "\0".join(("1", speaker, text, f"{volume:.3f}"))
        return self._folder / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.wav"

    def length_s(self, path: Path) -> float | None:
        """Return how long kept speech lasts; None where there is none, or it is broken."""
        try:
            length = len(read_file(path, RATE)) / RATE
        except SoundError:
            return None
        with suppress(OSError):
            os.utime(path)  # used just now: the last to go
        return length

    def keep(self, path: Path, samples: Samples) -> None:
        """Keep speech, whole or not at all. Raises OSError."""
        part = path.with_suffix(f".{os.getpid()}.part")
        part.touch(mode=0o600)
        write_file(samples, part, RATE)
        part.replace(path)

    def _prune(self) -> None:
        """Remove what was used longest ago, where there is too much."""
        files = []
        for path in self._folder.iterdir():
            with suppress(OSError):
                files.append((path.stat().st_mtime, path.stat().st_size, path))
        total = sum(size for _, size, _ in files)
        if total <= self._most:
            return
        for _, size, path in sorted(files):
            if total <= self._most * USED_BYTES // MOST_BYTES:
                break
            with suppress(OSError):
                path.unlink()
                total -= size


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
        except (SoundError, OSError):
            return None
        return len(samples) / RATE

    def obey(self, order: Message, answer: Callable[..., None] = answer) -> None:
        """Answer an order to render a text; what is no order is passed over."""
        match order:
            case ["render", str(text)]:
                path, length = self.render(text) or (None, None)
                answer("rendered", text, None if path is None else str(path), length)


def main(speaker: str, words_per_minute: str, volume: str, folder: str) -> None:
    """Render with the named speaker until the input ends."""
    with working(), tempfile.TemporaryDirectory(prefix="holdtimer-voice-") as spare:
        os.umask(0o077)
        speaks = speaker_named(speaker, int(words_per_minute))
        renderer = Renderer(speaks, _cache(Path(folder), Path(spare)), float(volume))
        serve(orders(), renderer.obey)


def _cache(folder: Path, spare: Path) -> SpeechCache:
    """Return the cache, for this session alone where its folder can't be used."""
    with suppress(OSError):
        cache = SpeechCache(folder)
        if os.access(folder, os.W_OK):
            return cache
    return SpeechCache(spare)
