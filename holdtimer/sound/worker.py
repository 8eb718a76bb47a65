"""Worker processes for what may hang or crash: playing sounds, making speech. Both sides are here.

Sound libraries write over the screen, hang when a device or its server hangs, hold the interpreter's lock
while they open a device, keep a program from ending, and one of them can crash it. In a process of their own
they can do none of that to a session: that process has no terminal, and no signal from one reaches it.

Orders and answers are lines, each a JSON list with the verb first. A worker answers `well` once it is ready
and whenever it is asked with `ask`, or `trouble` and the reason, and then it ends. It also ends with its
input.
"""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread, Timer
from typing import IO, Any, cast

import holdtimer
from holdtimer.errors import SoundError
from holdtimer.sound.player import Clock, Inbox, steady

ENDING_S = 1.5  # how long a worker may take to end by itself
CLOSING_S = 1.0  # how long it gives itself
CHECK_EVERY_S = 0.5
FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 30.0
SETTLED_S = 30.0  # well for this long: the next trouble is a new one

BOOT = "import sys; sys.path.append(sys.argv[1]); from holdtimer.sound.{} import main; main(*sys.argv[2:])"
NO_WINDOW: int = getattr(subprocess, "CREATE_NO_WINDOW", 0)  # there on Windows alone

Message = Sequence[Any]
"""An order or an answer: its verb, and strings, numbers or None."""


# -- the side of the session -------------------------------------------------------------------------------


def command(module: str, *words: str) -> list[str]:
    """Return the words that run `main` of a module of this room, whatever folder one is in."""
    root = Path(holdtimer.__file__).resolve().parent.parent
    return [sys.executable, "-P", "-X", "utf8", "-c", BOOT.format(module), str(root), *words]


@dataclass(frozen=True, slots=True)
class Patience:
    """How long a worker may take to get ready, and how long it may be silent when asked, in seconds."""

    opening_s: float
    answer_s: float


class Worker:
    """A running process that takes orders; `name` is what it is called in its troubles.

    `hear` gets every answer but `well` and `trouble`, in a thread of the worker's own. Raises SoundError
    when the process can't be started or does not get ready.
    """

    def __init__(
        self, name: str, words: list[str], patience: Patience, hear: Callable[[Message], None] | None = None
    ) -> None:
        self._name = name
        self._patience = patience
        self._hear = hear or (lambda _answer: None)
        self._ready = Event()
        self._trouble: str | None = None
        self._is_asked = False
        self._heard_at = steady()
        try:
            self._process = subprocess.Popen(  # noqa: S603 - our own interpreter, with words of our own
                words,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                encoding="utf-8",
                errors="replace",
                start_new_session=True,
                creationflags=NO_WINDOW,
            )
        except OSError as fault:
            raise SoundError(f"the {name} can't be started: {fault}") from fault
        self._orders = cast("IO[str]", self._process.stdin)
        self._answers = cast("IO[str]", self._process.stdout)
        Thread(target=self._listen, name="holdtimer-answers", daemon=True).start()
        if not self._ready.wait(patience.opening_s):
            self._trouble = f"the {name} does not answer"
        if self._trouble:
            self.end()
            raise SoundError(self._trouble)

    def _listen(self) -> None:
        with self._answers:
            for line in self._answers:
                with suppress(ValueError):
                    self._take(json.loads(line))
        self._trouble = self._trouble or f"the {self._name} has ended"
        self._ready.set()

    def _take(self, answer: Message) -> None:
        self._heard_at = steady()
        match answer:
            case ["well"]:
                self._is_asked = False
                self._ready.set()
            case ["trouble", reason]:
                self._trouble = str(reason)
                self._ready.set()
            case _:
                self._hear(answer)

    def send(self, *order: Any) -> None:
        """Send an order; a process that has ended takes none, which `trouble` shows."""
        with suppress(OSError, ValueError):
            self._orders.write(json.dumps(order) + "\n")
            self._orders.flush()

    def ask(self) -> None:
        """Ask it how it is, unless it still owes an answer."""
        if not self._is_asked:
            self._heard_at = steady()
            self._is_asked = True
            self.send("ask")

    def trouble(self) -> str | None:
        """Return the trouble it has reported, or that it does not answer."""
        if self._trouble is None and self._is_asked and steady() - self._heard_at > self._patience.answer_s:
            return f"the {self._name} does not answer"
        return self._trouble

    def end(self) -> None:
        """Let it end, by force where it does not by itself."""
        with suppress(OSError, ValueError):
            self._orders.close()
        try:
            self._process.wait(ENDING_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Supervisor:
    """Keeps a worker going, and replaces one in trouble, waiting longer each time.

    `starts` start one each and raise SoundError: after trouble the next of them is used at once, and the
    last again and again. A new worker is first sent what `replay` returns. `post` may be called from any
    thread and returns at once; the other methods are for the thread of `attend`, or a test's.
    """

    def __init__(
        self,
        starts: Sequence[Callable[[], Worker]],
        replay: Callable[[], Iterable[Message]],
        clock: Clock = steady,
    ) -> None:
        self.trouble: str | None = None
        """Why there is no worker just now."""
        self.turn = 0
        """Which of the `starts` it has come to."""
        self._starts = starts
        self._replay = replay
        self._clock = clock
        self._worker: Worker | None = None
        self._pause_s = FIRST_PAUSE_S
        self._changed_at = self._next_at = clock()
        self._jobs: Inbox[Callable[[], None] | None] = Inbox()
        self._thread = Thread(target=self._attend, name="holdtimer-supervisor", daemon=True)

    def begin(self) -> None:
        """Start the first worker. Raises SoundError."""
        self._worker = self._starts[self.turn]()
        self._changed_at = self._clock()

    def attend(self) -> None:
        """Do what is posted, and look after the worker, in a thread from now on."""
        self._thread.start()

    def post(self, job: Callable[[], None]) -> None:
        """Do something in the supervisor's thread, after what was posted before."""
        self._jobs.put(job)

    def send(self, *order: Any) -> None:
        """Send an order to the worker, if there is one."""
        if self._worker is not None:
            self._worker.send(*order)

    def check(self) -> None:
        """See how the worker is, and replace it when it is time to. To be called about twice a second."""
        now = self._clock()
        if self._worker is None:
            if now >= self._next_at:
                self._start(now)
        elif trouble := self._worker.trouble():
            self._give_up(trouble, now)
            self.end()
        else:
            self._worker.ask()
            if now - self._changed_at > SETTLED_S:
                self._pause_s = FIRST_PAUSE_S

    def end(self) -> None:
        """Let the worker end."""
        if self._worker is not None:
            self._worker.end()
        self._worker = None

    def close(self, wait_s: float = 0.0) -> None:
        """End the worker and the thread once what was posted is done; wait for it so long at most."""
        self._jobs.put(None)
        if wait_s and self._thread.is_alive():
            self._thread.join(wait_s)

    def _start(self, now: float) -> None:
        try:
            self._worker = self._starts[self.turn]()
        except SoundError as trouble:
            self._give_up(str(trouble), now)
            return
        self.trouble = None
        self._changed_at = now
        for order in self._replay():
            self.send(*order)

    def _give_up(self, trouble: str, now: float) -> None:
        self.trouble = trouble
        self._changed_at = self._next_at = now
        if self.turn + 1 < len(self._starts):
            self.turn += 1
        else:
            self._next_at += self._pause_s
            self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)

    def _attend(self) -> None:
        check_at = steady()
        while True:
            with suppress(Empty):
                job = self._jobs.get(max(0.0, check_at - steady()))
                if job is None:
                    break
                job()
            if steady() >= check_at:
                self.check()
                check_at = steady() + CHECK_EVERY_S
        self.end()


# -- the side of the worker --------------------------------------------------------------------------------


def answer(*words: Any) -> None:
    """Send an answer to the session."""
    print(json.dumps(words), flush=True)


@contextmanager
def working() -> Iterator[None]:
    """Run a worker's whole life: SoundError is its last answer, and the process ends with the block.

    It never returns: a library that hangs at its end can't hold the process.
    """
    try:
        yield
    except SoundError as trouble:
        answer("trouble", str(trouble))
    finally:
        os._exit(0)


def orders(unasked_s: float | None = None) -> Iterator[Message]:
    """Yield the orders until the input ends, or none came for so long; then the process has to end soon.

    Where nobody asks any more the program is stopped or gone, and it would be wrong to go on for it.
    """
    lines: SimpleQueue[str | None] = SimpleQueue()
    Thread(target=_read_into, args=(lines,), daemon=True).start()
    with suppress(Empty):
        while (line := lines.get(timeout=unasked_s)) is not None:
            with suppress(ValueError):
                yield json.loads(line)
    _end_soon()


def _read_into(lines: "SimpleQueue[str | None]") -> None:
    for line in sys.stdin:
        lines.put(line)
    lines.put(None)
    _end_soon()  # here too: the thread that takes the orders may hang


def _end_soon() -> None:
    timer = Timer(CLOSING_S, os._exit, [0])
    timer.daemon = True
    timer.start()


def serve(
    coming: Iterable[Message],
    obey: Callable[[Message], None],
    trouble: Callable[[], str | None] = lambda: None,
    answer: Callable[..., None] = answer,
) -> None:
    """Say that all is well, and do what is ordered until there are no more orders. Raises SoundError.

    `obey` passes over what it does not know; `trouble` is what ends the service when it is asked for.
    """
    answer("well")
    for order in coming:
        if order == ["ask"]:
            if reason := trouble():
                raise SoundError(reason)
            answer("well")
        else:
            obey(order)
