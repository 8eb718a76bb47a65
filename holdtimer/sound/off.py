"""The player for those who want no sound."""

from pathlib import Path

from holdtimer.sound.names import Sound


class OffPlayer:
    """Plays nothing, and is never in trouble."""

    name = "off"

    def open(self) -> None:
        """Do nothing."""

    def schedule(self, sound: Sound, at: float) -> None:
        """Play nothing."""

    def say(self, speech: Path, at: float) -> None:
        """Say nothing."""

    def hush(self) -> None:
        """Do nothing, since nothing is said."""

    def withdraw(self, after: float) -> None:
        """Forget nothing, since nothing is kept."""

    def trouble(self) -> str | None:
        """Return None: silence is what was asked for."""
        return None

    def close(self) -> None:
        """Do nothing."""
