"""A small program, and a short way to write down what somebody did."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import count

import pytest

from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.progression.due import due
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

PROGRAM = """
format = 1
id = "chair-and-wall"
title = "Chair and wall"

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
joint = "knee"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = [
  {rung = "high", load = 0.60}, {rung = "middle", load = 0.63, was = ["half"]}, {rung = "low", load = 0.66},
  {rung = "lower", load = 0.72}, {rung = "thighs level", load = 0.80},
]
start = "middle"

[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
first_side = "weaker"
failure = "The heel stays down."
way_out = "Both feet down."
back_in = "Rise again."
ladder = ["two hands", "fingertips", "no hands"]

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "heel-raise"}, {exercise = "wall-sit"}]
"""

NOW = datetime(2026, 5, 20, 18, 0, tzinfo=UTC)
NUMBERS = count()  # two sessions of one instant are two

RESULT = SetResult(
    set=1,
    attempt=1,
    exercise="wall-sit",
    side="both",
    kind="hold",
    rung="middle",
    window_s=90.0,
    band_s=(60.0, 90.0),
    failures_s=(),
    reentries_s=(),
    first_failure_s=None,
    ran_to_end=False,
    confirmed=False,
    late_tap_s=None,
    tension_s=90.0,
    interrupted=False,
    skipped=False,
    stopped=None,
    effort=None,
    form_broke=None,
    pain=None,
    note=None,
    estimated_s=(),
    perhaps_slip=None,
    counted=False,
    counted_because="",
)

SESSION = SessionSummary(
    session="",
    person="Wanda",
    program="chair-and-wall",
    script="A",
    started=NOW,
    ended=NOW,
    complete=True,
    rehearsal=False,
    off_day=False,
    is_hard=True,
    symptom=False,
    released=False,
    results=(),
)


@dataclass(frozen=True)
class Diary:
    """Writes past sessions from short words.

    A word is a rung and what happened, such as `middle:52` (failed at 52 s), `middle:end`, `middle:late`,
    `middle:silent`, `middle:skipped`; letters after it add
    `f` (form broke down before), `p` (pain), `o` (off day), `r` (rehearsal).
    """

    now: datetime = NOW

    def result(self, word: str, **fields) -> SetResult:
        rung, _, what = word.partition(":")
        plain = what.rstrip("fpor")
        flags = what[len(plain) :]
        happened = {
            "end": {"ran_to_end": True, "confirmed": True},
            "late": {"ran_to_end": True, "confirmed": True, "late_tap_s": 0.6},
            "silent": {"ran_to_end": True},
            "skipped": {"skipped": True, "tension_s": 0.0},
        }.get(plain)
        if happened is None:
            happened = {
                "first_failure_s": float(plain),
                "failures_s": (float(plain),),
                "tension_s": float(plain),
            }
        counted = plain not in ("silent", "skipped") and not set(flags) & {"o", "r"}
        said = {"form_broke": True if "f" in flags else None, "pain": True if "p" in flags else None}
        return replace(RESULT, rung=rung, counted=counted, **happened, **said, **fields)

    def session(self, days_ago: float, *results: SetResult, **fields) -> SessionSummary:
        started = self.now - timedelta(days=days_ago)
        given = {
            "started": started,
            "ended": started + timedelta(minutes=20),
            "session": f"{started:%Y%m%dT%H%M%SZ}-{next(NUMBERS):08x}",
        }
        numbered = tuple(replace(each, set=number) for number, each in enumerate(results, start=1))
        return replace(SESSION, results=numbered, **(given | fields))

    def weeks(
        self, words: str | Iterable[str], last: float = 3, apart: float = 3, **fields
    ) -> list[SessionSummary]:
        """Return a session for each word, so many days apart, the last so many days ago."""
        listed = words.split(", ") if isinstance(words, str) else list(words)
        return [
            self.session(
                last + apart * (len(listed) - 1 - index),
                self.result(word, **fields),
                off_day=word.rstrip("fpr").endswith("o"),
                rehearsal=word.endswith("r"),
            )
            for index, word in enumerate(listed)
        ]


@pytest.fixture(scope="session")
def program() -> Program:
    return loads(PROGRAM, "chair-and-wall.toml").program


@pytest.fixture(scope="session")
def program_text() -> str:
    return PROGRAM


@pytest.fixture(scope="session")
def diary() -> Diary:
    return Diary()


@pytest.fixture(scope="session")
def now() -> datetime:
    return NOW


@pytest.fixture
def verdict(program, now):
    """The verdict on the wall sit after some sessions, and the rung that is due."""

    def judge(past, at=now):
        found = next(each for each in due(program, past, at).sets if each.exercise == "wall-sit")
        return found.outlook.verdict, found.rung

    return judge
