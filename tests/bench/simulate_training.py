"""Does the progression work? 300 people who do not exist train by it for twelve weeks. Run by hand:

python -m tests.bench.simulate_training [--people 300] [--seed 1] [--only sets|trend|sides]

Writes nothing, only prints its tables. Same seed, same figures. About four minutes on one core for 300
people. Aims, on seeds that nothing was tuned with: in the band at least 62 %, under 30 s at most 0.5 %,
turns at most 1.2, at the true rung within 4 sessions (median), the 80 % range covering 77-83 % at every
sd; the 95 % interval of the trend covering 93-97 %, at most 17 % of those who do not change told
anything; of sides at most 7 % false claims, and a true 80 % found in 90 %.

Everything is invented. Each person trains twice a week (Monday and Thursday, 18:00) on four ladders in
one script: two holds with loads (steps of 5 and of 10 %), a hold with no loads (a step takes 20 % of the
time) and a coarse one for repetitions (a step takes 35 %). The time to failure of a set is

    ln T = level + growth * weeks + (what the rung takes) + e,     e normal, its sd one person's own

with sd 0.12-0.25, growth 0-4 % a week, and for loads an exponent of one's own, normal round the published
one of the joint (sd 0.3, kept within -3 and -1.3: what the package itself assumes). A third begins at the
right rung, a third two rungs too easy, a third two too hard. T over 90 s is a confirmed run to the end.
The rung of each set is the one `holdtimer.progression.due.due` says; the noise of a person, ladder and
session is the same under every policy. Not simulated: pain, off days, silence, missed sessions, learning
of the first days.

Policies compared: `package` (due); `paper` (ran to the end: one up, failed before 30 s: one down);
`still` (the first rung for ever); `means` (a proposal, one rung at a time: see `by_means`); `oracle`
(knows the person: the rung most likely to fail inside the band, the ceiling).

The trend is asked once, at the end of the twelve weeks, in people who all grow by the same (none, then 2
% a week), so that coverage, false alarms and power can be counted. `given k` has everyone at the
published exponent. Sides are compared in a third as many people whose right side lasts as long as the
left, then 80 % of it, with a noise of its own.
"""

import argparse
import math
import os
import random
import statistics
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the fits are tiny: more threads only cost time

from holdtimer.program.endurance import exponent
from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.progression.due import due
from holdtimer.progression.trend import trend
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

LOW, HIGH, WINDOW = 60.0, 90.0, 90.0
MIDDLE = math.sqrt(LOW * HIGH)
WEEKS, PER_WEEK = 12, 2
FIRST = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)  # a Monday
RUNGS, RIGHT = 15, 6  # on each ladder, and which of them fits in the first week
OFFSETS = (0, -2, 2)  # where people begin, in rungs from the right one


@dataclass(frozen=True)
class Ladder:
    """One exercise: the load ratio or the time ratio of a step."""

    name: str
    words: str
    load_step: float = 0.0
    time_step: float = 0.0
    joint: str = "knee"

    @property
    def kind(self) -> str:
        return "reps" if self.name == "coarse" else "hold"

    def toml(self, start: int, sides: str) -> str:
        rungs = ", ".join(
            f'{{rung = "r{i}", load = {self.load_step**i:.6f}}}' if self.load_step else f'"r{i}"'
            for i in range(RUNGS)
        )
        return (
            f'[exercises.{self.name}]\nname = "{self.words}"\nkind = "{self.kind}"\nsides = "{sides}"\n'
            f'joint = "{self.joint}"\nfailure = "x"\nway_out = "x"\nback_in = "x"\n'
            f'ladder = [{rungs}]\nstart = "r{start}"\n'
        )


LADDERS = (
    Ladder("load5", "hold, loads +5 %", load_step=1.05),
    Ladder("load10", "hold, loads +10 %", load_step=1.10),
    Ladder("plain", "hold, no loads, time x0.80", time_step=0.80),
    Ladder("coarse", "reps, coarse, time x0.65", time_step=0.65),
)


def program(offset: int, ladders: tuple[Ladder, ...] = LADDERS, sides: str = "both") -> Program:
    """Return the program whose ladders start so many rungs from the right one."""
    steps = ", ".join(f'{{exercise = "{each.name}"}}' for each in ladders)
    head = 'format = 1\nid = "simulated"\ntitle = "Simulated"\n'
    body = "".join(each.toml(RIGHT + offset, sides) for each in ladders)
    return loads(
        f'{head}{body}[[scripts]]\nid = "A"\ntitle = "A"\nsteps = [{steps}]\n', "simulated.toml"
    ).program


PROGRAMS = {offset: program(offset) for offset in OFFSETS}
LOADED = {offset: program(offset, LADDERS[:2]) for offset in OFFSETS}  # those with loads alone
SIDED = program(0, sides="each")


@dataclass
class Body:
    """One person on one ladder: what the truth is."""

    ladder: Ladder
    level: float  # ln T at the right rung in the first week
    growth: float
    sd: float
    k: float
    noise: list[float]

    def log_median(self, rung: int, week: float) -> float:
        step = (
            math.log(self.ladder.load_step) * self.k
            if self.ladder.load_step
            else math.log(self.ladder.time_step)
        )
        return self.level + self.growth * week + step * (rung - RIGHT)

    def seconds(self, rung: int, index: int) -> float:
        return max(1.0, math.exp(self.log_median(rung, week_of(index)) + self.noise[index]))

    def best(self, week: float) -> int:
        """Return the rung most likely to fail inside the band."""
        return max(range(RUNGS), key=lambda rung: inside(self.log_median(rung, week), self.sd))


def inside(log_median: float, sd: float) -> float:
    return phi((math.log(HIGH) - log_median) / sd) - phi((math.log(LOW) - log_median) / sd)


def phi(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2


def week_of(index: int) -> float:
    return (start_of(index) - FIRST) / timedelta(weeks=1)


def start_of(index: int) -> datetime:
    week, turn = divmod(index, PER_WEEK)
    return FIRST + timedelta(days=7 * week + 3 * turn)


@dataclass
class Person:
    offset: int
    program: Program
    bodies: dict[str, Body]


def people(number: int, seed: int, growth: float | None = None, given_k: bool = False) -> list[Person]:
    """Return invented people; with `growth` all of them grow by that fraction a week."""
    found = []
    for index in range(number):
        chance = random.Random(f"{seed}/{index}")
        sd, bodies = chance.uniform(0.12, 0.25), {}
        offset = OFFSETS[index % len(OFFSETS)]
        for ladder in LADDERS[:2] if given_k else LADDERS:
            published = exponent(ladder.joint)
            k = min(max(chance.gauss(published, 0.3), -3.0), -1.3)
            k = published if given_k else k
            step = abs(k * math.log(ladder.load_step)) if ladder.load_step else -math.log(ladder.time_step)
            level = math.log(MIDDLE) + chance.uniform(-0.5, 0.5) * step
            grows = math.log1p(chance.uniform(0, 0.04))
            grows = grows if growth is None else math.log1p(growth)
            noise = [chance.gauss(0, sd) for _ in range(WEEKS * PER_WEEK)]
            bodies[ladder.name] = Body(ladder, level, grows, sd, k, noise)
        found.append(Person(offset, (LOADED if given_k else PROGRAMS)[offset], bodies))
    return found


# ---- sessions as the package sees them


def result(number: int, body: Body, rung: int, seconds: float, side: Side = "both") -> SetResult:
    failed = None if seconds > WINDOW else round(seconds, 3)
    return SetResult(
        set=number,
        attempt=1,
        exercise=body.ladder.name,
        side=side,
        kind=body.ladder.kind,
        rung=f"r{rung}",
        window_s=WINDOW,
        band_s=(LOW, HIGH),
        failures_s=() if failed is None else (failed,),
        reentries_s=(),
        first_failure_s=failed,
        ran_to_end=failed is None,
        confirmed=failed is None,
        late_tap_s=None,
        tension_s=WINDOW if failed is None else failed,
        interrupted=False,
        skipped=False,
        stopped=None,
        effort=None,
        form_broke=None,
        pain=None,
        note=None,
        estimated=False,
        perhaps_slip=None,
        counted=True,
        counted_because="",
    )


def session(index: int, results: Iterable[SetResult]) -> SessionSummary:
    start = start_of(index)
    return SessionSummary(
        session=f"{start:%Y%m%dT%H%M%SZ}-{index:08x}",
        person="Nobody",
        program="simulated",
        script="A",
        started=start,
        ended=start + timedelta(minutes=25),
        complete=True,
        rehearsal=False,
        off_day=False,
        is_hard=True,
        symptom=False,
        released=False,
        results=tuple(results),
    )


# ---- policies: (person, past sessions, index, rungs and seconds so far) -> rung and expected seconds

Expected = tuple[float, float, float] | None
Done = dict[str, list[tuple[int, float]]]
Policy = Callable[[Person, list[SessionSummary], int, Done], dict[str, tuple[int, Expected]]]


def by_package(
    person: Person, past: list[SessionSummary], index: int, done: Done
) -> dict[str, tuple[int, Expected]]:
    coming = due(person.program, past, start_of(index))
    assert coming.ready, coming.when
    return {each.exercise: (int(each.rung[1:]), each.outlook.expected_s) for each in coming.sets}


def by_rule(move: Callable[[float], int]) -> Policy:
    def policy(
        person: Person, past: list[SessionSummary], index: int, done: Done
    ) -> dict[str, tuple[int, Expected]]:
        found: dict[str, tuple[int, Expected]] = {}
        for name in person.bodies:
            rung = RIGHT + person.offset
            if done[name]:
                last, seconds = done[name][-1]
                rung = min(max(last + move(seconds), 0), RUNGS - 1)
            found[name] = (rung, None)
        return found

    return policy


def by_means(
    person: Person, past: list[SessionSummary], index: int, done: Done
) -> dict[str, tuple[int, Expected]]:
    """The table of verdicts with two rows changed, to be measured against it.

    What counts is the geometric mean of the last results in a row at the present rung, three at most, a
    run to the end taken for 100 s. A run to the end is harder only where that mean is 80 s or more; a
    second failure before 60 s is easier only where it is under 55 s. Before 30 s is easier at once, and
    harder undone within the last 4 results waits for a second run to the end in a row, both as in the
    package.
    """
    found: dict[str, tuple[int, Expected]] = {}
    for name in person.bodies:
        rung = RIGHT + person.offset
        if done[name]:
            rung = min(max(done[name][-1][0] + _by_means(done[name]), 0), RUNGS - 1)
        found[name] = (rung, None)
    return found


def _by_means(done: list[tuple[int, float]]) -> int:
    rung, last = done[-1]
    row = []
    for there, seconds in reversed(done):
        if there != rung or len(row) == 3:
            break
        row.append(100.0 if seconds > WINDOW else seconds)
    mean = statistics.geometric_mean(row)
    if last < LOW / 2 or (last < LOW and len(row) > 1 and mean < 55):
        return -1
    if last <= HIGH or mean < 80:
        return 0
    rungs = [r for r, _ in done]
    undone = any(
        rungs[i] > rungs[i + 1] and min(rungs[: i + 1]) < rungs[i]
        for i in range(max(0, len(rungs) - 4), len(rungs) - 1)
    )
    return 0 if undone and (len(row) < 2 or row[1] < 100) else 1


def by_oracle(
    person: Person, past: list[SessionSummary], index: int, done: Done
) -> dict[str, tuple[int, Expected]]:
    return {name: (body.best(week_of(index)), None) for name, body in person.bodies.items()}


POLICIES: dict[str, Policy] = {
    "package": by_package,
    "paper": by_rule(lambda seconds: 1 if seconds > WINDOW else -1 if seconds < 30 else 0),
    "still": by_rule(lambda _: 0),
    "means": by_means,
    "oracle": by_oracle,
}


@dataclass
class Course:
    """Twelve weeks of one person: rung, seconds and what was expected, set by set; and the sessions."""

    person: Person
    done: Done
    expected: dict[str, list[Expected]] = field(default_factory=lambda: defaultdict(list))
    past: list[SessionSummary] = field(default_factory=list)


def train(person: Person, policy: Policy) -> Course:
    course = Course(person, {name: [] for name in person.bodies})
    for index in range(WEEKS * PER_WEEK):
        chosen = policy(person, course.past, index, course.done)
        results = []
        for number, (name, (rung, expected)) in enumerate(chosen.items(), start=1):
            seconds = person.bodies[name].seconds(rung, index)
            course.done[name].append((rung, seconds))
            course.expected[name].append(expected)
            results.append(result(number, person.bodies[name], rung, seconds))
        course.past.append(session(index, results))
    return course


# ---- figures


def moves(rungs: list[int]) -> list[int]:
    return [b - a for a, b in pairwise(rungs) if a != b]


def turns(rungs: list[int]) -> int:
    """Return how often the way up became the way down, or the other way about."""
    steps = moves(rungs)
    return sum(a * b < 0 for a, b in pairwise(steps))


def first(found: Iterable[bool]) -> float:
    """Return the number, from 1, of the first that holds; infinite where none does."""
    return next((float(number) for number, each in enumerate(found, start=1) if each), math.inf)


def share(listed: list[bool]) -> float:
    return 100 * sum(listed) / len(listed) if listed else math.nan


def nth(listed: list[float], part: float) -> str:
    if not listed:
        return "-"
    value = sorted(listed)[min(len(listed) - 1, int(part * len(listed)))]
    return "never" if math.isinf(value) else f"{value:.0f}"


def told(courses: list[Course], names: tuple[str, ...]) -> list[str]:
    """Return one row of the table of sets."""
    times = [s for c in courses for n in names for _, s in c.done[n]]
    late = [s for c in courses for n in names for _, s in c.done[n][8:]]
    rungs = [[r for r, _ in c.done[n]] for c in courses for n in names]
    cells = [
        f"{share([LOW <= s <= HIGH for s in times]):.1f}",
        f"{share([LOW <= s <= HIGH for s in late]):.1f}",
        f"{share([s < 30 for s in times]):.1f}",
        f"{share([30 <= s < LOW for s in times]):.1f}",
        f"{share([s > HIGH for s in times]):.1f}",
        f"{statistics.fmean(len(moves(each)) for each in rungs):.2f}",
        f"{statistics.fmean(turns(each) for each in rungs):.2f}",
    ]
    for offset in (-2, 2):
        begun = [c for c in courses if c.person.offset == offset]
        felt = [first(LOW <= s <= HIGH for _, s in c.done[n]) for c in begun for n in names]
        true = [
            first(
                LOW <= math.exp(c.person.bodies[n].log_median(r, week_of(i))) <= HIGH
                for i, (r, _) in enumerate(c.done[n])
            )
            for c in begun
            for n in names
        ]
        cells.append(f"{nth(felt, 0.5)}/{nth(felt, 0.9)}")
        cells.append(f"{nth(true, 0.5)}/{nth(true, 0.9)}")
    return cells


HEAD = [
    "",
    "in band",
    "from s9",
    "<30 s",
    "30-60",
    "to end",
    "moves",
    "turns",
    "easy:felt",
    "easy:true",
    "hard:felt",
    "hard:true",
]


def table(head: list[str], rows: list[list[str]]) -> None:
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    for row in [head, *rows]:
        print(
            "  ".join(
                c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))
            )
        )
    print()


def sets_tables(crowd: list[Person]) -> None:
    every = tuple(each.name for each in LADDERS)
    courses = {name: [train(person, policy) for person in crowd] for name, policy in POLICIES.items()}
    print("SETS, all ladders. Per cent of sets; moves and turns (up then down or down then up) per")
    print("exercise in 12 weeks; sessions (median/90th) until a set fell into the band (felt) and until the")
    print("rung's true median lay in it (true), for those who began 2 rungs too easy and 2 too hard.")
    print("from s9: weeks 5 to 12.")
    table(HEAD, [[name, *told(found, every)] for name, found in courses.items()])
    for ladder in LADDERS:
        print(f"SETS, {ladder.words}")
        table(HEAD, [[name, *told(found, (ladder.name,))] for name, found in courses.items()])
    prediction_table(courses["package"])


GROUPS = (
    ("all", 0, 1),
    ("sd .12-.16", 0.12, 0.16),
    ("sd .16-.21", 0.16, 0.21),
    ("sd .21-.25", 0.21, 0.25),
)


def prediction_table(courses: list[Course]) -> None:
    rows = []
    for words, low, high in GROUPS:
        for ladder in LADDERS:
            told_, below, above, width = 0, 0, 0, []
            for course in courses:
                if not low <= course.person.bodies[ladder.name].sd <= high:
                    continue
                listed = zip(course.done[ladder.name], course.expected[ladder.name], strict=True)
                for (_, seconds), expected in listed:
                    if expected is None:
                        continue
                    told_ += 1
                    below += seconds < expected[0]
                    above += seconds > expected[2]
                    width.append(expected[2] / expected[0])
            if told_:
                inside_ = 100 * (told_ - below - above) / told_
                rows.append(
                    [
                        f"{words}, {ladder.words}",
                        str(told_),
                        f"{inside_:.1f}",
                        f"{100 * below / told_:.1f}",
                        f"{100 * above / told_:.1f}",
                        f"{statistics.median(width):.2f}",
                    ]
                )
    print("PREDICTION, the 80 % range against the time the set would have lasted without the window's end")
    table(["", "told", "inside %", "below %", "above %", "high/low"], rows)


# ---- trend


SENTENCES = ("stronger", "probably stronger", "no change", "probably weaker", "weaker", "too early")


def sort_of(sentence: str) -> str:
    words = sentence.split(": ", 1)[1]
    return next((each for each in SENTENCES if words.startswith(each)), words)


def trend_rows(crowd: list[Person], growth: float, words: str) -> list[list[str]]:
    said: dict[str, Counter[str]] = defaultdict(Counter)
    covered, width, apart, excluded, bias = (defaultdict(list) for _ in range(5))
    now = start_of(WEEKS * PER_WEEK - 1) + timedelta(hours=1)
    for person in crowd:
        course = train(person, by_package)
        for item in trend(person.program, course.past, now).items:
            said[item.exercise][sort_of(item.sentence)] += 1
            if item.change is not None:
                low, high = item.change.interval
                covered[item.exercise].append(low <= 100 * growth <= high)
                width[item.exercise].append(high - low)
                bias[item.exercise].append(item.change.percent - 100 * growth)
                clear = low > 0 or high < 0
                excluded[item.exercise].append(clear)
                apart[item.exercise].append(clear and sort_of(item.sentence) not in ("stronger", "weaker"))
    rows = []
    for ladder in LADDERS:
        name = ladder.name
        if not covered[name]:
            continue
        total = said[name].total()
        rows.append(
            [
                f"{words}, {ladder.words}",
                f"{100 * len(covered[name]) / total:.0f}",
                f"{share(covered[name]):.1f}",
                f"{statistics.median(width[name]):.2f}",
                f"{statistics.fmean(bias[name]):+.2f}",
                *(f"{100 * said[name][each] / total:.1f}" for each in SENTENCES),
                f"{share(excluded[name]):.1f}",
                f"{share(apart[name]):.1f}",
            ]
        )
    return rows


def trend_tables(number: int, seed: int) -> None:
    print(
        "TREND after 12 weeks. told: a change is given; cover: the 95 % interval holds the truth; width and"
    )
    print("bias in per cent a week; then what the sentence says; excl: the interval leaves out 0; apart: it")
    print("does, but the sentence is neither `stronger` nor `weaker`. In per cent of exercises (excl, apart:")
    print("of those told).")
    rows = []
    for growth in (0.0, 0.02):
        for given_k in (False, True):
            crowd = people(number, seed + 1, growth, given_k)
            rows += trend_rows(crowd, growth, f"{100 * growth:+.0f} %{' given k' if given_k else ''}")
    head = [
        "",
        "told",
        "cover",
        "width",
        "bias",
        "strong",
        "prob.str",
        "no chg",
        "prob.weak",
        "weak",
        "early",
        "excl",
        "apart",
    ]
    table(head, rows)


# ---- sides


def sides_rows(number: int, seed: int, percent: float) -> list[list[str]]:
    """Return what is said of two sides, the right lasting so many per cent of the left at the same rung."""
    said: dict[str, list[tuple[str | None, float | None, int]]] = defaultdict(list)
    for index, person in enumerate(people(number, seed)):
        chance, bodies, past = random.Random(f"{seed}/{index}/right"), {}, []
        for name, body in person.bodies.items():
            noise = [chance.gauss(0, body.sd) for _ in body.noise]
            bodies[name, "left"] = body
            bodies[name, "right"] = replace(body, level=body.level + math.log(percent / 100), noise=noise)
        for turn in range(WEEKS * PER_WEEK):
            results, rungs = [], {}
            for one, each in enumerate(due(SIDED, past, start_of(turn)).sets, start=1):
                rung, body = int(each.rung[1:]), bodies[each.exercise, each.side]
                rungs[each.exercise, each.side] = rung
                results.append(result(one, body, rung, body.seconds(rung, turn), each.side))
            past.append(session(turn, results))
        for each in trend(SIDED, past, start_of(WEEKS * PER_WEEK - 1) + timedelta(hours=1)).sides:
            ahead = rungs[each.exercise, "left"] - rungs[each.exercise, "right"]
            said[each.exercise].append((each.weaker, each.percent, ahead))
    rows = []
    for ladder in LADDERS:
        told_ = said[ladder.name]
        right = sorted(p if w == "right" else 1e4 / p if w else 100.0 for w, p, _ in told_ if p is not None)
        apart = [each for each in told_ if each[2]]
        rows.append(
            [
                f"truth {percent:.0f} %, {ladder.words}",
                f"{share([p is not None for _, p, _ in told_]):.0f}",
                f"{share([w == 'right' for w, _, _ in told_]):.0f}",
                f"{share([w == 'left' for w, _, _ in told_]):.0f}",
                f"{share([w is not None and p is not None and p <= 90 for w, p, _ in told_]):.0f}",
                *(nth(right, part) for part in (0.1, 0.5, 0.9)),
                f"{share([bool(ahead) for *_, ahead in told_]):.0f}",
                f"{share([(ahead > 0) == (w == 'left') for w, _, ahead in apart if w]):.0f}",
            ]
        )
    return rows


def sides_table(number: int, seed: int) -> None:
    print(
        "SIDES after 12 weeks, all begin at the right rung. told: a percentage is given; right, left: called"
    )
    print("the weaker; <=90: at 90 % or less; 10th, median, 90th of the right side in per cent of the left;")
    print("apart: they stand on different rungs, and (crossed) how often the side on the harder rung is then")
    print("called the weaker.")
    head = ["", "told", "right", "left", "<=90", "10th", "median", "90th", "apart", "crossed"]
    table(head, [*sides_rows(number, seed + 2, 100), *sides_rows(number, seed + 3, 80)])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--people", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=["sets", "trend", "sides"])
    args = parser.parse_args()
    begun = time.perf_counter()
    print(f"{args.people} people, seed {args.seed}, {WEEKS} weeks x {PER_WEEK} sessions\n")
    if args.only in (None, "sets"):
        sets_tables(people(args.people, args.seed))
    if args.only in (None, "trend"):
        trend_tables(args.people, args.seed)
    if args.only in (None, "sides"):
        sides_table(max(1, args.people // 3), args.seed)
    print(f"{time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
