"""How soon a boundary is settled and seen: the opening and the close of each window, in lines and on screen.

Run by hand: `python -m tests.bench.bench_boundaries [WINDOWS]` (4 when left out: about two minutes in all).
Every run is a real session in a terminal of its own. Delays are from the time of the boundary, by the steady
clock that line 0 is tied to: settled when its line is in the log, seen with the first output after that.
"""

import os
import re
import select
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.bench_stamps import PROGRAM, Session

AIM_S = 0.050
BOUNDARIES = ("window-open", "window-closed")


class Timed(Session):
    """A session that remembers when each piece of its output came."""

    def _read(self) -> None:
        self.pieces: list[float] = []
        while True:
            try:
                select.select([self._master], [], [])
                self._seen += os.read(self._master, 65536)
                self.pieces.append(time.monotonic())
            except OSError:
                return

    def logged(self, name: str, count: int) -> tuple[float, float]:
        """Return when the boundary of a name was for the `count`-th time, and when it was in the log."""
        (file,) = self.data.rglob("*.jsonl")
        while file.read_bytes().count(b'"ev":"%s"' % name.encode()) < count:
            time.sleep(0.001)
        at = time.monotonic()
        events = self.events()
        began = float(str(events[0]["mono_ns"])) / 1e9
        return began + float(str([e["t"] for e in events if e["ev"] == name][count - 1])), at

    def seen_after(self, at: float) -> float:
        """Return when the first output after `at` came."""
        while not (later := [piece for piece in self.pieces if piece >= at]):
            time.sleep(0.01)
        return later[0]


def delays(plain: bool, windows: int) -> dict[str, list[tuple[float, float]]]:
    """Return how late (s) the boundaries of one session were settled and seen, by event."""
    steps = ", ".join(['{exercise = "wall-sit"}'] * windows)
    program = PROGRAM.replace("window_s = 600", "window_s = 10").replace("[300, 600]", "[6, 10]")
    program = program.replace("count_in_s = 3", 'count_in_s = 3\nrest_s = 3\nadvance = "auto"\nfinal_s = 3')
    program = re.sub(r"steps = .*", f"steps = [{steps}]", program)
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in BOUNDARIES}
    with tempfile.TemporaryDirectory() as folder:
        session = Timed(Path(folder), plain, program)
        try:
            session.begin()
            for n in range(1, windows + 1):
                for name in BOUNDARIES:
                    boundary, logged = session.logged(name, n)
                    found[name].append((logged - boundary, session.seen_after(boundary) - boundary))
                    if name == "window-open":
                        session.press()
        finally:
            session.end()
    return found


def main() -> None:
    """Print the median and the largest delay of each kind, in milliseconds."""
    windows = int(sys.argv[1]) if len(sys.argv) > 1 else 4
    print(f"{windows} windows each; aim: all within {AIM_S * 1000:g} ms")
    for plain in (True, False):
        for name, late in delays(plain, windows).items():
            for what, index in (("settled", 0), ("seen", 1)):
                ms = sorted(1000 * each[index] for each in late)
                where = "plain" if plain else "full screen"
                print(
                    f"{where:<12} {name:<14} {what:<8} median {ms[len(ms) // 2]:6.1f}  max {ms[-1]:6.1f} ms"
                )


if __name__ == "__main__":
    main()
