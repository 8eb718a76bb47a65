"""A year of function tests of people who do not exist.

By hand: `python -m tests.bench.simulate_function [--people N]`. Each is tested every four weeks, thirteen
times; the first is practice. With no change, how many are told of one at any time of the year? The aim is 5 %
at most where their own error is the published one or less. With growth: how many are told of it, and after
how many test days. With a new chair in the middle: how many are told of a change where only the chair has.
"""

import argparse
import random
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from math import exp

from holdtimer.program.timeline import T25FW_M, Series
from holdtimer.progression.function import FunctionDay, FunctionTrend, State, function_trends
from holdtimer.progression.measurement import Group, error_of

DAYS = 13
START = datetime(2026, 1, 5, 10, tzinfo=UTC)
WEEKS = 4

STAND = Series(protocol="chair-stand-30", variant="hands", seat_cm=46)
CASES: dict[str, tuple[Series, Group, float]] = {
    "chair stands, older adults": (STAND, "older-adults", 10),
    "chair stands, Parkinson": (STAND, "parkinson", 9),
    "five stands, older adults": (Series(protocol="five-stands", variant="crossed"), "older-adults", 16),
    "five stands, MS": (Series(protocol="five-stands", variant="crossed"), "ms", 16),
    "25-foot walk, MS": (
        Series(protocol="timed-walk", lane_m=T25FW_M, pace="fast", start="standing", aid="none"), "ms", 8,
    ),
    "6 m walk, older adults": (
        Series(protocol="timed-walk", lane_m=6, pace="usual", start="standing", aid="none"),
        "older-adults", 1,
    ),
    "6 m walk, after a stroke": (
        Series(protocol="timed-walk", lane_m=6, pace="usual", start="standing", aid="none"), "stroke", 0.6,
    ),
    "up and go, MS": (Series(protocol="up-and-go", seat_cm=46, lane_m=3, pace="usual", aid="none"), "ms", 14),
}  # fmt: skip


def year(
    case: tuple[Series, Group, float], chance: random.Random, own: float = 1.0, growth: float = 0.0,
    chair_at: int = DAYS,
) -> list[FunctionDay]:  # fmt: skip
    """One person's year: `own` times the published error, `growth` as a share, a new chair on a day."""
    series, group, base = case
    error = error_of(series, group)
    standard = own * error.standard(base)
    days = []
    for n in range(DAYS):
        true = base * (1 + growth * n / (DAYS - 1)) * (1.25 if n >= chair_at else 1)
        noise = chance.gauss(0, standard)
        value = true * exp(noise) if error.is_logarithmic else max(0.05, true + noise)
        value = round(value) if series.unit == "stands" else value
        chair = series if n < chair_at else Series(**Series.facts(series) | {"seat_cm": 52})
        days.append(FunctionDay(f"s{n}", START + timedelta(weeks=n * WEEKS), "t", chair, value))
    return days


def looks(days: Sequence[FunctionDay], group: Group) -> Iterator[FunctionTrend]:
    """What is said after each test day."""
    for n in range(1, len(days) + 1):
        yield function_trends(days[:n], group)[-1]


def told(days: Sequence[FunctionDay], group: Group) -> int | None:
    """Return the test day (from 0) on which a change is told first."""
    return next((n for n, each in enumerate(looks(days, group)) if each.state is State.CHANGED), None)


def share_told(name: str, people: int, chance: random.Random, **how: float) -> tuple[float, float]:
    """Return the share of people told of a change in a year, and the mean day on which they were."""
    case = CASES[name]
    found = [told(year(case, chance, **how), case[1]) for _ in range(people)]
    days = [n for n in found if n is not None]
    return len(days) / people, sum(days) / len(days) if days else float("nan")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    chance = random.Random(args.seed)
    print(f"{'told of a change in a year, %':34} no change, own error x 0.5, 1, 1.5 | growth of 50 %, day")
    for name, (series, _, _) in CASES.items():
        none = [100 * share_told(name, args.people, chance, own=own)[0] for own in (0.5, 1.0, 1.5)]
        growth = 0.5 if series.unit != "s" else -1 / 3
        share, day = share_told(name, args.people // 4, chance, growth=growth)
        chair = 100 * share_told(name, args.people // 4, chance, chair_at=7)[0]
        print(
            f"{name:34} {none[0]:5.1f} {none[1]:5.1f} {none[2]:5.1f} | {100 * share:5.1f} {day:5.1f} "
            f"| new chair {chair:4.1f}"
        )


if __name__ == "__main__":
    main()
