"""What the log costs: handing an event in, a flush, and reading years of sessions. Run by hand:

python -m tests.bench.bench_log [sessions ...]
"""

import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from holdtimer.log.folder import session_folder
from holdtimer.log.lines import encode
from holdtimer.log.reader import last_session, read_person, unfinished
from holdtimer.log.writer import LogWriter
from holdtimer.session import events as ev

PERSON = "Ada"
NOT_NEEDED = frozenset(
    {"band", "final-stretch", "dropped", "focus", "silent", "log-trouble", "count-in", "rest", "ready"}
)


def a_session(start: datetime, number: int) -> list[ev.AnyEvent]:
    """Return about 90 events: eight sets, each failed and gone on with."""
    session = f"{start:%Y%m%dT%H%M%SZ}-{number:08x}"
    text = 'name = "Wall sit"\nfailure = "You slide below the start height."\n' * 70
    events: list[ev.AnyEvent] = [
        ev.Opened(n=0, t=0, session=session, person=PERSON, program="chair", program_text=text),
        ev.Anchor(n=1, t=0, why="opening", mono_ns=1, wall=start.isoformat(), boot_id="0" * 36),
    ]
    for index in range(8):
        t = 200.0 * index
        place = {"set": index + 1, "exercise": "wall-sit", "side": "left"}
        target = {**place, "rung": "half way", "window_s": 90, "band_s": (60, 90)}
        for kind, fields in (
            (ev.Rest, {"part": index, "seconds": 90}),
            (ev.Ready, {}),
            (ev.CountIn, {**place, "part": index, "seconds": 10}),
            (ev.WindowOpen, target),
            (ev.Band, {**place, "at": 60}),
            (ev.FinalStretch, {**place, "at": 60}),
            (ev.Failure, {**place, "at": 64.6234, "late_ms": 0.31}),
            (ev.Dropped, {"reason": "guard", "count": 2, "since": t}),
            (ev.ReEntry, {**place, "at": 71.25, "late_ms": 0.31}),
            (ev.WindowClosed, {**place, "at": 90}),
            (ev.Answer, {"id": str(index), "field": "effort", "value": 8, "set": index + 1}),
        ):
            events.append(kind(n=len(events), t=t, **fields))
    return [*events, ev.Closed(n=len(events), t=2000, reason="finished")]


def seconds(work: Callable[[], object]) -> float:
    """Return how long one call took."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def spread(times: list[float]) -> str:
    """Return median, 99th percentile and worst in milliseconds."""
    ranked = sorted(times)
    values = (statistics.median(ranked), ranked[int(0.99 * len(ranked))], ranked[-1])
    return "p50 {:.3f}  p99 {:.3f}  max {:.3f} ms".format(*(1000 * each for each in values))


def writing() -> None:
    """Hand about 1,000 events in, one at a time, each waited for."""
    with tempfile.TemporaryDirectory() as data:
        writer = LogWriter(Path(data), "bench")
        events = [
            event.model_copy(update={"n": n})
            for n, event in enumerate(a_session(datetime.now(UTC), 1)[2:90] * 12)
        ]
        handed, written, saved = [], [], []
        for event in events:
            begun = time.perf_counter()
            receipt = writer.append(event)
            handed.append(time.perf_counter() - begun)
            receipt.wait_written(10)
            written.append(time.perf_counter() - begun)
            while not receipt.saved:
                time.sleep(0)
            saved.append(time.perf_counter() - begun)
        assert writer.close(10)
    print(f"handed in  {spread(handed)}\nwritten    {spread(written)}\nflushed    {spread(saved)}")


def reading(count: int) -> None:
    """Read `count` sessions beside what json.loads alone takes for the same lines."""
    with tempfile.TemporaryDirectory() as root:
        data, start, lines = Path(root), datetime(2000, 1, 1, tzinfo=UTC), []
        folder = session_folder(data, PERSON)
        folder.mkdir(parents=True)
        for number in range(count):
            events = a_session(start + timedelta(hours=12 * number), number)
            content = b"".join(map(encode, events))
            lines.extend(content.splitlines())
            (folder / f"{events[0].session}.jsonl").write_bytes(content)
        print(f"{count} sessions, {len(lines)} lines, {sum(map(len, lines)) / 1e6:.1f} MB")
        now = datetime.now(UTC)
        print(f"  json.loads alone    {seconds(lambda: [json.loads(line) for line in lines]):.3f} s")
        lines.clear()
        print(f"  all events          {seconds(lambda: read_person(data, PERSON)):.3f} s")
        print(f"  as `next` needs     {seconds(lambda: read_person(data, PERSON, skip=NOT_NEEDED)):.3f} s")
        print(f"  last session        {seconds(lambda: last_session(data, PERSON)):.3f} s")
        print(f"  unfinished session  {seconds(lambda: unfinished(data, PERSON, now)):.3f} s")


if __name__ == "__main__":
    writing()
    for argument in sys.argv[1:] or ["1500", "15000"]:
        reading(int(argument))
