"""Each sound of a real session, measured in a record of it against the limits for a quiet room. Run by hand:

    python -m tests.bench.bench_tones [--plain]

Needs Linux with PulseAudio. Leads a session without speech in which every sound has its turn, on the full
screen or as plain lines, and records what the sound device was given. Takes about four minutes. How loud a
record is in a room, and against what it is held: see `tests/published/audibility.py`.
"""

import sys
from dataclasses import dataclass
from functools import cache

import numpy as np

from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import Sound
from holdtimer.sound.samples import RATE, read
from holdtimer.sound.speech_planner import SOFT
from tests.bench.bench_sound import start_in
from tests.bench.recorded import BACKSPACE, FOCUS_IN, FOCUS_OUT, HARDER, TAP, Played, Recorded, record
from tests.published.audibility import (
    FARTHEST_M,
    FULL_SCALE,
    HIGHEST_HZ,
    PREFERRED_TALK_DB,
    USUAL_TALK_DB,
    fast_db,
    line_of,
    margin_db,
    share_above,
)

PLAN = {
    "ready 1": [(3.0, TAP)],
    "count-in 1": [(3.0, TAP)],  # not ready
    "rest 1": [(3.0, TAP)],
    "window 1": [(8.4, TAP), (17.0, TAP), (41.2, TAP)],
    "rest 2": [(6.0, HARDER), (12.0, TAP)],
    "window 2": [(9.3, TAP), (10.2, BACKSPACE), (11.0, BACKSPACE), (22.0, FOCUS_OUT), (29.0, FOCUS_IN)],
    "rest 3": [(34.0, TAP)],  # later than the rest is over
    "rest 4": [(8.0, TAP)],
}
MOST_ABOVE = 1e-4  # of the energy, above the highest frequency
MOST_OFF_DB = 0.5
MOST_OFF_MS = 5.0
MOST_LATE_MS = 45.0  # what is to be heard at once waits for the next block of 20 ms, and that for the device


@dataclass(frozen=True)
class Measured:
    """One sound of a record, as far as nothing else was heard with it."""

    played: Played
    late_ms: float
    line: np.ndarray

    @property
    def off_db(self) -> float:
        """How much louder it is than its file."""
        return fast_db(self.line) - fast_db(template(self.played.sound) / FULL_SCALE)

    def is_in_time(self, middle_ms: float) -> bool:
        """Whether it sounds when it was due, where the others are late by `middle_ms`, up to a constant."""
        off_ms = self.late_ms - middle_ms
        return abs(off_ms) < MOST_OFF_MS if self.played.was_ahead else -MOST_OFF_MS < off_ms < MOST_LATE_MS


@cache
def template(sound: Sound) -> np.ndarray:
    return np.array(read(sound, sounds_folder()), dtype=float)


def measured(heard: Recorded) -> list[Measured]:
    """Find each sound that is heard by itself where it is in the record."""
    every = [*heard.sounds, *heard.pieces]
    alone = [
        each
        for each in heard.sounds
        if not any(other.start < each.end and each.start < other.end for other in every if other is not each)
    ]
    found = []
    for each in alone:
        samples = template(each.sound)
        late_ms = start_in(heard.samples, heard.begin, each.start, samples)
        first = round((each.start - heard.begin + late_ms / 1000) * RATE)
        found.append(Measured(each, late_ms, line_of(heard.samples[first : first + len(samples)])))
    return found


def tell(found: list[Measured]) -> list[str]:
    """Print what was measured of each sound; return what is wrong."""
    ahead = [each.late_ms for each in found if each.played.was_ahead]
    middle_ms = float(np.median(ahead))
    wrong = []
    print(f"margins {FARTHEST_M:g} m from a loudspeaker at which speech has {USUAL_TALK_DB:g} dB(A) at 1 m,")
    print(
        f"and {PREFERRED_TALK_DB:g}; the most each is off its file and its time; share above {HIGHEST_HZ} Hz"
    )
    for sound in Sound:
        every = [each for each in found if each.played.sound is sound]
        wrong += _told(sound, every, middle_ms) if every else [f"{sound} was never heard by itself"]
    return wrong


def _told(sound: Sound, every: list[Measured], middle_ms: float) -> list[str]:
    margin, preferred = (
        min(margin_db(each.line, talk) for each in every) for talk in (USUAL_TALK_DB, PREFERRED_TALK_DB)
    )
    off_db = max((each.off_db for each in every), key=abs)
    off_ms = max((each.late_ms - middle_ms for each in every), key=abs)
    above = max(share_above(each.line) for each in every)
    print(
        f"{sound:14} {len(every):3} heard: {margin:+5.1f} dB {preferred:+5.1f} dB, "
        f"level {off_db:+.2f} dB, time {off_ms:+6.2f} ms, above {above:.0e}"
    )
    faults = {
        "is too soft": margin < 0 or (preferred < 0 and sound not in SOFT),
        "is too high": above > MOST_ABOVE,
        "is not as loud as its file": abs(off_db) > MOST_OFF_DB,
        "is not heard when it is due": not all(each.is_in_time(middle_ms) for each in every),
    }
    return [f"{sound} {fault}" for fault, is_so in faults.items() if is_so]


def main(is_plain: bool) -> int:
    heard = record(PLAN, None, is_plain)
    print(f"the record: {heard.save()}")
    wrong = tell(measured(heard))
    print("all as it should be" if not wrong else f"WRONG: {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main("--plain" in sys.argv[1:]))
