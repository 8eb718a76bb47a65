"""Six weeks of a person who does not exist: for tests, demonstrations and pictures.

Everything here is invented. Strength, growth and the noise of the day come from a seed; each session is led
by the engine at the script and rungs that were due, so its events are those a real one would have left.
Planted: an off day, a pain, a slip of the key, a window closed in silence, and a weaker right side.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from holdtimer.log.folder import SUFFIX, session_folder
from holdtimer.log.lines import encode
from holdtimer.program.compiling import compile_script
from holdtimer.program.endurance import exponent
from holdtimer.program.loading import Loaded
from holdtimer.program.timeline import PlannedSet
from holdtimer.progression.due import Due, due
from holdtimer.progression.history import read_history
from holdtimer.progression.spacing import spacing
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.session.rules import SILENCE_S
from holdtimer.session.state import Phase
from holdtimer.session.summary import SessionSummary, summarize

PERSON = "Invented Walker"
ZONE = ZoneInfo("Europe/Berlin")
FIRST = datetime(2026, 3, 2, 18, 0, tzinfo=ZONE)  # a Monday; the clocks change in the fourth week

# which session each thing is planted in, from 0
SLIP, OFF_DAY, SILENCE, PAIN = 3, 5, 7, 9

GROWTH = 0.03  # of ln T a week
NOISE = 0.12
OFF_DAY_FACTOR = 0.65
RIGHT_FACTOR = 0.80
SLIPPED_AT = (20.0, 23.0)  # a knock of the key, put right by another
HARDER_REPS = 0.80  # time at the next rung where loads are not known


@dataclass(frozen=True)
class InventedSession:
    """One session: the events of its file, those of the file of later answers, and how the weeks see it."""

    events: tuple[ev.AnyEvent, ...]
    said: tuple[ev.AnyEvent, ...]
    past: SessionSummary


def six_weeks(
    loaded: Loaded, seed: int = 1, first: datetime = FIRST, weeks: float = 6
) -> list[InventedSession]:
    """Return the invented sessions of a program, oldest first; the same seed gives the same ones."""
    return list(_Walker(loaded, seed, first, weeks).sessions())


def write_logs(data: Path, sessions: list[InventedSession]) -> None:
    """Write the sessions into a data folder, as if they had been led there."""
    folder = session_folder(data, PERSON)
    folder.mkdir(parents=True, exist_ok=True)
    for each in sessions:
        for events in (each.events, each.said):
            name = events[0].session + SUFFIX
            (folder / name).write_bytes(b"".join(encode(event) for event in events))


@dataclass
class _Walker:
    loaded: Loaded
    seed: int
    first: datetime
    weeks: float
    chance: random.Random = field(init=False)
    strength: dict[str, float] = field(init=False)

    def __post_init__(self):
        self.chance = random.Random(self.seed)
        names = self.loaded.program.exercises
        self.strength = {name: math.log(self.chance.uniform(60, 80)) for name in names}

    def sessions(self) -> Iterator[InventedSession]:
        past: list[SessionSummary] = []
        start = self.first
        coming = due(self.loaded.program, past, start)
        while start < self.first + timedelta(weeks=self.weeks):
            session = self._session(len(past), coming, start)
            yield session
            past.append(session.past)
            start, coming = self._next_start(past, start)

    def _next_start(self, past: list[SessionSummary], start: datetime) -> tuple[datetime, Due]:
        """Return an evening on which the next session is due, and that session; one in five is let go."""
        program, evening = self.loaded.program, start
        history = read_history(program, past)
        while True:
            evening += timedelta(days=1)
            moment = evening.replace(hour=self.chance.choice([17, 18]), minute=self.chance.randrange(60))
            if not spacing(program, history, moment).ready or self.chance.random() >= 0.8:
                continue  # most evenings, and told in no time
            coming = due(program, past, moment)
            if coming.ready:
                return moment, coming

    def _session(self, index: int, coming: Due, start: datetime) -> InventedSession:
        program = self.loaded.program
        timeline = compile_script(program, coming.script, coming.rungs, coming.first_sides)
        utc = start.astimezone(UTC)
        name = f"{utc:%Y%m%dT%H%M%SZ}-{self.chance.getrandbits(32):08x}"
        events = _Led(self, index, Engine(timeline), name, start).events()
        said = self._said(index, events[0], events)
        state = summarize(fold(events), [each for each in said if isinstance(each, ev.Answer)])
        assert state is not None
        return InventedSession(tuple(events), tuple(said), state)

    def _said(self, index: int, opened: ev.Opened, events: list[ev.AnyEvent]) -> list[ev.AnyEvent]:
        """Return the file of what was answered in the summary: efforts, and what was planted."""
        sets = [each.set for each in events if isinstance(each, ev.WindowOpen)]
        said = [
            {"set": number, "field": "effort", "value": float(self.chance.randint(7, 10))} for number in sets
        ]
        if index == PAIN:
            said.append({"set": sets[-1], "field": "pain", "value": True})
            said.append({"set": sets[-1], "field": "note", "value": "invented: a sharp pull on the way up"})
        if index == SLIP:
            slip = next(each for each in events if isinstance(each, ev.Failure))
            said.append({"of": slip.n, "field": "slip", "value": True})
        closing = next(each for each in reversed(events) if isinstance(each, ev.Anchor))
        when = datetime.fromisoformat(closing.wall) + timedelta(minutes=1)
        name = f"{when:%Y%m%dT%H%M%SZ}-{self.chance.getrandbits(32):08x}"
        about = {"about": opened.session, "person": opened.person, "program": opened.program}
        answers = [
            ev.Answer(n=n, t=0.0, id=f"{name}:{n}", session=opened.session, **each)
            for n, each in enumerate(said, start=2)
        ]
        anchor = {"n": 1, "t": 0.0, "why": "opening", "wall": f"{when:%Y-%m-%dT%H:%M:%SZ}"}
        return [
            ev.Opened(n=0, t=0.0, kind="answers", session=name, **about),
            closing.model_copy(update=anchor),
            *answers,
            ev.Closed(n=len(answers) + 2, t=0.0, reason="finished"),
        ]

    def seconds(self, planned: PlannedSet, index: int, start: datetime) -> float:
        """Return when this person would fail in a set."""
        log = self.strength[planned.exercise] + GROWTH * ((start - self.first) / timedelta(weeks=1))
        exercise = self.loaded.program.exercises[planned.exercise]
        at = exercise.rung_index(exercise.start or "") or 0
        loads = [rung.load for rung in planned.ladder if rung.load is not None]
        if planned.kind == "hold" and loads:
            log += exponent(planned.joint) * math.log(loads[planned.rung_index] / loads[at])
        else:
            log += math.log(HARDER_REPS) * (planned.rung_index - at)
        if planned.side == "right":
            log += math.log(RIGHT_FACTOR)
        if index == OFF_DAY:
            log += math.log(OFF_DAY_FACTOR)
        return math.exp(log + self.chance.gauss(0, NOISE))


@dataclass
class _Led:
    """One session, led by the engine with an invented hand on the key."""

    walker: _Walker
    index: int
    engine: Engine
    name: str
    start: datetime

    def events(self) -> list[ev.AnyEvent]:
        timeline = self.engine.timeline
        rungs = tuple(ev.DueRung(exercise=s.exercise, side=s.side, rung=s.rung.name) for s in timeline.sets)
        said = {
            "session": self.name,
            "person": PERSON,
            "program": timeline.program,
            "script": timeline.script,
        }
        found = self.engine.record(ev.Opened, 0.0, **said, program_text=self.walker.loaded.text, rungs=rungs)
        found += self._anchor("opening", 0.0)
        now = 0.0
        while not (self.engine.is_over(now) or self.engine.session.left):
            now, more = self._step(now)
            found += more
        found += self._anchor("closing", now + 1)
        return found + self.engine.close(now + 1, "closed-later" if self.engine.session.left else "finished")

    def _step(self, now: float) -> tuple[float, list[ev.AnyEvent]]:
        """Let the session come to its next turn, and do what the person does there."""
        session = self.engine.session
        if session.phase is Phase.WINDOW:
            return self._window()
        if session.phase in (Phase.COUNT_IN, Phase.EASY) or session.is_ready:
            return session.until + 0.3, self.engine.tick(session.until + 0.3)
        soon = max(now, session.since) + self.walker.chance.uniform(2.5, 6)
        if session.asking is not None and self.index == SILENCE and self._is_last(session.asking.set):
            return soon + SILENCE_S, self.engine.tick(soon + SILENCE_S)
        if session.asking is None and self.engine.part() is None:
            return soon, self.engine.tick(soon)
        off_day = session.phase is Phase.READY and self.index == OFF_DAY and not session.off_day
        marked = self.engine.press("o", soon - 1) if off_day else []
        return soon, marked + self.engine.press("space", soon)

    def _window(self) -> tuple[float, list[ev.AnyEvent]]:
        """Work a window: stamp the failure and each time in and out after it, or nothing at all."""
        planned, current = self.engine.part(), self.engine.session.open_set
        assert isinstance(planned, PlannedSet)
        assert current is not None
        opened = current.opened_t or 0.0
        found: list[ev.AnyEvent] = []
        for at in self._presses(planned):
            found += self.engine.press("space", opened + at)
        end = opened + planned.window_s + 0.3
        return end, found + self.engine.tick(end)

    def _presses(self, planned: PlannedSet) -> Iterator[float]:
        chance = self.walker.chance
        at = self.walker.seconds(planned, self.index, self.start)
        if self.index == SILENCE and self._is_last(planned.set):  # the key has died
            return
        if self.index == SLIP and planned.set == 1:
            yield from SLIPPED_AT
        while at < planned.window_s - 1:
            yield at
            at += chance.uniform(8, 14)

    def _is_last(self, number: int) -> bool:
        return number == self.engine.timeline.sets[-1].set

    def _anchor(self, why: str, t: float) -> list[ev.AnyEvent]:
        moment = self.start.astimezone(UTC) + timedelta(seconds=t)
        local = moment.astimezone(ZONE)
        offset = local.utcoffset()
        assert offset is not None
        return self.engine.record(
            ev.Anchor, t, why=why, mono_ns=round(t * 1e9), boottime_ns=round(t * 1e9),
            wall=moment.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            offset_s=round(offset.total_seconds()), zone=ZONE.key, boot_id=f"invented-{self.index}",
        )  # fmt: skip
