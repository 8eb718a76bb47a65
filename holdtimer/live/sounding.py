"""Hands the cue list to the player ahead of time, and withdraws what no longer holds."""

from collections.abc import Iterable

from holdtimer.script.timeline import Part
from holdtimer.session import events as ev
from holdtimer.session.state import Session
from holdtimer.sound.cues import Cue, acknowledgements, cues
from holdtimer.sound.player import AT_ONCE, Player

STALE_S = 1.0  # a cue later than this is not caught up
KEPT_S = 3.0  # an answer this old no longer covers a cue


class Sounding:
    """What of the cue list the player has been given.

    Session times in seconds; `origin` is the clock at t = 0.
    """

    def __init__(self, player: Player, origin: float) -> None:
        self._player = player
        self._origin = origin
        self._handed: set[Cue] = set()
        self._answers: list[Cue] = []

    def update(self, session: Session, part: Part | None, new: Iterable[ev.AnyEvent], now: float) -> None:
        """Bring the player up to date after `new` events."""
        fresh = [cue for cue in acknowledgements(new) if now - cue.at < STALE_S]
        self._answers = [cue for cue in self._answers if now - cue.at < KEPT_S] + fresh
        wanted = set(cues(session, part, self._answers))
        if any(cue.at > now for cue in self._handed - wanted):
            self._player.withdraw(self._origin + now)
            self._handed = {cue for cue in self._handed if cue.at <= now}
        for cue in sorted(wanted - self._handed):
            if now - cue.at < STALE_S:
                self._player.schedule(cue.sound, AT_ONCE if cue.at <= now else self._origin + cue.at)
        self._handed = {cue for cue in wanted | self._handed if now - cue.at < KEPT_S}
