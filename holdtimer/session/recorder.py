"""Where the engine's decisions become events: numbered, folded at once, and handed out."""

from typing import Any

from holdtimer.program.timeline import Part, PlannedSet, Timeline
from holdtimer.session import events as ev
from holdtimer.session.fold import fold, step
from holdtimer.session.state import Phase, SetState


class Recorder:
    """The session so far along its timeline, and the events not yet handed out."""

    def __init__(self, timeline: Timeline, past: list[ev.AnyEvent]) -> None:
        self.timeline = timeline
        self.session = fold(past)
        self.heard_at = self.session.t  # when the person was last heard of
        self._new: list[ev.AnyEvent] = []

    @property
    def parts(self) -> int:
        """How many parts the script has."""
        return len(self.timeline.parts)

    @property
    def is_live(self) -> bool:
        """Whether anything can still happen in this session."""
        session = self.session
        return session.phase not in (Phase.NEW, Phase.CLOSED) and not session.left and not session.stopped

    def part(self) -> Part | None:
        """Return the part that is running or comes next, at the rung chosen for it."""
        if self.session.part >= self.parts:
            return None
        part = self.timeline.parts[self.session.part]
        if not isinstance(part, PlannedSet):
            return part
        chosen = self.session.rungs.get(part.set)
        return part.at_rung(chosen) if chosen in [rung.name for rung in part.ladder] else part

    def hear(self, at: float) -> float:
        """Note that the person was heard of; return when, never before what was heard already."""
        self.heard_at = max(self.heard_at, at)
        return self.heard_at

    def emit(self, kind: type[ev.AnyEvent], t: float, /, **fields: Any) -> None:
        """Add one event."""
        event = kind(n=self.session.n + 1, t=ev.round_time(t), **fields)
        self.session = step(self.session, event)
        self._new.append(event)

    def take(self) -> list[ev.AnyEvent]:
        """Hand out the events since the last call."""
        new, self._new = self._new, []
        return new

    def target(self, part: PlannedSet) -> dict[str, Any]:
        """Return the fields that say what a set was to be."""
        return {
            "attempt": self.session.attempts.get(part.set, 0) + 1,
            "kind": part.kind,
            "rung": part.rung.name,
            "window_s": part.window_s,
            "band_s": part.band_s,
            "final_s": part.final_s,
            "push_s": part.push_s,
            "reentry": part.reentry,
        }


def before(part: PlannedSet) -> dict[str, Any]:
    """Return the fields that name a set whose window is not open."""
    return {"set": part.set, "exercise": part.exercise, "side": part.side, "at": 0.0}


def within(current: SetState, t: float) -> dict[str, Any]:
    """Return the fields that name a set and a moment of its window."""
    at = max(0.0, ev.round_time(t - (current.opened_t or 0.0)))
    return {"set": current.number, "exercise": current.exercise, "side": current.side, "at": at}
