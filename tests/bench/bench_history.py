"""What a long history costs: `next` in a process of its own over years of led sessions. Run by hand:

python -m tests.bench.bench_history [sessions ...] [profile]

The files are those the engine makes: six invented weeks, set in a row at other times until there are enough.
Beside it stands what reading the same files with json alone takes, and what the parts of the work take. Every
command that reads the past, and the end of each session, keeps a digest of it: only the first one takes long.
"""

import cProfile
import json
import pstats
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from holdtimer.log.folder import SUFFIX, session_folder
from holdtimer.log.history import read_summaries
from holdtimer.log.lines import encode
from holdtimer.log.reader import read_person
from holdtimer.program.loading import find, load
from holdtimer.progression.due import due
from holdtimer.session import events as ev
from tests.invented.six_weeks import PERSON, InventedSession, six_weeks

PROGRAM = "chair-and-counter"
APART = timedelta(hours=58)  # three a week
LAST = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)


def files(sessions: list[InventedSession], count: int) -> Iterator[tuple[str, bytes]]:
    """Yield name and content of the file of each session, and of what was answered to it."""
    for number in range(count):
        start = LAST - APART * (count - 1 - number)
        name = f"{start:%Y%m%dT%H%M%SZ}-{number:08x}"
        each = sessions[number % len(sessions)]
        yield name, b"".join(encode(_moved(event, name, start)) for event in each.events)
        answered = f"{start + timedelta(hours=1):%Y%m%dT%H%M%SZ}-{number:08x}"
        said = [_answer(event, answered, name) for event in each.said]
        yield answered, b"".join(map(encode, said))


def _moved(event: ev.AnyEvent, session: str, start: datetime) -> ev.AnyEvent:
    if isinstance(event, ev.Opened):
        return event.model_copy(update={"session": session})
    if isinstance(event, ev.Anchor):
        return event.model_copy(update={"wall": (start + timedelta(seconds=event.t)).isoformat()})
    return event


def _answer(event: ev.AnyEvent, name: str, session: str) -> ev.AnyEvent:
    if isinstance(event, ev.Opened):
        return event.model_copy(update={"session": name, "about": session})
    if isinstance(event, ev.Answer):
        return event.model_copy(update={"session": session})
    return event


def fresh(*args: str, before: Callable[[], object] = lambda: None) -> float:
    """Return the seconds a command takes in a process of its own, the best of three."""
    times = []
    for _ in range(3):
        before()
        begun = time.perf_counter()
        subprocess.run([sys.executable, *args], check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - begun)
    return min(times)


def seconds(work: Callable[[], object], before: Callable[[], object] = lambda: None) -> float:
    """Return how long one call took, the best of three."""
    times = []
    for _ in range(3):
        before()
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def no_digest(data: Path) -> None:
    """Forget what was read before."""
    for path in data.glob(".*.digest"):
        path.unlink()


def with_json_alone(folder: Path) -> None:
    """Read every line of every file with json and keep nothing."""
    for path in folder.glob(f"*{SUFFIX}"):
        for line in path.read_bytes().splitlines():
            json.loads(line)


def measure(sessions: list[InventedSession], count: int) -> None:
    """Print what `next` takes over `count` sessions, in all and in parts."""
    with tempfile.TemporaryDirectory() as root:
        data, lines, size = Path(root), 0, 0
        folder = session_folder(data, PERSON)
        folder.mkdir(parents=True)
        for name, content in files(sessions, count):
            (folder / f"{name}{SUFFIX}").write_bytes(content)
            lines, size = lines + content.count(b"\n"), size + len(content)
        windows = sum(isinstance(event, ev.WindowOpen) for each in sessions for event in each.events)
        print(f"{count} sessions of {windows / len(sessions):.1f} sets, {lines} lines, {size / 1e6:.1f} MB")
        program = load(find(PROGRAM)).program
        past = read_summaries(data, PERSON).sessions
        reads = lambda: read_summaries(data, PERSON)  # noqa: E731
        hold = ["-m", "holdtimer", "next", PROGRAM, "--json", "--data", root, "--person", PERSON]
        print(f"  next, the first time       {fresh(*hold, before=lambda: no_digest(data)):.3f} s")
        print(f"  next, from then on         {fresh(*hold):.3f} s")
        print(f"  json alone                 {seconds(lambda: with_json_alone(folder)):.3f} s")
        print(f"  all events                 {seconds(lambda: read_person(data, PERSON)):.3f} s")
        print(f"  past sessions, afresh      {seconds(reads, before=lambda: no_digest(data)):.3f} s")
        print(f"  past sessions, digested    {seconds(reads):.3f} s")
        print(f"  what is due                {seconds(lambda: due(program, past, LAST)):.3f} s")
        if "profile" in sys.argv:
            no_digest(data)
            profile = cProfile.Profile()
            profile.runcall(read_summaries, data, PERSON)
            pstats.Stats(profile).sort_stats("tottime").print_stats(18)


if __name__ == "__main__":
    weeks = six_weeks(load(find(PROGRAM)))
    for argument in [each for each in sys.argv[1:] if each.isdecimal()] or ["150", "1500", "15000"]:
        measure(weeks, int(argument))
