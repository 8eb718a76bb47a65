"""The near end of a process that plays: what it is sent, and what it answers."""

import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from threading import Event, Thread
from typing import IO, cast

import holdtimer
from holdtimer.errors import SoundError
from holdtimer.sound.player import steady

OPENING_S = 3.0  # how long a device may take to open
ANSWER_S = 2.0  # how long an answer may take
ENDING_S = 1.5  # how long it may take to end by itself

BOOT = "import sys; sys.path.append(sys.argv[1]); from holdtimer.sound.{} import main; main(*sys.argv[2:])"

if sys.platform == "win32":
    NO_WINDOW = subprocess.CREATE_NO_WINDOW
else:
    NO_WINDOW = 0


def command(module: str, *words: str) -> list[str]:
    """Return how to run the `main` of a module of this room in a process, whatever folder one is in."""
    root = Path(holdtimer.__file__).resolve().parent.parent
    return [sys.executable, "-P", "-X", "utf8", "-c", BOOT.format(module), str(root), *words]


def started(words: list[str]) -> subprocess.Popen[str]:
    """Start a process to talk to line by line, out of reach of the terminal. Raises OSError."""
    return subprocess.Popen(  # noqa: S603 - our own interpreter, with words of our own
        words,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        errors="replace",
        start_new_session=True,
        creationflags=NO_WINDOW,
    )


class Helper:
    """A running process that plays.

    Nothing a sound library writes reaches the terminal, and no signal from the terminal reaches the library:
    the process has neither. Raises SoundError when it can't be started or does not get its device.
    """

    def __init__(self, words: list[str]) -> None:
        try:
            self._process = started(words)
        except OSError as fault:
            raise SoundError(f"the process that plays can't be started: {fault}") from fault
        self._orders = cast("IO[str]", self._process.stdin)
        self._answers = cast("IO[str]", self._process.stdout)
        self._heard = Event()
        self._answer = ""
        self._asked: float | None = None
        Thread(target=self._listen, name="holdtimer-sound-answers", daemon=True).start()
        self._await_first_answer()

    def _await_first_answer(self) -> None:
        if not self._heard.wait(OPENING_S):
            self._answer = "trouble the sound device does not answer"
        if trouble := self.trouble():
            self.end()
            raise SoundError(trouble)

    def _listen(self) -> None:
        """Keep the newest answer; at the end of the answers the process has ended."""
        with self._answers:
            for line in self._answers:
                self._hear(line.strip())
        if not self._answer.startswith("trouble"):
            self._hear("trouble the process that plays has ended")

    def _hear(self, answer: str) -> None:
        self._answer = answer
        self._asked = None
        self._heard.set()

    def send(self, order: str) -> None:
        """Send an order; a process that has ended takes none, which `trouble` tells."""
        with suppress(OSError, ValueError):
            self._orders.write(order + "\n")
            self._orders.flush()

    def ask(self) -> None:
        """Ask it how it is."""
        self._asked = self._asked or steady()
        self.send("ask")

    def trouble(self) -> str | None:
        """Return what it last told of trouble, or that it does not answer."""
        if self._answer.startswith("trouble "):
            return self._answer.removeprefix("trouble ")
        asked = self._asked
        return "the sound player does not answer" if asked and steady() - asked > ANSWER_S else None

    def end(self) -> None:
        """Let it end, by force where it does not by itself."""
        with suppress(OSError):
            self._orders.close()
        try:
            self._process.wait(ENDING_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
