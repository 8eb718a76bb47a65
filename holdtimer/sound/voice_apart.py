"""A voice whose synthesiser runs in a process of its own, where it can hang or crash and harm nothing."""

import json
import subprocess
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread
from typing import IO, cast

from holdtimer.sound.helper import command, started
from holdtimer.sound.player import Clock, steady
from holdtimer.sound.speech import NOT_ALL, RECORDINGS, speakers_here
from holdtimer.sound.voice import Mute, Voice, VoiceSettings

PATIENCE_S = 12.0  # a synthesiser that answers nothing for this long hangs
CHECK_EVERY_S = 0.5
ENDING_S = 1.5
MOST_ASKED = 20  # at once: what a process takes in even while it hangs
FAILED = "voice: the speech synthesiser fails, so that another voice speaks"
SILENT = "voice: nothing can be spoken"

Process = subprocess.Popen[str]
Start = Callable[[str], Process]


class VoiceApart:
    """Speaks with the first of the `speakers` that answers; `start` starts the process of one by its name."""

    def __init__(self, speakers: Sequence[str], start: Start, clock: Clock = steady) -> None:
        self.changes = 0
        self._clock = clock
        self._speakers = speakers
        self._start = start
        self._ready: dict[str, tuple[Path, float]] = {}
        self._asked: dict[str, None] = {}  # in order, and without an answer yet
        self._known: set[str] = set()
        self._orders: SimpleQueue[str | None] = SimpleQueue()
        self._trouble: str | None = None
        self._heard_at = 0.0
        self._answered = Event()
        Thread(target=self._attend, name="holdtimer-voice", daemon=True).start()

    def want(self, pieces: Iterable[str]) -> None:
        """Have pieces made ready, in this order; each is asked for once."""
        for piece in pieces:
            if piece not in self._known:
                self._known.add(piece)
                self._orders.put(piece)

    def length(self, piece: str) -> float | None:
        """Return how long a piece lasts (s); None where it is not ready, and then it is wanted."""
        found = self._ready.get(piece)
        if found is None:
            self.want((piece,))
        return None if found is None else found[1]

    def path(self, piece: str) -> Path:
        """Return the file of a piece that is ready. Raises KeyError for another one."""
        return self._ready[piece][0]

    def trouble(self) -> str | None:
        """Return that the synthesiser had to be given up."""
        return self._trouble

    def close(self) -> None:
        """Have the process ended."""
        self._orders.put(None)

    # -- in a thread of its own --------------------------------------------------------------------------

    def _attend(self) -> None:
        """Serve with one speaker after the other, until there is no more to do."""
        for speaker in self._speakers:
            with suppress(OSError):
                process = self._start(speaker)
                is_closed = self._serve(process)
                _end(process)
                if is_closed:
                    return
            self._trouble = FAILED
        self._trouble = SILENT

    def _serve(self, process: Process) -> bool:
        """Send texts and take answers; return whether the voice is closed, and not the process in trouble."""
        Thread(target=self._listen, args=(process,), name="holdtimer-voice-answers", daemon=True).start()
        self._heard_at = self._clock()
        for piece in tuple(self._asked):
            _send(process, piece)
        while process.poll() is None and not self._hangs():
            if len(self._asked) >= MOST_ASKED:
                self._answered.clear()
                self._answered.wait(CHECK_EVERY_S)
                continue
            try:
                order = self._orders.get(timeout=CHECK_EVERY_S)
            except Empty:
                continue
            if order is None:
                return True
            self._ask(process, order)
        return False

    def _hangs(self) -> bool:
        return bool(self._asked) and self._clock() - self._heard_at > PATIENCE_S

    def _ask(self, process: Process, piece: str) -> None:
        if not self._asked:
            self._heard_at = self._clock()
        self._asked[piece] = None
        _send(process, piece)

    def _listen(self, process: Process) -> None:
        answers = cast("IO[str]", process.stdout)
        with answers, suppress(ValueError):
            for line in answers:
                text, path, length = json.loads(line)
                self._heard_at = self._clock()
                self._asked.pop(text, None)
                if path is not None:
                    self._ready[text] = (Path(path), float(length))
                    self.changes += 1
                self._answered.set()


def _send(process: Process, piece: str) -> None:
    with suppress(OSError, ValueError):
        orders = cast("IO[str]", process.stdin)
        orders.write(json.dumps(piece) + "\n")
        orders.flush()


def _end(process: Process) -> None:
    """Let a process end, by force where it does not by itself."""
    with suppress(OSError, ValueError):
        cast("IO[str]", process.stdin).close()
    try:
        process.wait(ENDING_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def voice_for(player: str, settings: VoiceSettings, cache: Path) -> tuple[Voice, list[str]]:
    """Return the voice of a session whose player is named so, and what is to be remarked of it.

    Only players of samples can speak. `cache` is the folder where speech is kept between sessions.
    """
    if not settings.on or player in ("bell", "off"):
        return Mute(), []
    speakers = speakers_here()

    def start(speaker: str) -> Process:
        words = (speaker, settings.words_per_minute, settings.volume, cache)
        return started(command("rendering", *map(str, words)))

    return VoiceApart(speakers, start), [NOT_ALL] if speakers[0] == RECORDINGS else []
