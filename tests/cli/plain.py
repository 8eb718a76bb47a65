"""A plain run in a process of its own, and the program it runs."""

import json
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import dataclass

HALL = """\
format = 1
id = "hall"
title = "Village hall"

[defaults]
window_s = 60
band_s = [30, 60]
final_s = 20
count_in_s = 3
rest_s = 0

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = ["high", "half way", "low"]
start = "half way"

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}]
"""


@dataclass
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)


WATCHED_S = 40.0  # a run that answers no more is killed then


class Plain:
    """A plain run in a process of its own, led through pipes."""

    def __init__(self, *args, code=None, prepare=None):
        program = ["-c", code] if code else ["-m", "holdtimer"]
        self.process = subprocess.Popen(
            [sys.executable, *program, *map(str, args)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            preexec_fn=prepare,
        )
        self.lines = []
        self._watch = threading.Timer(WATCHED_S, self.process.kill)
        self._watch.daemon = True
        self._watch.start()

    def until(self, part):
        """Read lines until one has this in it, and return that one."""
        for line in self.process.stdout:
            self.lines.append(line.decode().rstrip("\n"))
            if part in self.lines[-1]:
                return self.lines[-1]
        raise AssertionError(f"{part!r} is not in {self.lines}, {self.process.stderr.read()}")

    def press(self, keys=b" "):
        self.process.stdin.write(keys)
        self.process.stdin.flush()

    def end(self, closes_input=False):
        """Return how it ended."""
        if closes_input:
            self.process.stdin.close()
        self.lines += self.process.stdout.read().decode().splitlines()
        err = self.process.stderr.read().decode()
        self._watch.cancel()
        return Said(self.process.wait(), "\n".join(self.lines), err)

    def let_go(self):
        self._watch.cancel()
        self.process.kill()
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            with suppress(BrokenPipeError):
                stream.close()
        self.process.wait()
