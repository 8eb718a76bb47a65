"""A few evenings of one wall sit, written down as the files they leave: for tests of what comes after."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from holdtimer.log.folder import SUFFIX, session_folder
from holdtimer.log.lines import encode
from holdtimer.session import events as ev

PERSON = "Edda"
FIRST = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
APART = timedelta(days=3)

PROGRAM = """
format = 1
id = "wall"
title = "The wall"

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
joint = "knee"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = [{rung = "high", load = 0.60}, {rung = "middle", load = 0.63}, {rung = "low", load = 0.66}]
start = "middle"

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}]
"""


def name_of(number: int) -> str:
    """The id of the session of an evening, from 0."""
    return f"{FIRST + number * APART:%Y%m%dT%H%M%SZ}-{number:08x}"


def write_evenings(data: Path, evenings: Sequence[Sequence[float]], rung: str = "middle", **ended) -> None:
    """Write a session for each evening: the seconds of its taps, in turns a failure and a re-entry.

    `ended` are fields of a `stopped` event that ends the last one.
    """
    folder = session_folder(data, PERSON)
    folder.mkdir(parents=True, exist_ok=True)
    for number, taps in enumerate(evenings):
        is_last = number == len(evenings) - 1
        events = _events(number, taps, rung, ended if is_last else {})
        content = b"".join(encode(event) for event in events)
        (folder / f"{name_of(number)}{SUFFIX}").write_bytes(content)


def _events(number: int, taps: Sequence[float], rung: str, ended: dict) -> list[ev.AnyEvent]:
    about = {"set": 1, "exercise": "wall-sit", "side": "both"}
    start = FIRST + number * APART
    opened = {"session": name_of(number), "person": PERSON, "program": "wall", "script": "A"}
    found: list[ev.AnyEvent] = [
        ev.Opened(n=0, t=0, **opened, program_text=PROGRAM),
        ev.Anchor(n=1, t=0, why="opening", mono_ns=0, wall=start.isoformat()),
        ev.WindowOpen(n=2, t=10, **about, rung=rung, window_s=90, band_s=(60, 90)),
    ]
    for place, at in enumerate(taps):
        kind = ev.ReEntry if place % 2 else ev.Failure
        found.append(kind(n=len(found), t=10 + at, **about, at=at))
    found.append(ev.WindowClosed(n=len(found), t=100, **about, at=90))
    if ended:
        found.append(ev.Stopped(n=len(found), t=101, **ended))
    found.append(ev.Closed(n=len(found), t=120, reason="stopped" if ended else "finished"))
    return found
