"""A real session in a terminal of its own, and a record of all that its sound device was given.

The command runs as a person runs it, against a sound server of its own whose sink leads nowhere. Keys are
pressed by a plan; what was to be heard is noted as it is handed to the worker that plays.
"""

import json
import subprocess
import sys
import tempfile
import time
import wave
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

from holdtimer.cli.paths import speech_folder
from holdtimer.config import Personal
from holdtimer.log.session_log import read_session
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.session.fold import fold
from holdtimer.session.state import Phase
from holdtimer.session.state import Session as State
from holdtimer.sound.announcements import pieces_ahead
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.player import steady
from holdtimer.sound.rendering import SpeechCache
from holdtimer.sound.samples import RATE, read_speech
from holdtimer.sound.speech import speaker_named
from tests.bench.bench_sound import Record, sound_server
from tests.bench.bench_stamps import Session

PROGRAM = """\
format = 1
id = "hall"
title = "Village hall"

[defaults]
window_s = 45
band_s = [20, 45]
final_s = 30
count_in_s = 8
rest_s = 30
side_rest_s = 30
push_s = 3

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
needs = ["a clear wall", "a steady chair"]
setup = ["Back flat on the wall", "Chair in front of your knees"]
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Hands on the seat, slide down again."
ladder = ["hips high", "half way"]

[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
first_side = "left"
tempo = "3-1-2-0"
push_s = 0
needs = ["the kitchen counter"]
setup = ["Both hands flat on the counter"]
failure = "The heel no longer clears the floor."
way_out = "Both feet down, both hands hold."
back_in = "Hands flat, rise again."
ladder = ["both hands", "one hand"]

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}, {exercise = "heel-raise"}]
"""
LAST_TIME = "started,exercise,side,rung,first_failure_s\n{},wall-sit,both,hips high,38.2\n"
RUNGS = ({}, {("wall-sit", "both"): "half way", ("heel-raise", "left"): "one hand"})  # all there can be
TAP, BACKSPACE, HARDER, FOCUS_OUT, FOCUS_IN = b" ", b"\x7f", b"+", b"\x1b[O", b"\x1b[I"

JOINED_S = 0.1  # pieces nearer to each other are one announcement

Plan = Mapping[str, Sequence[tuple[float, bytes]]]
"""The keys to press: by phase and its number, counted by kind, at so many seconds of it."""


@dataclass(frozen=True, order=True)
class Played:
    """A sound that was played at `start` by the steady clock, ordered ahead of it or to be heard at once."""

    start: float
    sound: Sound
    was_ahead: bool

    @property
    def end(self) -> float:
        """When it has faded."""
        return self.start + PATTERNS[self.sound].length_s


@dataclass(frozen=True)
class Said:
    """Something that was said, from `start` to `end` by the steady clock; it may be cut off."""

    start: float
    end: float
    words: str
    is_cut: bool = False


@dataclass(frozen=True)
class Recorded:
    """What the sink was given, from `begin` on by the steady clock, and what it was to be given."""

    samples: np.ndarray
    begin: float
    sounds: tuple[Played, ...]
    pieces: tuple[Said, ...]
    lines: Mapping[str, np.ndarray]  # the samples of the pieces, by their words

    @property
    def said(self) -> tuple[Said, ...]:
        """The pieces put together to announcements."""
        found: list[Said] = []
        for piece in self.pieces:
            last = found[-1] if found else None
            if last and not last.is_cut and 0 <= piece.start - last.end < JOINED_S:
                found[-1] = Said(last.start, piece.end, f"{last.words} {piece.words}", piece.is_cut)
            else:
                found.append(piece)
        return tuple(found)

    def save(self) -> Path:
        """Keep the record to listen to."""
        path = Path(tempfile.gettempdir()) / "holdtimer-session.wav"
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(self.samples.astype(np.int16).tobytes())
        return path


def record(plan: Plan, speaker: str | None, plain: bool) -> Recorded:
    """Lead a session in real time with the keys of a plan; without a speaker nothing is said."""
    with sound_server(), tempfile.TemporaryDirectory() as name:
        folder, recording = Path(name), Record()
        notes = folder / "notes"
        notes.touch()
        with _begun(folder, notes, speaker, plain) as session:
            _press(session, plan)
            _hear_out(notes)
        samples, begin = recording.stop()
        sounds, speech, hushed = _noted(notes)
        texts = _texts(speaker) if speaker else {}
        pieces = tuple(_piece(at, path, texts, hushed) for at, path in speech)
        lines = {texts[path]: np.array(read_speech(path), dtype=float) for _, path in speech}
        return Recorded(samples, begin, tuple(sounds), pieces, lines)


@contextmanager
def _begun(folder: Path, notes: Path, speaker: str | None, plain: bool) -> Iterator[Session]:
    start = ("-m", "tests.bench.noting", str(notes), speaker or "none")
    more = ("--sound", "miniaudio", "--voice", "on" if speaker else "off")
    _keep_last_time(folder)
    session = Session(folder, plain, PROGRAM, more, start)
    try:
        session.begin(until="opened")
        session.press()  # tries the key; the plan begins with ready
        yield session
    finally:
        session.end()


def _keep_last_time(folder: Path) -> None:
    """Keep a result of some days ago, so that there is a last time to tell."""
    program, table = folder / "last.toml", folder / "last.csv"
    program.write_text(PROGRAM)
    table.write_text(LAST_TIME.format(date.today() - timedelta(days=6)))
    words = ("import", str(table), str(program), "--data", str(folder / "data"))
    subprocess.run([sys.executable, "-m", "holdtimer", *words], check=True, stdout=subprocess.DEVNULL)


def _press(session: Session, plan: Plan) -> None:
    """Press the keys of the plan until the session is closed."""
    counts: Counter[Phase] = Counter()
    last, keys = None, []
    for state in _states(session.data):
        if state.phase is Phase.CLOSED:
            return
        if state.opened is not None and (state.phase, state.since) != last:
            last = (state.phase, state.since)
            counts[state.phase] += 1
            scene = f"{state.phase} {counts[state.phase]}"
            print(f"  {scene}", flush=True)
            began = state.opened.mono_ns / 1e9 + state.since
            keys = [(began + at, key) for at, key in plan.get(scene, ())]
        if keys and steady() >= keys[0][0]:
            session.press(keys.pop(0)[1])


def _states(data: Path) -> Iterator[State]:
    """Yield the state that today's log adds up to, 50 times a second; it is read when it has grown."""
    state, size = State(), 0
    while True:
        for path in data.rglob(f"{datetime.now(UTC):%Y%m%d}*.jsonl"):
            if path.stat().st_size != size:
                size = path.stat().st_size
                state = fold(read_session(path).events)
        yield state
        time.sleep(0.02)


def _hear_out(notes: Path) -> None:
    """Wait until all that was ordered has sounded; what ends the session is ordered after it is written."""
    time.sleep(1.0)
    sounds, speech, _ = _noted(notes)
    ends = [each.end for each in sounds]
    ends += [at + len(read_speech(path)) / RATE for at, path in speech]
    time.sleep(max(0.0, max(ends) + 1.5 - steady()))


def _noted(notes: Path) -> tuple[list[Played], list[tuple[float, Path]], list[float]]:
    """Return what was played and what was said, each with its time, and when speech was hushed."""
    played: list[Played] = []
    said: list[tuple[float, Path]] = []
    hushed = []
    for line in notes.read_text().splitlines():
        now, order, at, what = json.loads(line)
        match order:
            case "schedule":
                played.append(Played(max(at, now), Sound(what), at > now))
            case "say":
                said.append((max(at, now), Path(what)))
            case "hush":
                hushed.append(now)
            case "withdraw":
                played = [each for each in played if each.start <= at]
                said = [each for each in said if each[0] <= at]
    return sorted(played), sorted(said), hushed


def _texts(speaker: str) -> dict[Path, str]:
    """Return which text is in which file of the cache, for all there was to say."""
    own = Personal()
    name = speaker_named(speaker, own.voice_words_per_minute).name
    cache, volume = SpeechCache(speech_folder()), own.volume * own.voice_volume
    program = loads(PROGRAM, "hall.toml").program
    parts = [part for rungs in RUNGS for part in compile_script(program, "A", rungs).parts]
    return {cache.path(name, text, volume): text for text in pieces_ahead(parts)}


def _piece(at: float, path: Path, texts: dict[Path, str], hushed: Sequence[float]) -> Said:
    over = at + len(read_speech(path)) / RATE
    end = min([over, *(each for each in hushed if each > at)])
    return Said(at, end, texts[path], end < over)
