"""What a terminal can do to a session: stall, close, trickle, resize, stop it, send bytes that are no keys.

Run by hand: `python -m tests.bench.bench_stalled [NAME ...]` (all when left out: about a quarter of an hour).
Every run is a real session in a terminal of its own, in plain lines and on the full screen. Printed are how
many of the taps are in the log and how late at most, the exit code and after how long it came once asked for
(Ctrl+Q, where nothing else ends it), the last event of the log, whether the terminal is set as before, and
the CPU time up to the end, and before the first tap.
"""

import contextlib
import fcntl
import os
import select
import signal
import struct
import sys
import tempfile
import termios
import threading
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench.bench_stamps import Session

APART_S = 2.25  # taps: more than the guards
PATIENCE_S = 10.0
SLOW = 2048  # bytes a second
HOSTILE = {
    "bytes that are no text": b"\xff\xfe\xc3\x28",
    "the first byte of a letter": b"\xc3",
    "an old report of the pointer": b"\x1b[M \xf0\xf1",
    "a button that goes up": b"\x1b[M#\xf0\xf1",
    "a key beyond Unicode": b"\x1b[9999999u",
    "a surrogate": b"\x1b[55296u",
    "an unfinished paste": b"\x1b[200~some text",
    "a paste of 100 kB": b"\x1b[200~" + b"x " * 50_000 + b"\x1b[201~",
    "a report of 10 kB": b"\x1b[" + b"1;" * 5000 + b"u",
    "5,000 reports of the pointer": b"\x1b[<35;10;10M" * 5000,
    "an unfinished command": b"\x1b]52;c;" + b"A" * 3000,
    "20 kB typed at once": b"abc " * 5000,
}


class Stalling(Session):
    """A session whose terminal reads its output as fast as it is told to."""

    def __init__(self, folder: Path, plain: bool) -> None:
        self.rate: float | None = None  # bytes a second; None as they come
        self.is_open = True
        super().__init__(folder, plain)
        self.settings = termios.tcgetattr(self._master)
        self.taps: list[float] = []
        self.asked_at = 0.0

    def _read(self) -> None:
        with contextlib.suppress(OSError):
            while self.is_open:
                if self.rate == 0 or not select.select([self._master], [], [], 0.02)[0]:
                    time.sleep(0.02)
                    continue
                most = 65536 if self.rate is None else int(self.rate / 10)
                self._seen += os.read(self._master, most)
                if self.rate is not None:
                    time.sleep(0.1)

    def tap(self, count: int) -> None:
        """Tap so many times."""
        for _ in range(count):
            self.taps.append(self.press())
            time.sleep(APART_S)

    def send(self, data: bytes) -> None:
        """Send bytes as a terminal does, however long they are."""
        while data:
            select.select([], [self._master], [])
            data = data[os.write(self._master, data[:1000]) :]

    def signal(self, number: int) -> None:
        """Send a signal; an exit is timed from here on."""
        self.asked_at = time.monotonic()
        os.kill(self.pid, number)

    def size(self, rows: int, columns: int) -> None:
        """Give the terminal another size."""
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def close_terminal(self) -> None:
        """Close it, as when its window is closed."""
        self.is_open = False
        time.sleep(0.1)
        self.asked_at = time.monotonic()
        os.close(self._master)

    def cpu(self) -> float:
        """Return the CPU time so far (s)."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def outcome(self) -> str:
        """Wait for the end, and return all figures in words."""
        cpu = self.cpu()
        if not self.asked_at:
            self.asked_at = time.monotonic()
            self.send(b"\x11")
        while (ended := os.waitpid(self.pid, os.WNOHANG))[0] == 0:
            if time.monotonic() - self.asked_at > PATIENCE_S:
                os.kill(self.pid, signal.SIGKILL)
                os.waitpid(self.pid, 0)
                return f"STILL RUNNING; cpu {cpu:.1f} s"
            time.sleep(0.005)
        took = time.monotonic() - self.asked_at
        settings = self._settings_words()
        last = self.events()[-1]["ev"] if self.events() else "nothing"
        code = os.waitstatus_to_exitcode(ended[1])
        return f"{self._taps_words()}; exit {code} after {took:.2f} s; {last}{settings}; cpu {cpu:.1f} s"

    def _settings_words(self) -> str:
        if not self.is_open:
            return ""
        return "; set as before" if termios.tcgetattr(self._master) == self.settings else "; LEFT RAW"

    def _taps_words(self) -> str:
        events = self.events()
        began = float(str(events[0]["mono_ns"])) / 1e9
        stamps = [began + float(str(e["t"])) for e in events if e["ev"] in ("failure", "re-entry")]
        late = [min((abs(stamp - at) for stamp in stamps), default=9.0) for at in self.taps]
        found = [each for each in late if each < APART_S / 2]
        return f"{len(found)} of {len(self.taps)} taps, within {max(found, default=0) * 1000:.1f} ms"


def stalled(session: Stalling) -> None:
    """Read nothing for 20 s, then terminate."""
    session.rate = 0
    for _ in range(400):  # lines enough to fill it
        session.send(b"?")
        time.sleep(0.01)
    session.tap(8)
    session.signal(signal.SIGTERM)


def closed(session: Stalling) -> None:
    """Close the terminal while nothing is read."""
    session.rate = 0
    session.tap(2)
    session.close_terminal()


def hung_up(session: Stalling) -> None:
    """Send SIGHUP while nothing is read."""
    session.rate = 0
    session.tap(2)
    session.signal(signal.SIGHUP)


def trickling(session: Stalling) -> None:
    """Read 2 kB a second."""
    session.rate = SLOW
    session.tap(8)


def resized(session: Stalling) -> None:
    """Change the size 400 times amid taps, down to 1 x 1."""
    enough = threading.Event()

    def storm() -> None:
        for n in range(400):
            session.size(*((1, 1), (60, 200), (24, 80), (3, 400))[n % 4])
            if enough.wait(0.02):
                return

    thread = threading.Thread(target=storm)
    thread.start()
    session.tap(4)
    enough.set()
    thread.join()
    session.size(60, 200)


def stopped(session: Stalling) -> None:
    """Stop it and let it go on, twice; the shell sets the terminal for itself meanwhile."""
    for number in (signal.SIGSTOP, signal.SIGTSTP):
        session.signal(number)
        time.sleep(0.5)
        termios.tcsetattr(session._master, termios.TCSANOW, session.settings)
        time.sleep(3)
        session.signal(signal.SIGCONT)
        time.sleep(1)
    session.asked_at = 0.0


def _sent(data: bytes) -> Callable[[Stalling], None]:
    def play(session: Stalling) -> None:
        session.tap(1)
        session.send(data)
        time.sleep(4)
        session.tap(3)

    return play


SCENES: dict[str, Callable[[Stalling], None]] = {
    "stalled": stalled,
    "closed": closed,
    "hung-up": hung_up,
    "trickling": trickling,
    "resized": resized,
    "stopped": stopped,
    **{name: _sent(data) for name, data in HOSTILE.items()},
}


def main() -> None:
    """Play every scene, or those named, in both places."""
    for name in sys.argv[1:] or SCENES:
        for plain in (True, False):
            with tempfile.TemporaryDirectory() as folder:
                session = Stalling(Path(folder), plain)
                session.begin()
                session.wait_for("window-open")
                time.sleep(1)
                cpu = session.cpu()
                SCENES[name](session)
                said = session.outcome()
            print(f"{name}, {'plain' if plain else 'full screen'}: {said} ({cpu:.1f} s before)", flush=True)


if __name__ == "__main__":
    main()
