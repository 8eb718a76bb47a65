"""Finds the room for speech between the sounds, so that nothing is ever said over a sound that matters.

A saying waits until a sound is over, takes a shorter wording where the next one comes too soon, or is left
out. Two are never said at once. What is counted is said on its very second, and in place of the ticks; the
soft sounds, breathing and rhythm, give way to what can't be said between them.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from holdtimer.session.events import exact
from holdtimer.sound.cues import Cue
from holdtimer.sound.names import Sound
from holdtimer.sound.patterns import PATTERNS
from holdtimer.sound.phrases import Pieces
from holdtimer.sound.sayings import Saying, Weight

GAP_S = 0.12  # between a sound and speech
PAUSE_S = 0.30  # between two sayings
JOINT_S = 0.04  # between the pieces of one
SOFT = frozenset({Sound.BREATHE, Sound.LOWER, Sound.LIFT, Sound.PAUSE})
"""The sounds that give way to speech."""

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
        every = list(cues)
        room = _Room([self._span(cue) for cue in every if _must_be_heard(cue, now)])
        room.yielding = [self._span(cue) for cue in every if cue.sound in SOFT and cue.at > now]
        room.spoken = [_span_of(each) for each in begun]
        order = sorted(sayings, key=lambda each: (each.weight, each.at))
        placed = self._counted(order, room, now)
        words = [_span_of(each) for each in (*begun, *placed)]
        ticks = [self._span(cue) for cue in every if cue.sound is Sound.TICK]
        room.taken += [tick for tick in ticks if not _meets_any(tick, words)]
        placed += self._in_turn(order, room, now)
        said = [_span_of(each) for each in (*begun, *placed)]
        kept = [cue for cue in every if not (_gives_way(cue) and _meets_any(self._span(cue), said))]
        return Plan(tuple(kept), tuple(sorted(placed, key=lambda each: each.start)))

    def runs_into(self, spoken: Spoken, cues: Iterable[Cue]) -> bool:
        """Whether something said runs into a later cue that must be heard."""
        spans = (self._span(cue) for cue in cues if cue.sound not in SOFT and cue.at > spoken.start)
        return any(_meets(span, _span_of(spoken)) for span in spans)

    def _counted(self, order: list[Saying], room: "_Room", now: float) -> list[Spoken]:
        """Place what is counted on its very second, where there is room for it."""
        placed = []
        for saying in (each for each in order if each.weight is Weight.COUNTED and each.at >= now):
            lying = [self._laid(saying, way, saying.at) for way in saying.ways]
            found = next((each for each in lying if each and room.is_free(each, self._speed)), None)
            if found is not None:
                placed.append(found)
                room.spoken.append(_span_of(found))
        return placed

    def _in_turn(self, order: list[Saying], room: "_Room", now: float) -> list[Spoken]:
        """Place the others where there is room, the weighty first, each weight in its own order."""
        placed = []
        not_before = dict.fromkeys(Weight, now)
        for saying in (each for each in order if each.weight is not Weight.COUNTED):
            found = self._placed(saying, room, max(saying.at, not_before[saying.weight]))
            if found is not None:
                placed.append(found)
                room.spoken.append(_span_of(found))
                not_before[saying.weight] = found.end
        return placed

    def _placed(self, saying: Saying, room: "_Room", earliest: float) -> Spoken | None:
        """Return where a saying goes: its best wording that fits, between the soft sounds where it can."""
        for way in saying.ways:
            lying = self._laid(saying, way, 0.0)
            if lying is None:
                continue
            for is_gentle in (True, False):
                start = room.first(earliest, saying.until, lying.end, self._speed, is_gentle)
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
            pieces.append((piece, exact(at)))
            at += self._speed * (length + JOINT_S)
        return Spoken(saying, exact(start), exact(at - self._speed * JOINT_S), tuple(pieces))

    def _span(self, cue: Cue) -> Span:
        return cue.at, cue.at + self._speed * PATTERNS[cue.sound].length_s


class _Room:
    """What is taken already: by sounds, by speech, and by the soft sounds that give way."""

    def __init__(self, taken: list[Span]) -> None:
        self.taken = taken
        self.spoken: list[Span] = []
        self.yielding: list[Span] = []

    def is_free(self, spoken: "Spoken", speed: float) -> bool:
        """Whether something can be said at its very time."""
        start, end = _span_of(spoken)
        gap = speed * GAP_S
        around = [(a - gap, b + gap) for a, b in self.taken] + self.spoken
        return not _meets_any((start, end), around)

    def first(
        self, earliest: float, until: float, length: float, speed: float, is_gentle: bool
    ) -> float | None:
        """Return the first time from `earliest` to `until` where there is room for so long."""
        gap, pause = speed * GAP_S, speed * PAUSE_S
        blocks = [(a - gap, b + gap) for a, b in self.taken + (self.yielding if is_gentle else [])]
        blocks += [(a - pause, b + pause) for a, b in self.spoken]
        start = earliest
        for low, high in sorted(blocks):
            if low < start + length and start < high:
                start = high
        # what was passed over early may end later than what came after it
        while start <= until and (met := [b for a, b in blocks if a < start + length and start < b]):
            start = max(met)
        return exact(start) if start <= until else None


def _must_be_heard(cue: Cue, now: float) -> bool:
    return cue.sound is not Sound.TICK and (cue.sound not in SOFT or cue.at <= now)


def _gives_way(cue: Cue) -> bool:
    return cue.sound is Sound.TICK or cue.sound in SOFT


def _span_of(spoken: Spoken) -> Span:
    return spoken.start, spoken.end


def _meets(one: Span, other: Span) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _meets_any(one: Span, others: Iterable[Span]) -> bool:
    return any(_meets(one, other) for other in others)
