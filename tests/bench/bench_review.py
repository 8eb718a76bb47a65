"""How soon the review shows ten years of sessions, and how long it ever holds up its loop.

Run by hand from the root: `python -m tests.bench.bench_review [SESSIONS]`. A task that sleeps 2 ms says how
long the loop was away, in CPU time of all our threads, so that a busy machine changes little. Keys come as
fast as they are handled. The first time is without the digest of the sessions.
"""

import asyncio
import sys
import tempfile
import time
from pathlib import Path

from holdtimer.live.review import Review
from holdtimer.log.folder import SUFFIX, session_folder
from holdtimer.log.history import read_summaries
from holdtimer.program.loading import find, load
from holdtimer.screens.review.sessions import ReviewApp
from tests.bench.bench_history import LAST, PROGRAM, files, no_digest
from tests.invented.six_weeks import PERSON, six_weeks

SIZE = (200, 60)
ACTS = {
    "through the list": ["pagedown"] * 10 + ["end", "home"],
    "a date": ["slash", *"2024-03", "escape"],
    "a session": ["enter", "down", "down"],
    "a set": ["enter", "down", "up"],
    "a stamp moved": [*["left"] * 10, "enter", "u"],
    "the weeks": ["t"],
    "other weeks": ["minus", "right", "left"],
    "back": ["escape", "escape", "escape"],
}


class Watch:
    """Measures how long the loop was away."""

    def __init__(self):
        self.longest = 0.0

    async def run(self):
        before, used = time.perf_counter(), time.process_time()
        while True:
            await asyncio.sleep(0.002)
            now, use = time.perf_counter(), time.process_time()
            self.longest = max(self.longest, min(now - before - 0.002, use - used))
            before, used = now, use

    def taken(self):
        longest, self.longest = self.longest, 0.0
        return f"longest away {longest * 1000:.0f} ms"


async def until(pilot, is_true):
    while not is_true():
        await asyncio.sleep(0.005)


async def measure(data):
    sys.setswitchinterval(0.0005)
    program = load(find(PROGRAM)).program
    app = ReviewApp(Review(data, PERSON, lambda: [program], lambda: LAST))
    watch = Watch()
    begun, used = time.perf_counter(), time.process_time()
    async with app.run_test(size=SIZE) as pilot:
        task = asyncio.create_task(watch.run())
        await until(pilot, lambda: getattr(app.screen, "_shown", ()))
        took = f"{time.perf_counter() - begun:.2f} s ({time.process_time() - used:.2f} s of CPU)"
        print(f"  sessions shown after {took}, {watch.taken()}")
        for what, keys in ACTS.items():
            begun = time.process_time()
            for key in keys:
                await pilot.press(key)
            await pilot.pause()
            running = [each for each in app.workers if not each.is_finished]
            if running:
                await app.workers.wait_for_complete(running)
            await pilot.pause()
            print(f"  {what + ':':18} {time.process_time() - begun:5.2f} s of CPU, {watch.taken()}")
        task.cancel()


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1500
    with tempfile.TemporaryDirectory() as root:
        data = Path(root)
        folder = session_folder(data, PERSON)
        folder.mkdir(parents=True)
        for name, content in files(six_weeks(load(find(PROGRAM))), count):
            (folder / f"{name}{SUFFIX}").write_bytes(content)
        for what in ("the first time", "from then on"):
            print(f"{count} sessions, {what}")
            if what == "the first time":
                no_digest(data)
            else:
                read_summaries(data, PERSON, rehearsals=True)
            asyncio.run(measure(data))


if __name__ == "__main__":
    main()
