"""How `next` grows with the years of a log: by hand, `python -m tests.bench.bench_next`.

Prints the time that `due` takes over 1,500 and 15,000 sessions (ten and a hundred years of one person, some
eight sets a session), that `verdicts_after` and the trend take, and beside them a plain sort of the same
sessions. It grows linearly when the last column stays near 10.
"""

import gc
import random
import statistics
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from holdtimer.program.loading import find, load
from holdtimer.progression.due import due
from holdtimer.progression.forecast import verdicts_after
from holdtimer.progression.trend import trend
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary
from tests.invented.six_weeks import six_weeks

NOW = datetime(2026, 5, 20, 18, 0, tzinfo=UTC)
SIZES = (1_500, 15_000)


def years(sessions: list[SessionSummary], count: int) -> list[SessionSummary]:
    """Return so many sessions, 58 h apart, the times of the six invented weeks over and over."""
    chance = random.Random(1)
    return [
        replace(
            sessions[index % len(sessions)],
            session=f"s{index}",
            started=NOW - timedelta(hours=58 * (count - index)),
            ended=NOW - timedelta(hours=58 * (count - index) - 0.5),
            results=tuple(_shaken(each, chance) for each in sessions[index % len(sessions)].results),
        )
        for index in range(count)
    ]


def _shaken(result: SetResult, chance: random.Random) -> SetResult:
    if result.first_failure_s is None:
        return result
    return replace(result, first_failure_s=min(89.0, result.first_failure_s * chance.uniform(0.9, 1.1)))


def median_ms(work, rounds: int = 5) -> float:
    """Return the median time of a piece of work in milliseconds."""
    taken = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        taken.append((time.perf_counter() - begun) * 1000)
    return statistics.median(taken)


def main() -> None:
    """Measure and print."""
    loaded = load(find("chair-and-counter"))
    invented = [each.past for each in six_weeks(loaded)]
    histories = [years(invented, size) for size in SIZES]
    gc.freeze()  # the histories themselves are not what is measured
    pieces = {
        "due": lambda past: due(loaded.program, past, NOW),
        "verdicts after the last": lambda past: verdicts_after(past[-1], past, loaded.program),
        "trend": lambda past: trend(loaded.program, past, NOW),
        "sorting alone": lambda past: sorted(past, key=lambda each: (each.started, each.session)),
    }
    print(f"{'':24}" + "".join(f"{size:>10,}" for size in SIZES) + "     times")
    for name, piece in pieces.items():
        few, many = (median_ms(lambda past=past, piece=piece: piece(past)) for past in histories)
        print(f"{name:24}{few:>7.1f} ms{many:>7.1f} ms{many / few:>10.1f}")


if __name__ == "__main__":
    main()
