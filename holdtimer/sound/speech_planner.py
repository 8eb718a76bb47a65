"""Finds the room for speech between the sounds, so that nothing is ever said over a sound that matters.

An announcement waits until a sound is over, takes a shorter wording where the next one comes too soon, or is
left out. Two are never said at once. A countdown is said on its very second, and in place of the ticks; the
soft sounds, breathing and rhythm, give way to what can't be said between them.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from holdtimer.session.events import round_time
from holdtimer.sound.announcements import Announcement, Priority
from holdtimer.sound.cues import Cue
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.phrases import Pieces

GAP_S = 0.12  # between a sound and speech
PAUSE_S = 0.30  # between two announcements
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
    """An announcement in its place: from `start` to `end` (s of the session), each piece at its time."""

    announcement: Announcement
    start: float
    end: float
    pieces: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What is heard: the cues that are left, and what is said, in order of time."""

    cues: tuple[Cue, ...]
    spoken: tuple[Spoken, ...]


class SpeechPlanner:
    """Plans at `speed` times real time; `length` returns how long a piece of speech lasts."""

    def __init__(self, length: Length, speed: float = 1.0) -> None:
        self._length = length
        self._speed = speed

    def plan(
        self,
        cues: Iterable[Cue],
        announcements: Iterable[Announcement],
        now: float,
        begun: Sequence[Spoken] = (),
    ) -> Plan:
        """Return the plan from `now` (s) on; what has `begun` is still being said."""
        every = tuple(cues)
        placed: list[Spoken] = []
        not_before = dict.fromkeys(Priority, now)
        for each in sorted(announcements, key=lambda each: (each.priority, each.at)):
            earliest = max(each.at, not_before[each.priority])
            found = self._placed(each, every, (*begun, *placed), now, earliest)
            if found is not None:
                placed.append(found)
                not_before[each.priority] = found.end
        said = (*begun, *placed)
        kept = tuple(cue for cue in every if not any(self._gives_way(cue, each) for each in said))
        return Plan(kept, tuple(sorted(placed, key=lambda each: each.start)))

    def runs_into(self, spoken: Spoken, cues: Iterable[Cue]) -> bool:
        """Whether something said runs into a later cue that does not give way to it."""
        return any(
            cue.at > spoken.start and self._meet(cue, spoken) and not self._gives_way(cue, spoken)
            for cue in cues
        )

    def _gives_way(self, cue: Cue, spoken: Spoken) -> bool:
        return self._meet(cue, spoken) and yields(cue.sound, spoken.announcement.priority)

    def _meet(self, cue: Cue, spoken: Spoken) -> bool:
        start, end = self._span(cue)
        return start < spoken.end and spoken.start < end

    def _placed(
        self,
        announcement: Announcement,
        cues: Iterable[Cue],
        spoken: Iterable[Spoken],
        now: float,
        earliest: float,
    ) -> Spoken | None:
        """Return where an announcement goes: its best wording that fits, if it can between what would yield.

        What has begun to sound gives way no more.
        """
        pause, priority = self._speed * PAUSE_S, announcement.priority
        taken = [(each.start - pause, each.end + pause) for each in spoken]
        yielding: list[Span] = []
        for cue in cues:
            is_firm = cue.at <= now or not yields(cue.sound, priority)
            (taken if is_firm else yielding).append(self._span(cue, self._speed * GAP_S))
        is_gentle = priority not in (Priority.WAY_OUT, Priority.COUNTDOWN)
        for wording in announcement.wordings:
            laid = self._laid(announcement, wording, 0.0)
            if laid is None:
                continue
            for blocks in (taken + yielding, taken) if is_gentle else (taken,):
                start = first_free(blocks, earliest, announcement.until, laid.end)
                if start is not None:
                    return self._laid(announcement, wording, start)
        return None

    def _laid(self, announcement: Announcement, wording: Pieces, start: float) -> Spoken | None:
        """Lay the pieces of one wording one after another; None where the voice lacks one."""
        at, pieces = start, []
        for piece in wording:
            length = self._length(piece)
            if length is None:
                return None
            pieces.append((piece, round_time(at)))
            at += self._speed * (length + JOINT_S)
        end = round_time(at - self._speed * JOINT_S)
        return Spoken(announcement, round_time(start), end, tuple(pieces))

    def _span(self, cue: Cue, wider: float = 0.0) -> Span:
        return cue.at - wider, cue.at + self._speed * PATTERNS[cue.sound].length_s + wider


def yields(sound: Sound, priority: Priority) -> bool:
    """Whether a sound is left out where something of this priority is said."""
    if priority is Priority.WAY_OUT:
        return sound in SOFT or sound in MARKS
    return sound in SOFT or (priority is Priority.COUNTDOWN and sound is Sound.TICK)


def first_free(blocks: Iterable[Span], earliest: float, until: float, length: float) -> float | None:
    """Return the first time from `earliest` to `until` with nothing in the way for so long, or None."""
    start = earliest
    for low, high in sorted(blocks):
        if low >= start + length:
            break
        start = max(start, high)
    return round_time(start) if start <= until else None
