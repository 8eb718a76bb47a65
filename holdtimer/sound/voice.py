"""The voice of a session: which pieces of speech are ready, and where their files are."""

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from holdtimer.sound.players import how_to_add
from holdtimer.sound.speech import RECORDINGS, speakers_here
from holdtimer.sound.worker import Message, Patience, Supervisor, Worker, command


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """Whether there is a voice, how fast it speaks, and how loud: 0-1 of the sounds."""

    on: bool = True
    words_per_minute: int = 150
    volume: float = 1.0


PATIENCE = Patience(opening_s=12.0, answer_s=12.0)  # a synthesiser that is silent for longer hangs
MOST_ASKED = 20  # at once: what a worker takes in even while it hangs
NOT_ALL = f"voice: numbers and fixed phrases only; for the rest, {how_to_add('voice')}"
FAILED = "voice: the speech synthesiser failed; another voice has taken over"
SILENT = "voice: no voice works here, so nothing is spoken"

Hear = Callable[[Message], None]


class Voice:
    """Has pieces of speech ready. Every method returns at once; but for `path` none raises anything.

    `starts` each start a worker that renders speech, see `rendering`, given what hears its answers; the first
    that works is the one that speaks. Without any the voice is mute.
    """

    def __init__(self, starts: Sequence[Callable[[Hear], Worker]] = ()) -> None:
        self.changes = 0
        """How often a piece became ready so far."""
        self._known: set[str] = set()
        self._ready: dict[str, tuple[Path, float]] = {}
        # in the supervisor's thread alone, each in order
        self._waiting: deque[str] = deque()
        self._asked: dict[str, None] = {}  # and without an answer yet
        self._supervisor = Supervisor(
            [partial(start, self._hear) for start in starts],
            lambda: [("render", piece) for piece in self._asked],
        )
        self._starts = len(starts)
        if starts:
            self._supervisor.attend()

    def want(self, pieces: Iterable[str]) -> None:
        """Ask for pieces, in this order; each is asked for once."""
        new = [piece for piece in dict.fromkeys(pieces) if piece not in self._known]
        if new and self._starts:
            self._known.update(new)
            self._supervisor.post(partial(self._ask, new))

    def length(self, piece: str) -> float | None:
        """Return how long a piece lasts (s); None where it is not ready; then it is asked for."""
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
        if trouble is not None and turn + 1 == self._starts:
            return SILENT
        return FAILED if turn or trouble is not None else None

    def close(self) -> None:
        """End the worker."""
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
    """Return the voice of a session whose player is named so, and what there is to remark on it.

    Only players of samples can speak. `cache` is the folder where speech is kept between sessions.
    """
    if not settings.on or player in ("bell", "off"):
        return Voice(), []

    def start(speaker: str, hear: Hear) -> Worker:
        words = (speaker, settings.words_per_minute, settings.volume, cache)
        return Worker("speech synthesiser", command("rendering", *map(str, words)), PATIENCE, hear)

    speakers = speakers_here()
    voice = Voice([partial(start, speaker) for speaker in speakers])
    return voice, [NOT_ALL] if speakers[0] == RECORDINGS else []
