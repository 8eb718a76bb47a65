"""Speech kept between sessions, for its owner alone, and never more than so much of it."""

import hashlib
import os
from contextlib import suppress
from pathlib import Path

from holdtimer.errors import SoundError
from holdtimer.sound.samples import RATE, Samples, read_file, write_file

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
