"""The audio scheduler: gives cues and speech to the player ahead of time, and withdraws what is off."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from holdtimer.program.timeline import Part, PlannedSet, SetKey
from holdtimer.session import events as ev
from holdtimer.session.menu import Menu
from holdtimer.session.state import Session
from holdtimer.sound.announcements import Announcement, announcements, answers
from holdtimer.sound.cues import Cue, acknowledgements, cues
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.player import AT_ONCE, Player
from holdtimer.sound.speech_planner import Plan, SpeechPlanner, Spoken
from holdtimer.sound.voice import Voice

STALE_S = 1.0  # a cue later than this is not caught up
KEPT_S = 3.0  # an answer this old no longer covers a cue


@dataclass(frozen=True, slots=True)
class Speech:
    """The voice of a session, and last time's first failures (s) by exercise and side."""

    voice: Voice = field(default_factory=Voice)
    last: Mapping[SetKey, float] = field(default_factory=dict)

    def last_s(self, part: Part | None) -> float | None:
        """Return last time's first failure of a set."""
        return self.last.get((part.exercise, part.side)) if isinstance(part, PlannedSet) else None


class AudioScheduler:
    """What the player has been given, of cues and of speech.

    Session times in seconds; `origin` is the clock at t = 0, which runs at `speed` times real time.
    """

    def __init__(
        self, player: Player, origin: float, speech: Speech | None = None, speed: float = 1.0
    ) -> None:
        self._player = player
        self._origin = origin
        self._speed = speed
        self._speech = speech or Speech()
        self._planner = SpeechPlanner(self._speech.voice.length, speed)
        self._given: set[Cue] = set()
        self._answers: list[Cue] = []
        self._gave_way: set[Cue] = set()  # left out for something said
        self._answered: list[Announcement] = []
        self._announced: set[Announcement] = set()  # when the player was brought up to date last
        self._spoken: list[Spoken] = []  # given, in order; those begun stay for a while
        self._seen: tuple[Menu | None, int] = (None, 0)

    @property
    def heard_until(self) -> float:
        """When the last of what was given to the player will have been heard."""
        sounds = (cue.at + self._speed * PATTERNS[cue.sound].length_s for cue in self._given)
        return max((*sounds, *(each.end for each in self._spoken)), default=0.0)

    def is_behind(self, menu: Menu | None) -> bool:
        """Whether the menu or the voice changed since the player was brought up to date."""
        return self._seen != (menu, self._speech.voice.changes)

    def acknowledge_trial(self, at: float) -> None:
        """Let the key that was tried be heard as a failure will be, once the player is brought up to date."""
        self._answers.append(Cue(at, Sound.FAILURE))

    def update(
        self,
        session: Session,
        part: Part | None,
        new: Iterable[ev.AnyEvent],
        now: float,
        menu: Menu | None = None,
        *,
        tries_key: bool = False,
    ) -> None:
        """Bring the player up to date after `new` events."""
        new = list(new)
        self._seen = (menu, self._speech.voice.changes)
        self._answers = [cue for cue in self._answers if now - cue.at < KEPT_S]
        self._answers += [cue for cue in acknowledgements(new) if now - cue.at < STALE_S]
        self._answered = [each for each in answers(new, part, self._answered) if now <= each.until]
        heard = self._heard(cues(session, part, self._answers), now)
        last_s = self._speech.last_s(part)
        current = announcements(session, part, last_s, menu, self._answered, tries_key=tries_key)
        is_cut = self._break_off(current, heard, now)
        begun = self._begun(current, now)
        said = {each.announcement for each in begun}
        plan = self._planner.plan(heard, [each for each in current if each not in said], now, begun)
        self._gave_way = {cue for cue in self._gave_way if cue.at <= now < cue.at + KEPT_S}
        self._gave_way |= set(heard) - set(plan.cues)
        self._withdraw(plan, now, is_cut)
        self._schedule(set(plan.cues), now)
        self._say(plan.spoken, now)
        self._announced = set(current)

    # -- speech ------------------------------------------------------------------------------------------

    def _break_off(self, current: list[Announcement], heard: list[Cue], now: float) -> bool:
        """Break off what is being said where it must not go on; it is said again where it still holds."""
        speaking = next((each for each in self._spoken if each.start <= now < each.end), None)
        if speaking is None:
            return False
        said = {each.announcement for each in self._spoken if each.start <= now}
        answers_due = [each for each in current if each.interrupts and each not in said and each.at <= now]
        # what was done is now and then noticed a moment later, and something may have begun by then
        is_answered = any(speaking.start < each.at or each not in self._announced for each in answers_due)
        if not is_answered and not self._planner.runs_into(speaking, heard):
            return False
        self._player.hush()
        self._spoken.remove(speaking)
        return True

    def _begun(self, current: list[Announcement], now: float) -> list[Spoken]:
        """Return what was begun; it is remembered for as long as it would be said again otherwise."""
        still = set(current)
        begun = [each for each in self._spoken if each.start <= now]
        begun = [each for each in begun if now - each.end < KEPT_S or each.announcement in still]
        self._spoken = begun + [each for each in self._spoken if each.start > now]
        return begun

    def _say(self, spoken: Iterable[Spoken], now: float) -> None:
        known = set(self._spoken)
        for each in spoken:
            if each not in known:
                self._spoken.append(each)
                self._say_pieces(each.pieces, now)

    def _say_pieces(self, pieces: Iterable[tuple[str, float]], now: float) -> None:
        for piece, at in pieces:
            self._player.say(self._speech.voice.path(piece), AT_ONCE if at <= now else self._origin + at)

    # -- cues --------------------------------------------------------------------------------------------

    def _heard(self, current: Iterable[Cue], now: float) -> list[Cue]:
        """Return the cues that hold, with those that still sound and without those that gave way."""
        sounding = {cue for cue in self._given if cue.at <= now}
        left_out = {cue for cue in self._gave_way if cue.at <= now}
        return sorted({*current, *sounding} - left_out)

    def _withdraw(self, plan: Plan, now: float, is_cut: bool) -> None:
        """Withdraw all that is to come where some of it no longer holds; it is given again."""
        is_cue_over = any(cue.at > now for cue in self._given - set(plan.cues))
        is_speech_over = {each for each in self._spoken if each.start > now} - set(plan.spoken)
        if not (is_cut or is_cue_over or is_speech_over):
            return
        self._player.withdraw(self._origin + now)
        self._given = {cue for cue in self._given if cue.at <= now}
        self._spoken = [each for each in self._spoken if each.start <= now]
        for each in self._spoken:  # what is being said goes on
            self._say_pieces((piece for piece in each.pieces if piece[1] > now), now)

    def _schedule(self, planned: set[Cue], now: float) -> None:
        for cue in sorted(planned - self._given):
            if now - cue.at < STALE_S:
                self._player.schedule(cue.sound, AT_ONCE if cue.at <= now else self._origin + cue.at)
        self._given = {cue for cue in planned | self._given if now - cue.at < KEPT_S}
