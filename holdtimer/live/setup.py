"""Opening a run: a new session, or one that was left and goes on."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from holdtimer import __version__
from holdtimer.live.audio import Speech
from holdtimer.live.clock import Clock, Heartbeat
from holdtimer.live.driver import Driver
from holdtimer.log.clocks import Reading, boottime_ns, take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.reader import SessionLog, Unfinished
from holdtimer.log.writer import LogWriter
from holdtimer.program.compiling import UnknownScriptError, compile_script
from holdtimer.program.faults import ProgramFaults
from holdtimer.program.loading import Loaded, loads
from holdtimer.program.timeline import Side, Timeline
from holdtimer.session import events as ev
from holdtimer.session.debounce import Settings
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.sound.announcements import pieces_ahead
from holdtimer.sound.player import Player

Key = tuple[str, Side]  # an exercise on a side

RESUME_WITHIN_S = 3600.0

LEFT_EXIT = {"quit": 1, "silence": 1, "end-of-input": 1, "terminated": 128 + 15, "hang-up": 128 + 1}
NOT_WRITTEN_EXIT = 3


class TooLateToResume(Exception):  # noqa: N818
    """The session was left too long ago; it can only be closed."""


class BrokenSession(Exception):  # noqa: N818
    """A session that was left cannot be gone on with, nor closed: its log does not tell what it was to be."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a run works with."""

    data: Path
    person: str
    clock: Clock
    player: Player
    settings: Settings = field(default_factory=Settings)
    speech: Speech = field(default_factory=Speech)
    anchor: Callable[[], Reading] = take_anchor

    @property
    def is_rehearsal(self) -> bool:
        """Whether the run is kept apart and never counts."""
        return self.clock.speed != 1


@dataclass(frozen=True, slots=True)
class Opening:
    """How a session is to be opened: the one that was left goes on, or a new one begins as it is due.

    `early_h` hours since the last hard session, where it begins too early; `last` holds last time's first
    failures (s).
    """

    goes_on: bool = False
    script: str | None = None
    rungs: Mapping[Key, str] = field(default_factory=dict)
    first_sides: Mapping[str, Side] = field(default_factory=dict)
    without: frozenset[Key] = frozenset()
    early_h: float | None = None
    last: Mapping[Key, float] = field(default_factory=dict)


class Run:
    """One run of one session: its driver and its log, to be used in a `with`."""

    def __init__(
        self, driver: Driver, writer: LogWriter, heartbeat: Heartbeat, begin: Callable[[], None]
    ) -> None:
        self.driver = driver
        self.begin = begin  # to be called once somebody listens
        self.is_written = False  # whether all of the session is in its file, once the run is over
        self._writer = writer
        self._heartbeat = heartbeat

    def __enter__(self) -> "Run":
        self._heartbeat.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    def end(self) -> bool:
        """Let everything go; return whether all of the session is in its file."""
        self._heartbeat.stop()
        self.driver.end_voice()
        self.is_written = self._writer.close()
        return self.is_written

    def save_elsewhere(self, data: Path) -> bool:
        """Write the whole session, which is over, into another data folder; return whether it is there."""
        opened = self.driver.engine.session.opened
        if opened is not None:
            self._writer.move_to(session_folder(data, opened.person, rehearsal=opened.speed != 1))
        return self.end()

    @property
    def path(self) -> Path | None:
        """The file the session is in; None while there is none."""
        return self._writer.path

    @property
    def why_not_written(self) -> str:
        """What keeps the session out of its file, in plain words."""
        return self._writer.why_not_saved

    def exit_code(self) -> int:
        """Return what the command ends with, once the run is over."""
        session = self.driver.engine.session
        if not self.is_written:
            return NOT_WRITTEN_EXIT
        if session.left is not None:
            return LEFT_EXIT.get(session.left, 1)
        return 1 if session.stopped else 0


def open_new(means: Means, loaded: Loaded, opening: Opening) -> Run:
    """Open a new session, its log held by the caller. Raises UnknownScriptError."""
    how = opening
    timeline = compile_script(loaded.program, how.script, how.rungs, how.first_sides, how.without)
    session = new_session_id(datetime.now(UTC))
    folder = session_folder(means.data, means.person, rehearsal=means.is_rehearsal)
    driver, heartbeat = _driver(means, timeline, writer := LogWriter(folder, session), past=[])
    opened: dict[str, object] = {
        "session": session,
        "person": means.person,
        "program": timeline.program,
        "script": timeline.script,
        "program_text": loaded.text,
        "rungs": _due(timeline),
        "early_h": how.early_h,
        "version": __version__,
    }
    return Run(driver, writer, heartbeat, begin=lambda: driver.begin(opened))


def open_again(means: Means, unfinished: Unfinished) -> Run:
    """Go on with a session, its log held by the caller. Raises TooLateToResume, BrokenSession."""
    if unfinished.age_s > RESUME_WITHIN_S:
        raise TooLateToResume("it was left more than 60 minutes ago, so it can only be closed")
    run = _reopened(means, unfinished.log)
    t = _resumed_at(unfinished, means.clock.speed)
    run.begin = lambda: run.driver.resume(t)
    return run


def close_unfinished(means: Means, unfinished: Unfinished) -> Run:
    """Close a session that was left; return its run, which is over. Raises BrokenSession."""
    run = _reopened(means, unfinished.log)
    run.driver.close_later()
    run.end()
    return run


def _reopened(means: Means, log: SessionLog) -> Run:
    timeline = _timeline_of(log)
    writer = LogWriter.resume(log)
    driver, heartbeat = _driver(means, timeline, writer, past=list(log.events))
    return Run(driver, writer, heartbeat, begin=driver.tick)


def _timeline_of(log: SessionLog) -> Timeline:
    """Return what a session follows, by its log alone: its program file may have changed since."""
    opened = log.opened
    if opened is None:
        raise BrokenSession(f"{log.session}: the first line of its log is lost")
    rungs = {(due.exercise, due.side): due.rung for due in opened.rungs}
    try:
        program = loads(opened.program_text, f"{opened.session}.toml").program
        every = compile_script(program, opened.script)
        left_out = {(s.exercise, s.side) for s in every.sets} - rungs.keys() if rungs else set()
        return compile_script(program, opened.script, rungs, _first_sides(opened), left_out)
    except (ProgramFaults, UnknownScriptError) as error:
        raise BrokenSession(f"{log.session}: the program in its log cannot be followed: {error}") from None


def _driver(
    means: Means, timeline: Timeline, writer: LogWriter, past: list[ev.AnyEvent]
) -> tuple[Driver, Heartbeat]:
    engine = Engine(timeline, means.settings, past)
    heartbeat = Heartbeat(_boottime)
    means.speech.voice.want(pieces_ahead(timeline.parts))
    driver = Driver(engine, means.clock, writer, means.player, means.anchor, heartbeat, means.speech)
    return driver, heartbeat


def _boottime() -> float | None:
    ns = boottime_ns()
    return None if ns is None else ns / 1e9


def _due(timeline: Timeline) -> list[dict[str, str]]:
    """Return the rungs of the sets, in the order the sets are done."""
    return [{"exercise": s.exercise, "side": s.side, "rung": s.rung.name} for s in timeline.sets]


def _first_sides(opened: ev.Opened) -> dict[str, Side]:
    """Return which side came first in the session as it was opened."""
    first: dict[str, Side] = {}
    for due in opened.rungs:
        first.setdefault(due.exercise, due.side)
    return first


def _resumed_at(unfinished: Unfinished, speed: float) -> float:
    """Return the session time now: on from the last event by the wall clock, never backwards."""
    last = fold(unfinished.log.events).t
    return last + max(0.0, unfinished.age_s) * speed
