"""The voice of a session: which pieces of speech there are, and where their files lie."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """Whether there is a voice, how fast it speaks, and how loud: 0-1 of the sounds."""

    on: bool = True
    words_per_minute: int = 150
    volume: float = 1.0


class Voice(Protocol):
    """Has pieces of speech ready. Every method returns at once and raises nothing."""

    @property
    def changes(self) -> int:
        """How often a piece became ready so far."""
        ...

    def want(self, pieces: Iterable[str]) -> None:
        """Have pieces made ready, in this order."""
        ...

    def length(self, piece: str) -> float | None:
        """Return how long a piece lasts (s); None where it is not ready, and then it is wanted."""
        ...

    def path(self, piece: str) -> Path:
        """Return the file of a piece that is ready. Raises KeyError for another one."""
        ...

    def trouble(self) -> str | None:
        """Return what is wrong with the voice, in plain words."""
        ...

    def close(self) -> None:
        """Make nothing ready any more."""
        ...


class Mute:
    """Says nothing."""

    changes = 0

    def want(self, pieces: Iterable[str]) -> None:
        """Do nothing."""

    def length(self, piece: str) -> float | None:
        """Return None: there is no speech."""

    def path(self, piece: str) -> Path:
        """Raise KeyError: there is no speech."""
        raise KeyError(piece)

    def trouble(self) -> str | None:
        """Return None: silence is what was asked for."""
        return None

    def close(self) -> None:
        """Do nothing."""
