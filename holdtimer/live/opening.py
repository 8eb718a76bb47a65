"""Opening a run: a new session, or one that was left and goes on."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from holdtimer import __version__
from holdtimer.live.clock import Clock
from holdtimer.live.driver import Driver
from holdtimer.live.heartbeat import Heartbeat
from holdtimer.log.anchors import Reading, take_anchor
from holdtimer.log.folder import new_session_id, person_folder, session_folder
from holdtimer.log.lock import Hold, hold
from holdtimer.log.reading import Unfinished
from holdtimer.log.session_log import SessionLog
from holdtimer.log.writing import LogWriter
from holdtimer.script.compiling import compile_script
from holdtimer.script.loading import Loaded, loads
from holdtimer.script.timeline import Side, Timeline
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.session.hand import Settings
from holdtimer.sound.player import Player

RESUME_WITHIN_S = 3600.0
CLOSE_WAIT_S = 3.0

LEFT_EXIT = {"quit": 1, "silence": 1, "end-of-input": 1, "terminated": 128 + 15, "hang-up": 128 + 1}
NOT_WRITTEN_EXIT = 3


class TooLateToResume(Exception):  # noqa: N818
    """The session was left too long ago; it can only be closed."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a run works with."""

    data: Path
    person: str
    clock: Clock
    player: Player
    settings: Settings = field(default_factory=Settings)
    anchor: Callable[[], Reading] = take_anchor

    @property
    def is_rehearsal(self) -> bool:
        """Whether the run is kept apart and never counts."""
        return self.clock.speed != 1


class Run:
    """One run of one session: its driver, its log and the hold on that log, to be used in a `with`."""

    def __init__(
        self,
        driver: Driver,
        writer: LogWriter,
        holding: Hold,
        heartbeat: Heartbeat,
        begin: Callable[[], None],
    ) -> None:
        self.driver = driver
        self.begin = begin  # to be called once somebody listens
        self.writer = writer
        self.remark = holding.remark
        self._holding = holding
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
        is_written = self.writer.close(CLOSE_WAIT_S)
        self._holding.release()
        return is_written

    def exit_code(self, is_written: bool) -> int:
        """Return what the command ends with."""
        session = self.driver.engine.session
        if not is_written:
            return NOT_WRITTEN_EXIT
        if session.left is not None:
            return LEFT_EXIT.get(session.left, 1)
        return 1 if session.stopped else 0


def open_new(
    means: Means,
    loaded: Loaded,
    script: str | None,
    rungs: Mapping[tuple[str, Side], str] | None = None,
    first_sides: Mapping[str, Side] | None = None,
) -> Run:
    """Open a new session of a script. Raises LogHeld, UnknownScriptError."""
    timeline = compile_script(loaded.program, script, rungs or {}, first_sides or {})
    session = new_session_id(datetime.now(UTC))
    folder = session_folder(means.data, means.person, rehearsal=means.is_rehearsal)
    holding = hold(person_folder(means.data, means.person), datetime.now(UTC))
    driver, heartbeat = _driver(means, timeline, writer := LogWriter(folder, session), past=[])
    opened: dict[str, object] = {
        "session": session,
        "person": means.person,
        "program": timeline.program,
        "script": timeline.script,
        "program_text": loaded.text,
        "rungs": _due(timeline),
        "version": __version__,
    }
    return Run(driver, writer, holding, heartbeat, begin=lambda: driver.begin(opened))


def open_again(means: Means, unfinished: Unfinished) -> Run:
    """Go on with a session. Raises LogHeld, TooLateToResume, ProgramFaults, ValueError."""
    if unfinished.age_s > RESUME_WITHIN_S:
        raise TooLateToResume("it was left more than 60 minutes ago, so it can only be closed")
    run = _reopened(means, unfinished.log)
    t = _resumed_at(unfinished, means.clock.speed)
    run.begin = lambda: run.driver.resume(t)
    return run


def close_unfinished(means: Means, unfinished: Unfinished) -> bool:
    """Close a session that was left; return whether that was written. Raises as `open_again`."""
    run = _reopened(means, unfinished.log)
    run.driver.close_later()
    return run.end()


def _reopened(means: Means, log: SessionLog) -> Run:
    opened = log.opened
    if opened is None:
        raise ValueError("the first line of its log is lost")
    loaded = loads(opened.program_text, f"{opened.session}.toml")
    rungs = {(due.exercise, due.side): due.rung for due in opened.rungs}
    timeline = compile_script(loaded.program, opened.script, rungs, _first_sides(opened))
    holding = hold(person_folder(means.data, means.person), datetime.now(UTC))
    writer = LogWriter.resume(log)
    driver, heartbeat = _driver(means, timeline, writer, past=list(log.events))
    return Run(driver, writer, holding, heartbeat, begin=driver.tick)


def _driver(
    means: Means, timeline: Timeline, writer: LogWriter, past: list[ev.AnyEvent]
) -> tuple[Driver, Heartbeat]:
    engine = Engine(timeline, means.settings, past)
    heartbeat = Heartbeat(lambda: _boottime(means.anchor))
    return Driver(engine, means.clock, writer, means.player, means.anchor, heartbeat), heartbeat


def _boottime(anchor: Callable[[], Reading]) -> float | None:
    boottime_ns = anchor().boottime_ns
    return None if boottime_ns is None else boottime_ns / 1e9


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
