"""The driver: joins keys, clock, engine, log and sound. It decides nothing about a session."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import inf
from typing import Protocol

from holdtimer.live.audio import AudioScheduler, Speech
from holdtimer.live.clock import Clock, Heartbeat
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, Key
from holdtimer.live.terminal import Leave, SessionKeys
from holdtimer.log.clocks import Reading
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.state import Phase
from holdtimer.sound.player import Player

TICK_S = 0.05  # real seconds
MOST_AT_ONCE = 32  # keys that one reading of the keyboard can bring where somebody presses them
WRITE_WAIT_S = 0.1  # a write that takes longer is "noted, not yet saved"

Listener = Callable[[list[ev.AnyEvent]], None]


class Log(Protocol):
    """Where events are written first."""

    @property
    def handed_in(self) -> int:
        """How many events there are."""
        ...

    @property
    def written(self) -> int:
        """How many would survive the end of this program."""
        ...

    @property
    def saved(self) -> int:
        """How many would survive a loss of power."""
        ...

    def append(self, event: ev.AnyEvent) -> None:
        """Take an event, at once."""
        ...

    def wait_written(self, timeout: float) -> bool:
        """Wait at most so many seconds for every event so far to be written; return whether they are."""
        ...

    def trouble(self) -> str | None:
        """Return why events are not being saved; None while they are."""
        ...


class Driver:
    """Runs one session. `origin` is the clock's time at t = 0."""

    def __init__(
        self,
        engine: Engine,
        clock: Clock,
        log: Log,
        player: Player,
        anchor: Callable[[], Reading],
        heartbeat: Heartbeat | None = None,
        speech: Speech | None = None,
    ) -> None:
        self.engine = engine
        self.log = log
        self.player = player
        self._clock = clock
        self._anchor = anchor
        self._heartbeat = heartbeat
        self._speech = speech or Speech()
        self._origin = self._began = 0.0
        self._audio = AudioScheduler(player, 0.0)
        self._listeners: list[Listener] = []
        self.asked_to_leave: ev.LeaveReason | None = None

    # -- beginning and end -------------------------------------------------------------------------------

    def listen(self, listener: Listener) -> None:
        """Call `listener` with each batch of new events, after they were written."""
        self._listeners.append(listener)

    def begin(self, opened: dict[str, object]) -> None:
        """Open the session; `opened` are the fields of its first event but for the clock's."""
        reading = self._anchor()
        self._start_at(reading, 0.0)
        self._took(
            self.engine.record(ev.Opened, 0.0, **opened, speed=self._clock.speed, mono_ns=reading.mono_ns)
        )
        self._took(self.engine.record(ev.Anchor, 0.0, why="opening", **reading._asdict()))

    def resume(self, t: float) -> None:
        """Go on with a session at session time `t`."""
        reading = self._anchor()
        self._start_at(reading, t)
        self._took(self.engine.record(ev.Anchor, t, why="resume", **reading._asdict()))
        self._took(self.engine.resume(t))

    def close(self, reason: str) -> None:
        """Close the session for good."""
        self._notice_standstill()
        if not self.is_closed:
            now = max(self.now(), self.engine.session.t)
            self._took(self.engine.record(ev.Anchor, now, why="closing", **self._anchor()._asdict()))
            self._took(self.engine.close(now, reason))

    def close_later(self) -> None:
        """Close a session that was left: it ended when it was left, not now."""
        self._took(self.engine.close(self.engine.session.t, "closed-later"))

    def leave(self, reason: ev.LeaveReason) -> None:
        """Leave the session; it can be resumed, unless it was about to be stopped for a symptom."""
        self._notice_standstill()
        if not self.is_done:
            self.asked_to_leave = reason
        self._took(self.engine.leave(reason, self.now()))
        if self.engine.session.stopped:
            self.close("stopped")

    def end_voice(self) -> None:
        """Prepare no more speech; what the player already has is still heard."""
        self._speech.voice.close()

    # -- what happens ------------------------------------------------------------------------------------

    def take(self, given: Key | Leave) -> None:
        """Take what came from the keyboard: a key, the focus, or the wish to leave."""
        if isinstance(given, Leave):
            self.leave(given.reason)
        elif given.name in (FOCUS_IN, FOCUS_OUT):
            self.focus(given.name == FOCUS_IN, given.at)
        else:
            self.key(given.name, given.at)

    def key(self, name: str, mono: float) -> None:
        """Take a key that reached the program at `mono`, in real seconds of the steady clock.

        One that was typed before this run of the session began is thrown away.
        """
        self._notice_standstill()
        at = self._clock.at(mono) - self._origin
        if at >= self._began:
            tried_at = self.engine.tried_at
            self._took(self.engine.press(name, at, handled=self.now()))
            if self.engine.tried_at != tried_at:
                self._audio.acknowledge_trial(at)
                self._heard(())

    def focus(self, has: bool, mono: float) -> None:
        """Take note that the terminal gained or lost the keyboard."""
        self._notice_standstill()
        at = max(self._clock.at(mono) - self._origin, self._began)
        self._took(self.engine.focus(has, at))

    def tick(self, read_until: float | None = None) -> None:
        """Let time pass; to be called many times a second, and at the next boundary.

        Every key that reached the program by `read_until` (real seconds of the steady clock) was handed in;
        None where that is not known.
        """
        now = self.now()  # before the standstill is looked for: none may lie between
        self._notice_standstill()
        self._notice_trouble()
        known = None if read_until is None else self._clock.at(read_until) - self._origin
        self._took(self.engine.tick(now, known))
        if self._audio.is_behind(self.engine.menu):
            self._heard(())
        if self.engine.is_over(now):
            self.close("stopped" if self.engine.session.stopped else "finished")

    # -- what can be asked -------------------------------------------------------------------------------

    def now(self) -> float:
        """Return the session time."""
        return self._clock.now() - self._origin

    def until_boundary(self) -> float:
        """Return how long it is until time alone brings something: real seconds, negative if it is past."""
        boundary = self.engine.next_boundary()
        return inf if boundary is None else (boundary - self.now()) / self._clock.speed

    @property
    def is_closed(self) -> bool:
        """Whether the session is over for good."""
        return self.engine.session.phase is Phase.CLOSED

    @property
    def is_done(self) -> bool:
        """Whether nothing more can happen in this run: closed, or left."""
        return self.is_closed or self.engine.session.left is not None

    @property
    def is_noted_only(self) -> bool:
        """Whether something that happened is not yet in any file."""
        return self.log.written < self.log.handed_in

    def is_sounding(self) -> bool:
        """Whether a sound or something said has not yet come to its end."""
        return self.player.name != "off" and self._audio.heard_until > self.now()

    def voice_trouble(self) -> str | None:
        """Return what is wrong with the voice, in plain words."""
        return self._speech.voice.trouble()

    @property
    def is_saved(self) -> bool:
        """Whether all that happened is flushed to the disk."""
        return self.log.saved >= self.log.handed_in

    # -- the inside --------------------------------------------------------------------------------------

    def _start_at(self, reading: Reading, t: float) -> None:
        self._origin, self._began = self._clock.at(reading.mono_ns / 1e9) - t, t
        self._audio = AudioScheduler(self.player, self._origin, self._speech, self._clock.speed)

    def _took(self, events: Iterable[ev.AnyEvent]) -> None:
        """Write events down, then let them be heard, then seen."""
        new = list(events)
        if not new:
            return
        is_well = self.log.trouble() is None and not self.is_noted_only
        for event in new:
            self.log.append(event)
        if is_well:
            self.log.wait_written(WRITE_WAIT_S)
        self._heard(new)
        for listener in self._listeners:
            listener(new)

    def _heard(self, new: Iterable[ev.AnyEvent]) -> None:
        engine = self.engine
        self._audio.update(
            engine.session, engine.part(), new, self.now(), engine.menu, tries_key=engine.tries_key
        )

    def _notice_standstill(self) -> None:
        for found in self._heartbeat.standstills() if self._heartbeat else ():
            alive = self._clock.at(found.alive_at) - self._origin
            now = self._clock.at(found.noticed_at) - self._origin
            events = self.engine.gap(max(alive, 0.0), now, found.seconds)
            if events:
                anchor = self.engine.record(ev.Anchor, now, why="gap", **self._anchor()._asdict())
                self._took([*events, *anchor])

    def _notice_trouble(self) -> None:
        if self.is_done:
            return
        session = self.engine.session
        silent, trouble = self.player.trouble(), self.log.trouble()
        if silent != session.silent:
            self._took(self.engine.record(ev.Silent, self.now(), why=silent))
        if trouble != session.log_trouble:
            self._took(self.engine.record(ev.LogTrouble, self.now(), why=trouble))


def run_session(
    driver: Driver,
    keys: SessionKeys,
    begin: Callable[[], None],
    follow: Callable[[Sequence[Key | Leave]], None],
) -> None:
    """Begin a session and run it until it is closed or left; after a fault it is left, too.

    `follow` is called again and again, with what came from the keyboard since, to show how things stand. It
    must not wait for whatever shows it.
    """
    try:
        begin()
        follow(())
        while not driver.is_done:
            came = keys.take(min(TICK_S, max(driver.until_boundary(), 0.001)))
            for given in _by_hand(came):
                driver.take(given)
            driver.tick(keys.read_until())
            follow(came)
    finally:
        if not driver.is_done:
            driver.leave("terminated")


def _by_hand(came: Sequence[Key | Leave]) -> Iterator[Key | Leave]:
    """Yield what came at once, without what no hand presses: of a pasted page all but the first is guarded.

    A wish to leave, and a tap after it, must not wait until every letter of it was judged.
    """
    for number, given in enumerate(came):
        if number < MOST_AT_ONCE or isinstance(given, Leave):
            yield given
