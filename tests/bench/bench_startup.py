"""Time to the first painted frame beside an empty Textual app, and to the end of the small commands.

Run by hand: `python -m tests.bench.bench_startup [ROUNDS]`. Both are started in turns in terminals of their
own; a frame is painted when text stands in the terminal.
"""

import contextlib
import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

GOAL = 1.3

EMPTY = """\
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("painted")
Empty().run()
"""


def until_painted(command: list[str], mark: bytes, env: dict[str, str]) -> float:
    """Start a command in a terminal and return the seconds until the mark stands in it."""
    began = time.monotonic()
    pid, master = pty.fork()
    if pid == 0:
        os.execve(command[0], command, env)
    fcntl.ioctl(master, termios.TIOCSWINSZ, struct.pack("HHHH", 60, 200, 0, 0))
    output = b""
    try:
        while mark not in output:
            ready, _, _ = select.select([master], [], [], 30)
            if not ready:
                raise TimeoutError(f"{mark!r} was not painted: {output[-500:]!r}")
            output += os.read(master, 65536)
        return time.monotonic() - began
    finally:
        os.kill(pid, 9)
        os.waitpid(pid, 0)
        os.close(master)


def until_ended(command: list[str], env: dict[str, str]) -> float:
    """Return the seconds a command takes."""
    began = time.monotonic()
    subprocess.run(command, env=env, capture_output=True, check=True)
    return time.monotonic() - began


def main() -> None:
    """Print medians and the ratio."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    with tempfile.TemporaryDirectory() as folder:
        env = os.environ | {
            "TERM": "xterm-256color",
            "HOLDTIMER_DATA": str(Path(folder, "data")),
            "HOLDTIMER_CONFIG": str(Path(folder, "config.toml")),
        }
        ours = [sys.executable, "-m", "holdtimer", "run", "chair-and-counter", "--sound", "off"]
        empty = [sys.executable, "-c", EMPTY]
        ours_s, empty_s, page_s = [], [], []
        for _ in range(rounds):
            empty_s.append(until_painted(empty, b"painted", env))
            ours_s.append(until_painted(ours, b"holdtimer", env))
            page_s.append(until_painted(ours, b"next page", env))
        ratio = statistics.median(ours_s) / statistics.median(empty_s)
        print(f"empty app   median {statistics.median(empty_s):.3f} s  best {min(empty_s):.3f} s")
        print(f"holdtimer   median {statistics.median(ours_s):.3f} s  best {min(ours_s):.3f} s")
        print(f"first page  median {statistics.median(page_s):.3f} s  best {min(page_s):.3f} s")
        print(f"ratio       {ratio:.2f} (goal {GOAL})")
        with contextlib.suppress(subprocess.CalledProcessError):
            for args in (["--help"], ["check", "floor"], ["show"]):
                command = [sys.executable, "-m", "holdtimer", *args]
                taken = [until_ended(command, env) for _ in range(rounds)]
                print(f"{' '.join(args):<12}median {statistics.median(taken):.3f} s  best {min(taken):.3f} s")


if __name__ == "__main__":
    main()
