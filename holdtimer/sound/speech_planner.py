"""Finds the room for speech between the sounds, so that nothing is ever said over a sound that matters.

A saying waits until a sound is over, takes a shorter wording where the next one comes too soon, or is left
out. Two are never said at once. What is counted is said on its very second, and in place of the ticks; the
soft sounds, breathing and rhythm, give way to what can't be said between them.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from holdtimer.session.events import round_time
from holdtimer.sound.announcements import Saying, Weight
from holdtimer.sound.cues import Cue
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.phrases import Pieces

GAP_S = 0.12  # between a sound and speech
PAUSE_S = 0.30  # between two sayings
JOINT_S = 0.04  # between the pieces of one
SOFT = frozenset({Sound.BREATHE, Sound.LOWER, Sound.LIFT, Sound.PAUSE})
"""The sounds that give way to all speech."""
MARKS = frozenset({Sound.BAND, Sound.FINAL_STRETCH, Sound.LAST_TEN, Sound.TICK})
"""The sounds that give way to the way out: who has failed must get out, and hears how far it is later."""

Length = Callable[[str], float | None]
"""How long a piece lasts in real seconds; None where the voice does not have it."""
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Spoken:
    """A saying with its place: from `start` to `end` (s of the session) in these pieces, each at its time."""

    saying: Saying
    start: float
    end: float
    pieces: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What is heard: the cues that are left, and what is said, in order of time."""

    cues: tuple[Cue, ...]
    spoken: tuple[Spoken, ...]


class Planner:
    """Plans at `speed` times real time; `length` tells how long a piece of speech lasts."""

    def __init__(self, length: Length, speed: float = 1.0) -> None:
        self._length = length
        self._speed = speed

    def plan(
        self, cues: Iterable[Cue], sayings: Iterable[Saying], now: float, begun: Sequence[Spoken] = ()
    ) -> Plan:
        """Return the plan from `now` (s) on; what has `begun` is still being said."""
        every = tuple(cues)
        placed: list[Spoken] = []
        not_before = dict.fromkeys(Weight, now)
        for saying in sorted(sayings, key=lambda each: (each.weight, each.at)):
            room = self._room(every, (*begun, *placed), saying.weight, now)
            found = self._placed(saying, room, max(saying.at, not_before[saying.weight]))
            if found is not None:
                placed.append(found)
                not_before[saying.weight] = found.end
        said = (*begun, *placed)
        kept = tuple(cue for cue in every if not self._gives_way(cue, said))
        return Plan(kept, tuple(sorted(placed, key=lambda each: each.start)))

    def runs_into(self, spoken: Spoken, cues: Iterable[Cue]) -> bool:
        """Whether something said runs into a later cue that does not give way to it."""
        later = (cue for cue in cues if cue.at > spoken.start and not yields(cue.sound, spoken.saying.weight))
        return any(_meets(self._span(cue), _span_of(spoken)) for cue in later)

    def _gives_way(self, cue: Cue, said: Iterable[Spoken]) -> bool:
        weights = (each.saying.weight for each in said if _meets(self._span(cue), _span_of(each)))
        return any(yields(cue.sound, weight) for weight in weights)

    def _room(self, cues: Iterable[Cue], spoken: Iterable[Spoken], weight: Weight, now: float) -> "_Room":
        """Return what is taken for a saying of this weight; what has begun to sound gives way no more."""
        gap, pause = self._speed * GAP_S, self._speed * PAUSE_S
        room = _Room([_wider(_span_of(each), pause) for each in spoken], [])
        for cue in cues:
            is_firm = cue.at <= now or not yields(cue.sound, weight)
            (room.taken if is_firm else room.yielding).append(_wider(self._span(cue), gap))
        return room

    def _placed(self, saying: Saying, room: "_Room", earliest: float) -> Spoken | None:
        """Return where a saying goes: its best wording that fits, between the sounds that yield if it can."""
        is_gentle = saying.weight not in (Weight.WAY_OUT, Weight.COUNTED)
        for way in saying.ways:
            lying = self._laid(saying, way, 0.0)
            if lying is None:
                continue
            for blocks in (room.taken + room.yielding, room.taken) if is_gentle else (room.taken,):
                start = first_free(blocks, earliest, saying.until, lying.end)
                if start is not None:
                    return self._laid(saying, way, start)
        return None

    def _laid(self, saying: Saying, way: Pieces, start: float) -> Spoken | None:
        """Lay the pieces of one wording one after another; None where the voice lacks one."""
        at, pieces = start, []
        for piece in way:
            length = self._length(piece)
            if length is None:
                return None
            pieces.append((piece, round_time(at)))
            at += self._speed * (length + JOINT_S)
        return Spoken(saying, round_time(start), round_time(at - self._speed * JOINT_S), tuple(pieces))

    def _span(self, cue: Cue) -> Span:
        return cue.at, cue.at + self._speed * PATTERNS[cue.sound].length_s


@dataclass(frozen=True, slots=True)
class _Room:
    """What is taken, and what would give way."""

    taken: list[Span]
    yielding: list[Span]


def yields(sound: Sound, weight: Weight) -> bool:
    """Whether a sound is left out where something of this weight is said."""
    if weight is Weight.WAY_OUT:
        return sound in SOFT or sound in MARKS
    return sound in SOFT or (weight is Weight.COUNTED and sound is Sound.TICK)


def first_free(blocks: Iterable[Span], earliest: float, until: float, length: float) -> float | None:
    """Return the first time from `earliest` to `until` with nothing in the way for so long, or None."""
    start = earliest
    for low, high in sorted(blocks):
        if low >= start + length:
            break
        start = max(start, high)
    return round_time(start) if start <= until else None


def _wider(span: Span, by: float) -> Span:
    return span[0] - by, span[1] + by


def _span_of(spoken: Spoken) -> Span:
    return spoken.start, spoken.end


def _meets(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]
