"""holdtimer as it is, but for a note of every order to the process that plays. Started by `recorded`.

    python -m tests.bench.noting NOTES SPEAKER COMMAND ...

Each line of the file NOTES is a JSON list: the time now, the order, when it is due or from when on, and what.
Times are of the machine's steady clock. What speaks is SPEAKER alone.
"""

import json
import sys
from pathlib import Path

from holdtimer.cli import main
from holdtimer.sound import apart, voice_apart
from holdtimer.sound.attendant import Attendant
from holdtimer.sound.player import steady

NOTES, SPEAKER, *WORDS = sys.argv[1:]


def note(order: str, at: float = 0.0, what: str = "") -> None:
    with Path(NOTES).open("a") as file:
        file.write(json.dumps([steady(), order, at, what]) + "\n")


class NotingAttendant(Attendant):
    """Hands on each order, and notes it."""

    def add(self, verb: str, what: str, due: float) -> None:
        note(verb, due, what)
        super().add(verb, what, due)

    def hush(self) -> None:
        note("hush")
        super().hush()

    def forget(self, after: float) -> None:
        note("forget", after)
        super().forget(after)


if __name__ == "__main__":
    apart.Attendant = NotingAttendant
    voice_apart.speakers_here = lambda: (SPEAKER,)
    sys.exit(main(WORDS))
