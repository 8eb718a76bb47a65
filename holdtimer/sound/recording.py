"""A player that plays nothing and remembers what it was asked for: for tests."""

from holdtimer.sound.names import Sound


class RecordingPlayer:
    """Keeps the sounds still scheduled in `scheduled` and every request, withdrawn or not, in `asked`."""

    name = "recording"

    def __init__(self) -> None:
        self.scheduled: list[tuple[Sound, float]] = []
        self.asked: list[tuple[Sound, float]] = []
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

    def withdraw(self, after: float) -> None:
        """Drop what is due later than `after` from `scheduled`."""
        self.withdrawn.append(after)
        self.scheduled = [(sound, at) for sound, at in self.scheduled if at <= after]

    def trouble(self) -> str | None:
        """Return the trouble a test has put in `in_trouble`."""
        return self.in_trouble

    def close(self) -> None:
        """Note that it is closed."""
        self.is_open = False
