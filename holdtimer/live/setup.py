"""Opening a run: a new session, or one that was left and is resumed."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from holdtimer import __version__
from holdtimer.errors import (
    BrokenSessionError,
    ExitCode,
    ProgramError,
    TooLateToResumeError,
    UnknownScriptError,
)
from holdtimer.live.audio import Speech
from holdtimer.live.clock import Clock, Heartbeat, SteadyClock
from holdtimer.live.driver import Driver
from holdtimer.live.terminal import LEFT_EXIT
from holdtimer.log.clocks import boottime_ns, take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.reader import Unfinished
from holdtimer.log.session_log import SessionLog
from holdtimer.log.writer import LogWriter
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import Loaded, loads
from holdtimer.program.timeline import SetKey, Side, Timeline
from holdtimer.session.debounce import Settings
from holdtimer.session.engine import Engine
from holdtimer.session.events import BEGUN, AnyEvent, Stopped
from holdtimer.session.state import Session
from holdtimer.session.words import TRY_KEY
from holdtimer.sound.announcements import pieces_ahead
from holdtimer.sound.player import OffPlayer, Player

RESUME_WITHIN_S = 3600.0


@dataclass(frozen=True, slots=True)
class RunRequest:
    """What a run was asked for. `loaded` is None where only a session that was left matters."""

    data: Path
    person: str
    loaded: Loaded | None = None
    script: str | None = None
    left: Unfinished | None = None
    settings: Settings = field(default_factory=Settings)
    clock: Clock = field(default_factory=SteadyClock)

    @property
    def is_rehearsal(self) -> bool:
        """Whether the run is kept apart and never counts."""
        return self.clock.speed != 1

    @property
    def resumable(self) -> Unfinished | None:
        """The session that was left, where it ran at the speed asked for."""
        return self.left if self.left is not None and speed_of(self.left) == self.clock.speed else None


def speed_of(left: Unfinished) -> float:
    """Return the speed at which a session that was left ran."""
    return left.log.opened.speed if left.log.opened is not None else 1.0


@dataclass(frozen=True, slots=True)
class Opening:
    """How a session opens: the one that was left is resumed, or a new one begins as it is due.

    `early_h` hours since the last hard session, where it begins too early; `tries_key` where the key is to be
    tried first; `last` holds last time's first failures (s); `remarks` are shown when it begins.
    """

    resumes: bool = False
    script: str | None = None
    rungs: Mapping[SetKey, str] = field(default_factory=dict)
    first_sides: Mapping[str, Side] = field(default_factory=dict)
    without: frozenset[SetKey] = frozenset()
    early_h: float | None = None
    tries_key: bool = False
    last: Mapping[SetKey, float] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


class Run:
    """One run of one session: its driver and its log, to be used in a `with`."""

    def __init__(
        self, driver: Driver, writer: LogWriter, heartbeat: Heartbeat, begin: Callable[[], None]
    ) -> None:
        self.driver = driver
        self.begin = begin  # to be called once somebody listens
        self.is_written = False  # whether all of the session is in its file, once the run is over
        self._is_begun = driver.engine.session.n >= 0  # it was left, and is resumed
        driver.listen(self._heard)
        self.writer = writer
        self.elsewhere: Path | None = None  # the data folder that all of it goes to instead
        self._is_let_go = False
        self._heartbeat = heartbeat

    def __enter__(self) -> "Run":
        self._heartbeat.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if not self._is_let_go:
            self.end()

    def _heard(self, new: list[AnyEvent]) -> None:
        for event in new:
            is_symptom = isinstance(event, Stopped) and event.reason == "symptom"
            self._is_begun = self._is_begun or is_symptom or event.ev in BEGUN

    @property
    def is_unbegun(self) -> bool:
        """Whether it is over before anything of its script began: nothing of it stays."""
        return self.driver.is_done and not self._is_begun

    def end(self) -> bool:
        """Let everything go; return whether all of the session is in its file, or nothing of it is to be.

        A disk that does not answer is waited for 3 s.
        """
        self._is_let_go = True
        self._heartbeat.stop()
        self.driver.end_voice()
        if self.is_unbegun:
            self.writer.discard()
            self.is_written = True
            return True
        self.is_written = self.writer.close()
        return self.is_written

    def save_elsewhere(self, data: Path) -> bool:
        """Write the whole session, which is over, into another data folder; return whether it is there."""
        opened = self.driver.engine.session.opened
        if opened is not None:
            self.elsewhere = data
            self.writer.move_to(session_folder(data, opened.person, rehearsal=opened.speed != 1))
        return self.end()

    @property
    def left(self) -> str | None:
        """Why it was left: in silence, from the menu, or since the program was asked to end; else None."""
        return self.driver.engine.session.left or self.driver.asked_to_leave

    def exit_code(self) -> ExitCode:
        """Return what the command ends with, once the run is over."""
        session = self.driver.engine.session
        if not self.is_written:
            return ExitCode.NOT_WRITTEN
        if self.left is not None:
            return LEFT_EXIT.get(self.left, ExitCode.STOPPED)
        return ExitCode.STOPPED if session.stopped else ExitCode.DONE


def open_new(request: RunRequest, loaded: Loaded, opening: Opening, player: Player, speech: Speech) -> Run:
    """Open a new session, its log held by the caller. Raises UnknownScriptError."""
    how = opening
    timeline = compile_script(loaded.program, how.script, how.rungs, how.first_sides, how.without)
    session = new_session_id(datetime.now(UTC))
    folder = session_folder(request.data, request.person, rehearsal=request.is_rehearsal)
    tries_key = how.tries_key and bool(timeline.sets)
    run = _run(request, timeline, LogWriter(folder, session), None, player, speech, tries_key=tries_key)
    opened: dict[str, object] = {
        "session": session,
        "person": request.person,
        "program": timeline.program,
        "script": timeline.script,
        "program_text": loaded.text,
        # in the order the sets are done
        "rungs": [{"exercise": s.exercise, "side": s.side, "rung": s.rung.name} for s in timeline.sets],
        "early_h": how.early_h,
        "version": __version__,
    }
    run.begin = lambda: run.driver.begin(opened)
    return run


def resume(request: RunRequest, left: Unfinished, player: Player, speech: Speech) -> Run:
    """Resume a session, its log held by the caller. Raises TooLateToResumeError, BrokenSessionError."""
    if left.age_s > RESUME_WITHIN_S:
        raise TooLateToResumeError("you left it more than 60 minutes ago, so it can only be closed")
    run = _reopened(request, left.log, player, speech)
    # on from the last event by the wall clock, never backwards
    t = left.log.state().t + max(0.0, left.age_s) * request.clock.speed
    run.begin = lambda: run.driver.resume(t)
    return run


def close_left(request: RunRequest, left: Unfinished) -> Run:
    """Close a session that was left; return its run, which is over. Raises BrokenSessionError."""
    run = _reopened(request, left.log, OffPlayer(), Speech())
    run.driver.close_later()
    run.end()
    return run


def _reopened(request: RunRequest, log: SessionLog, player: Player, speech: Speech) -> Run:
    timeline = _timeline_of(log)
    return _run(request, timeline, LogWriter.resume(log), log.state(), player, speech)


def _timeline_of(log: SessionLog) -> Timeline:
    """Return what a session follows, by its log alone: its program file may have changed since."""
    opened = log.opened
    if opened is None:
        raise BrokenSessionError(f"{log.session}: the first line of its log is lost")
    rungs = {(due.exercise, due.side): due.rung for due in opened.rungs}
    first_sides: dict[str, Side] = {}
    for due in opened.rungs:
        first_sides.setdefault(due.exercise, due.side)
    try:
        program = loads(opened.program_text, f"{opened.session}.toml").program
        every = compile_script(program, opened.script)
        left_out = {(s.exercise, s.side) for s in every.sets} - rungs.keys() if rungs else set()
        return compile_script(program, opened.script, rungs, first_sides, left_out)
    except (ProgramError, UnknownScriptError) as error:
        message = f"{log.session}: the program in its log can't be used: {error}"
        raise BrokenSessionError(message) from None


def _run(
    request: RunRequest,
    timeline: Timeline,
    writer: LogWriter,
    past: Session | None,
    player: Player,
    speech: Speech,
    *,
    tries_key: bool = False,
) -> Run:
    engine = Engine(timeline, request.settings, past, tries_key=tries_key)
    heartbeat = Heartbeat(_boottime)
    speech.voice.want([*([TRY_KEY] if tries_key else []), *pieces_ahead(timeline.parts)])
    driver = Driver(engine, request.clock, writer, player, take_anchor, heartbeat, speech)
    return Run(driver, writer, heartbeat, begin=driver.tick)


def _boottime() -> float | None:
    ns = boottime_ns()
    return None if ns is None else ns / 1e9
