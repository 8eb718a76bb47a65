"""A player that plays nothing and remembers what it was asked for: for tests."""

from pathlib import Path

from holdtimer.sound.patterns import Sound


class RecordingPlayer:
    """Keeps the sounds still scheduled in `scheduled` and every request, withdrawn or not, in `asked`.

    The same of speech in `saying` and `said`; `hushed` counts how often speech was to be broken off.
    """

    name = "recording"

    def __init__(self) -> None:
        self.scheduled: list[tuple[Sound, float]] = []
        self.asked: list[tuple[Sound, float]] = []
        self.saying: list[tuple[Path, float]] = []
        self.said: list[tuple[Path, float]] = []
        self.hushed = 0
        self.withdrawn: list[float] = []
        self.is_open = False
        self.in_trouble: str | None = None

    def open(self) -> None:
        """Note that it is open."""
        self.is_open = True

    def schedule(self, sound: Sound, at: float) -> None:
        """Remember the sound and its due time."""
        self.scheduled.append((sound, at))
        self.asked.append((sound, at))

    def say(self, speech: Path, at: float) -> None:
        """Remember the speech and its due time."""
        self.saying.append((speech, at))
        self.said.append((speech, at))

    def hush(self) -> None:
        """Count it."""
        self.hushed += 1

    def withdraw(self, after: float) -> None:
        """Drop what is due later than `after` from `scheduled` and `saying`."""
        self.withdrawn.append(after)
        self.scheduled = [(sound, at) for sound, at in self.scheduled if at <= after]
        self.saying = [(speech, at) for speech, at in self.saying if at <= after]

    def trouble(self) -> str | None:
        """Return the trouble a test has put in `in_trouble`."""
        return self.in_trouble

    def close(self) -> None:
        """Note that it is closed."""
        self.is_open = False
