"""What the record says of one exercise on one side: the verdict, the due rung, and how long to expect there.

The forecast: ln T = level + growth * weeks + what the rung takes + e, with T in seconds and e normal, its sd
the person's own. Where loads are known (holds), the rung takes k ln L, with L the load in any unit; elsewhere
each step of the ladder takes a factor of its own, and the steps of one ladder are alike. Beforehand: the
level is free, so that the unit of the load and the strength of the person say nothing; growth is small; k is
normal round the published exponent of the joint; the sd is somewhere round 0.18. Runs to the end enter as
times that are only known to be longer (`posterior`).

Sources: exponents as in `holdtimer.program.models`, their spread of 0.3 and the limits an estimate of
ours from the local exponents of other curves; day-to-day noise: SEM over mean of timed holds, 7-20 %, in
published tables, and more at home (an estimate); growth of 1.5 % a week and 20 % less time a step: no source.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from holdtimer.program.endurance import exponent
from holdtimer.program.models import Exercise, ExerciseStep, Program, resolve
from holdtimer.program.timeline import SetKey
from holdtimer.progression.history import History, Result, read_history
from holdtimer.progression.posterior import Mixture, Observation, Posterior, Prior, posterior
from holdtimer.progression.verdicts import Verdict, VerdictInput, judge
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted, in_seconds

LATEST = 16  # counted results a forecast rests on
RECENT = timedelta(weeks=12)
GROWS_WITHIN = timedelta(weeks=2)  # of a gap between two results: nobody grows by not training

EXPONENT_SD = 0.3
EXPONENT_LIMITS = (-3.0, -1.3)
STEP = math.log(0.8)  # of ln T, what one step takes where loads are not known
STEP_SDS = (0.16, 0.06)  # of the steps of a ladder together, and of each by itself
STEP_LIMITS = (-1.5, -0.02)  # a harder rung is harder: of the most probable value
GROWTH, GROWTH_SD = 0.015, 0.012  # of ln T a week
REACH = 8  # rungs: where no loads are known, what was done further away says nothing here
SIDE_SD = 0.5  # of ln T between the sides
NOISE = 0.18
_NOISE_SPREAD = 0.5  # of its logarithm, from person to person
SDS = tuple(
    (sd, math.exp(-((math.log(sd / NOISE) / _NOISE_SPREAD) ** 2) / 2))
    for sd in (0.1, 0.133, 0.177, 0.236, 0.314)
)
SHARED = 0.9  # of what other exercises say of the sd

FAMILIARISATION = 2  # results in which one is still getting to know an exercise
MOST_UP = 1.10  # the load rises by 10 % at most, unless the very next rung is further
UNTRIED = 0.9  # of the chance at the present rung, what one that was never done must have
UNTRIED_FROM = 6  # counted results, where no load says what a rung that was never done takes
CHECKED_FROM = 4  # counted results from which on a forecast may overrule the table
_CHECKED = ("early again", "beyond")  # what failed far too early is made easier at once, whatever is likely
_FREE = (-math.inf, math.inf)
_WEEK = timedelta(weeks=1)

Band = tuple[float, float]


@dataclass(frozen=True, slots=True)
class TimedSet:
    """One result at a rung (its place), so many weeks from now (0 or less): failed, or lasted `seconds`."""

    rung: int
    week: float
    seconds: float
    failed: bool


@dataclass(frozen=True, slots=True)
class Ladder:
    """What a forecast needs of a ladder: how many rungs, their loads or none, the exponent of the joint."""

    rungs: int
    loads: tuple[float, ...]
    exponent: float

    @classmethod
    def of(cls, exercise: Exercise) -> "Ladder":
        """Return the ladder of an exercise; loads are those of holds alone."""
        given = exercise.ladder if exercise.kind == "hold" else ()
        loads = tuple(rung.load for rung in given if rung.load is not None)
        return cls(len(exercise.ladder), loads, exponent(exercise.joint))


@dataclass(frozen=True, slots=True)
class _Design:
    """What a result says of which numbers: the level at the rung `here`, growth, and what the steps take."""

    ladder: Ladder
    here: int
    steps: range  # those known of, each by the place of its lower rung; of no use where loads are known

    @classmethod
    def of(cls, ladder: Ladder, here: int, rungs: Iterable[int]) -> "_Design":
        reached = [*rungs, here - 1, here + 1]
        return cls(ladder, here, range(max(0, min(reached)), min(ladder.rungs - 1, max(reached))))

    def row(self, rung: int, week: float = 0.0) -> tuple[float, ...]:
        if self.ladder.loads:
            return 1.0, week, math.log(self.ladder.loads[rung] / self.ladder.loads[self.here])
        taken = [float(self.here <= step < rung) - float(rung <= step < self.here) for step in self.steps]
        return 1.0, week, *taken

    def prior(self) -> Prior:
        growth = 1 / GROWTH_SD**2
        if self.ladder.loads:
            precision = ((0.0, 0.0, 0.0), (0.0, growth, 0.0), (0.0, 0.0, 1 / EXPONENT_SD**2))
            return Prior((0.0, GROWTH, self.ladder.exponent), precision, (_FREE, _FREE, EXPONENT_LIMITS), SDS)
        number = len(self.steps)
        together, own = (sd**2 for sd in STEP_SDS)
        shared = together / (own + number * together) / own  # in the inverse of a matrix of equal covariances
        lines = [[(1 / own if i == j else 0.0) - shared for j in range(number)] for i in range(number)]
        return Prior(
            (0.0, GROWTH, *[STEP] * number),
            ((0.0,) * (2 + number), (0.0, growth, *[0.0] * number), *((0.0, 0.0, *line) for line in lines)),
            (_FREE, _FREE, *[STEP_LIMITS] * number),
            SDS,
        )


@dataclass(frozen=True, slots=True)
class Forecast:
    """How long the next set would last at each rung of a ladder."""

    design: _Design
    posterior: Posterior

    def reaches(self, rung: int) -> bool:
        """Whether a rung is within the steps that are known of."""
        return bool(self.design.ladder.loads) or self.design.steps.start <= rung <= self.design.steps.stop

    def middle_s(self, rung: int) -> float:
        """Return the middle time to failure at a rung, in seconds."""
        return math.exp(self._next(rung).quantile(0.5))

    def expected_s(self, rung: int) -> tuple[float, float, float]:
        """Return the central 80 % of the next result at a rung and its middle: low, middle, high seconds."""
        coming = self._next(rung)
        low, middle, high = (math.exp(coming.quantile(share)) for share in (0.1, 0.5, 0.9))
        return low, middle, high

    def inside(self, rung: int, band_s: Band) -> float:
        """Return the probability that the next failure at a rung falls inside the band."""
        low, high = (math.log(each) for each in band_s)
        coming = self._next(rung)
        return coming.below(high) - coming.below(low)

    def _next(self, rung: int) -> Mixture:
        return self.posterior.of(self.design.row(rung), noise=True)


def forecast(ladder: Ladder, sets: Sequence[TimedSet], present: int) -> Forecast | None:
    """Return the forecast; None where none of the sets is a failure."""
    if not ladder.loads:
        sets = [each for each in sets if abs(each.rung - present) <= REACH]
    if not any(each.failed for each in sets):
        return None
    design = _Design.of(ladder, present, (each.rung for each in sets))
    observed = [Observation(design.row(each.rung, each.week), each.seconds, each.failed) for each in sets]
    return Forecast(design, posterior(observed, design.prior()))


@dataclass(frozen=True, slots=True)
class Difference:
    """How much longer the right side lasts than the left at one rung: the 95 % interval of ln right/left."""

    design: _Design
    posterior: Posterior
    low: float
    high: float

    def middles_s(self, rung: int) -> tuple[float, float]:
        """Return the middle times of left and right at a rung, in seconds."""
        row = self.design.row(rung)
        left, right = (self.posterior.of((*row, side), noise=False).quantile(0.5) for side in (0.0, 1.0))
        return math.exp(left), math.exp(right)


def difference(ladder: Ladder, left: Sequence[TimedSet], right: Sequence[TimedSet]) -> Difference:
    """Compare two sides, one trial of which failed: the same growth, the same steps, a level each."""
    sets = [*((each, 0.0) for each in left), *((each, 1.0) for each in right)]
    design = _Design.of(ladder, left[-1].rung, (each.rung for each, _ in sets))
    prior, none = design.prior(), [0.0] * (len(design.prior().mean))
    both = Prior(
        (*prior.mean, 0.0),
        (*((*line, 0.0) for line in prior.precision), (*none, 1 / SIDE_SD**2)),
        (*prior.limits, _FREE),
        prior.sds,
    )
    observed = [
        Observation((*design.row(each.rung, each.week), side), each.seconds, each.failed)
        for each, side in sets
    ]
    found = posterior(observed, both)
    side = found.of((*none, 1.0), noise=False)
    return Difference(design, found, side.quantile(0.025), side.quantile(0.975))


# ---- from a verdict to the rung that is due


def due_rung(
    verdict: Verdict, loads: Sequence[float], band_s: Band, forecast: Forecast | None, results: int
) -> int:
    """Return the place on the ladder that is due: one rung, or further where evidence on loads allows it.

    `loads` are those of all rungs, empty where they are not known; `results` is how many counted so far.
    Source of the 10 %: American College of Sports Medicine, position stand, Med Sci Sports Exerc
    2009;41:687-708: raise the load by 2-10 %.
    """
    if verdict.word == "same":
        return verdict.rung
    nearest = verdict.rung + (1 if verdict.word == "harder" else -1)
    if forecast is None or not loads or results <= FAMILIARISATION:
        return nearest
    middle = math.log(band_s[0] * band_s[1]) / 2
    target = min(range(len(loads)), key=lambda rung: abs(math.log(forecast.middle_s(rung)) - middle))
    if verdict.word == "easier":
        return min(nearest, target)
    most = loads[verdict.rung] * MOST_UP * (1 + 1e-9)
    return max([nearest, *(rung for rung in range(nearest + 1, target + 1) if loads[rung] <= most)])


# ---- all of it together


@dataclass(frozen=True, slots=True)
class Outlook:
    """Verdict, due rung (its place on the ladder) and the seconds to expect there.

    `expected_s` is low, middle and high: the central 80 % of the next result; None where nothing failed yet.
    `last` is the newest counted result.
    """

    verdict: Verdict
    rung: int
    expected_s: tuple[float, float, float] | None
    last: Result | None


def outlooks(
    program: Program, history: History, bands: Mapping[SetKey, Band], now: datetime
) -> dict[SetKey, Outlook]:
    """Return the outlook of each exercise and side that is to be done with the band given."""
    found, known = {}, _forecasts(program, history, now)
    for key, band_s in bands.items():
        exercise, forecast = program.exercises[key[0]], known.get(key)
        at = _input(exercise, history, key, band_s, now)
        verdict, rung = _decided(exercise, at, judge(at), forecast)
        expected = forecast.expected_s(rung) if forecast is not None and forecast.reaches(rung) else None
        found[key] = Outlook(verdict, rung, expected, at.newest)
    return found


def verdicts_after(
    session: SessionSummary, past: Iterable[SessionSummary], program: Program
) -> dict[SetKey, Verdict]:
    """Return the verdicts as they were after a session, with the corrections known now.

    One for each exercise and side the session has results of; none where the program no longer knows them,
    and none after a rehearsal or a session that can't be placed in time. `past` may hold the session itself
    or not.
    """
    others = [each for each in past if each.session != session.session]
    return verdicts_in(read_history(program, [*others, session]), session, program)


def verdicts_in(history: History, session: SessionSummary, program: Program) -> dict[SetKey, Verdict]:
    """Return the same from a history that holds the session, and perhaps later ones."""
    if session.started is None or session.rehearsal:
        return {}
    then = history.until(session)
    now = max(session.started, session.ended or session.started).astimezone(session.started.tzinfo)
    known: dict[SetKey, Forecast] | None = None  # made only where one may overrule a verdict
    found = {}
    for key, results in then.results.items():
        if results[-1].session == session.session:
            exercise = program.exercises[key[0]]
            at = _input(exercise, then, key, band_of(program, key[0], session.script), now)
            found[key] = judge(at)
            if _may_overrule(at, found[key]):
                known = _forecasts(program, then, now) if known is None else known
                found[key], _ = _decided(exercise, at, found[key], known.get(key))
    return found


def band_of(program: Program, exercise: str, script: str) -> Band:
    """Return the band of an exercise in a script, else in the first that has it, else the exercise's own."""
    scripts = sorted(program.scripts, key=lambda each: each.id != script)
    steps = (step for each in scripts for step in each.steps)
    step = next((s for s in steps if isinstance(s, ExerciseStep) and s.exercise == exercise), None)
    low, high = resolve(program, program.exercises[exercise], step).band_s
    return low, high


def _input(exercise: Exercise, history: History, key: SetKey, band_s: Band, now: datetime) -> VerdictInput:
    start = exercise.rung_index(exercise.start) if exercise.start is not None else None
    return VerdictInput(history.of(key), history.stops, len(exercise.ladder), start or 0, band_s, now)


def _forecasts(program: Program, history: History, now: datetime) -> dict[SetKey, Forecast]:
    """Return the forecast of each exercise and side that has one: what one says of the sd helps the others.

    Days differ for all exercises of a person alike, though not quite: so each counts as less than it says.
    """
    found = {}
    for key, results in history.results.items():
        sets = _timed_sets(results, now)
        if sets and (known := forecast(Ladder.of(program.exercises[key[0]]), sets, sets[0].rung)):
            found[key] = known
    said = {key: [each.evidence for each in known.posterior.components] for key, known in found.items()}
    all_of_them = [sum(each) for each in zip(*said.values(), strict=True)]
    for key, known in found.items():
        others = [SHARED * (every - own) for every, own in zip(all_of_them, said[key], strict=True)]
        found[key] = replace(known, posterior=known.posterior.given(others))
    return found


def _timed_sets(results: Sequence[Result], now: datetime) -> list[TimedSet]:
    """Return what a forecast rests on: the counted results of late, newest first."""
    sets: list[TimedSet] = []
    now = after = now.astimezone(UTC)
    week = 0.0
    for each in reversed(results):
        if len(sets) == LATEST or now - each.at > RECENT:
            break
        if each.counted:
            week -= min(max(after - each.at, timedelta()), GROWS_WITHIN) / _WEEK
            sets.append(TimedSet(each.rung, week, each.lasted_s, each.failed_s is not None))
            after = each.at
    return sets


def _may_overrule(at: VerdictInput, verdict: Verdict) -> bool:
    moves = verdict.word != "same" and verdict.reason in _CHECKED
    return moves and not verdict.hold and not verdict.paused and len(at.counted) >= CHECKED_FROM


def _decided(
    exercise: Exercise, at: VerdictInput, verdict: Verdict, known: Forecast | None
) -> tuple[Verdict, int]:
    """Return the verdict and the due rung, unless the person's own results make the present one likelier.

    A rung that was never done is known from the others alone: there it must be likelier by more.
    """
    ladder = Ladder.of(exercise)
    rung = due_rung(verdict, ladder.loads, at.band_s, known, len(at.counted))
    if known is None or not _may_overrule(at, verdict) or not known.reaches(rung):
        return verdict, rung
    there = tuple(each for each in at.counted if each.rung == rung)
    if not (there or ladder.loads or len(at.counted) >= UNTRIED_FROM):
        return verdict, rung
    least = 1.0 if there else UNTRIED
    if known.inside(rung, at.band_s) >= least * known.inside(verdict.rung, at.band_s):
        return verdict, rung
    name = exercise.ladder[rung].rung
    seen = (
        _seen(there, name)
        if there
        else f"by your results so far {name} is about {in_seconds(known.middle_s(rung))}"
    )
    return _overruled(verdict, there[-3:], seen), verdict.rung


def _overruled(verdict: Verdict, there: tuple[Result, ...], seen: str) -> Verdict:
    """Return same instead, with what happened at the other rung."""
    ahead = "one more first" if verdict.word == "harder" else "stay a little longer"
    return replace(
        verdict,
        word="same",
        reason="forecast",
        because=f"{verdict.because}, but {seen}: {ahead}",
        evidence=(*there, *verdict.evidence),
        would_change=f"another like it makes {verdict.word} likelier",
    )


def _seen(there: Sequence[Result], rung: str) -> str:
    """Return in words what happened lately at a rung: "at hips low you failed at 41 and 47 s"."""
    failed = [in_seconds(each.failed_s) for each in there[-3:] if each.failed_s is not None]
    failed[:-1] = [words.removesuffix(" s") for words in failed[:-1]]  # the last one says the unit
    ran = len(there[-3:]) - len(failed)
    what = [f"failed at {_listed(failed)}"] if failed else []
    what += [f"ran to the end {'once' if ran == 1 else counted(ran, 'time')}"] if ran else []
    return f"at {rung} you {' and '.join(what)}"


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
