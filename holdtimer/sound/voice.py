"""The voice of a session: which pieces of speech there are, and where their files lie."""

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Protocol

from holdtimer.sound.players import how_to_add
from holdtimer.sound.speech import RECORDINGS, speakers_here
from holdtimer.sound.worker import Message, Patience, Running, Supervisor, Worker, command


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
        """Return how long a piece lasts (s); None where it is not ready, and then it is asked for."""
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


PATIENCE = Patience(opening_s=12.0, answer_s=12.0)  # a synthesiser that is silent for longer hangs
MOST_ASKED = 20  # at once: what a worker takes in even while it hangs
NOT_ALL = f"voice: numbers and fixed phrases only; for all, {how_to_add('voice')}"
FAILED = "voice: the speech synthesiser fails, so that another voice speaks"
SILENT = "voice: nothing can be spoken"

Start = Callable[[str, Callable[[Message], None]], Running]


class WorkerVoice:
    """Speaks with the first of the `speakers` that works, in a worker: see `rendering`.

    `start` starts the worker of a speaker by its name, with what hears its answers.
    """

    def __init__(self, speakers: Sequence[str], start: Start) -> None:
        self.changes = 0
        self._known: set[str] = set()
        self._ready: dict[str, tuple[Path, float]] = {}
        # in the supervisor's thread alone, each in order
        self._waiting: deque[str] = deque()
        self._asked: dict[str, None] = {}  # and without an answer yet
        starts = [partial(start, each, self._hear) for each in speakers]
        self._supervisor = Supervisor(starts, lambda: [("render", piece) for piece in self._asked])
        self._last_turn = len(starts) - 1
        self._supervisor.attend()

    def want(self, pieces: Iterable[str]) -> None:
        """Have pieces made ready, in this order; each is asked for once."""
        new = [piece for piece in dict.fromkeys(pieces) if piece not in self._known]
        if new:
            self._known.update(new)
            self._supervisor.post(partial(self._ask, new))

    def length(self, piece: str) -> float | None:
        """Return how long a piece lasts (s); None where it is not ready, and then it is asked for."""
        found = self._ready.get(piece)
        if found is None:
            self.want((piece,))
        return None if found is None else found[1]

    def path(self, piece: str) -> Path:
        """Return the file of a piece that is ready. Raises KeyError for another one."""
        return self._ready[piece][0]

    def trouble(self) -> str | None:
        """Return that the synthesiser had to be given up."""
        turn, trouble = self._supervisor.turn, self._supervisor.trouble
        if trouble is not None and turn == self._last_turn:
            return SILENT
        return FAILED if turn or trouble is not None else None

    def close(self) -> None:
        """Have the worker ended."""
        self._supervisor.close()

    def _ask(self, pieces: Iterable[str]) -> None:
        self._waiting.extend(pieces)
        while self._waiting and len(self._asked) < MOST_ASKED:
            piece = self._waiting.popleft()
            self._asked[piece] = None
            self._supervisor.send("render", piece)

    def _hear(self, answer: Message) -> None:
        match answer:
            case ["rendered", str(piece), str(path), float(length)]:
                self._supervisor.post(partial(self._take, piece, (Path(path), length)))
            case ["rendered", str(piece), None, None]:
                self._supervisor.post(partial(self._take, piece, None))

    def _take(self, piece: str, found: tuple[Path, float] | None) -> None:
        self._asked.pop(piece, None)
        if found is not None:
            self._ready[piece] = found
            self.changes += 1
        self._ask(())


def voice_for(player: str, settings: VoiceSettings, cache: Path) -> tuple[Voice, list[str]]:
    """Return the voice of a session whose player is named so, and what is to be remarked of it.

    Only players of samples can speak. `cache` is the folder where speech is kept between sessions.
    """
    if not settings.on or player in ("bell", "off"):
        return Mute(), []

    def start(speaker: str, hear: Callable[[Message], None]) -> Worker:
        words = (speaker, settings.words_per_minute, settings.volume, cache)
        return Worker("speech synthesiser", command("rendering", *map(str, words)), PATIENCE, hear)

    speakers = speakers_here()
    return WorkerVoice(speakers, start), [NOT_ALL] if speakers[0] == RECORDINGS else []
