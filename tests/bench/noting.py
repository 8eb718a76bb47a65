"""holdtimer as it is, but for a note of every order to the worker that plays. Started by `recorded`.

    python -m tests.bench.noting NOTES SPEAKER COMMAND ...

Each line of the file NOTES is a JSON list: the time now, the order, when it is due or from when on, and what.
Times are of the machine's steady clock. What speaks is SPEAKER alone.
"""

import json
import sys
from pathlib import Path
from typing import Any

from holdtimer.cli import main
from holdtimer.sound import players, voice
from holdtimer.sound.player import steady
from holdtimer.sound.worker import Supervisor

NOTES, SPEAKER, *WORDS = sys.argv[1:]


def note(order: str, at: float = 0.0, what: str = "") -> None:
    with Path(NOTES).open("a") as file:
        file.write(json.dumps([steady(), order, at, what]) + "\n")


class NotingSupervisor(Supervisor):
    """Hands on each order, and notes it."""

    def send(self, *order: Any) -> None:
        match order:
            case ["schedule" | "say" as verb, what, due]:
                note(verb, due, what)
            case ["hush"]:
                note("hush")
            case ["withdraw", after]:
                note("withdraw", after)
        super().send(*order)


if __name__ == "__main__":
    players.Supervisor = NotingSupervisor
    voice.speakers_here = lambda: (SPEAKER,)
    sys.exit(main(WORDS))
