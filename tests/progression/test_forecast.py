"""How long the next set is expected to last, and the rung that follows from it."""

import math
import random
from dataclasses import replace

import pytest

from holdtimer.progression.due import due
from holdtimer.progression.forecast import (
    EXPONENT_LIMITS,
    EXPONENT_SD,
    GROWTH,
    GROWTH_SD,
    SDS,
    STEP,
    STEP_SDS,
    Ladder,
    TimedSet,
    difference,
    due_rung,
    forecast,
)
from holdtimer.progression.verdicts import Verdict

KNEE = -1.88
FINE = (10.0, 10.2, 10.4, 10.6, 10.8, 11.0, 11.2, 11.4)
COARSE = (10.0, 12.0, 14.0)
BAND = (60.0, 90.0)
LOADED = Ladder(5, (0.60, 0.63, 0.66, 0.72, 0.80), KNEE)
PLAIN = Ladder(5, (), KNEE)


def trials(*seen):
    """(rung, weeks, seconds), a minus before the seconds of a run to the end."""
    return [TimedSet(rung, week, abs(seconds), seconds >= 0) for rung, week, seconds in seen]


CASES = {
    "one failure": trials((1, 0, 75)),
    "a failure and runs to the end": trials((1, 0, 80), (1, -0.5, -90), (0, -1, -90)),
    "failures at three rungs": trials((2, 0, 70), (3, -0.4, 61), (1, -1, 88)),
    "two windows": trials((2, 0, 55), (1, -0.5, -90), (0, -1, 100), (0, -1.5, -60)),
    "early, against a run to the end": trials((1, 0, 10), (1, -0.5, -90)),
    "seven of one rung": trials(*((2, -0.5 * i, s) for i, s in enumerate((66, 71, -90, 75, 80, -90, 84)))),
}  # fmt: skip


# ---- against another hand


def reference(ladder, seen):
    """The same posterior by brute force: many draws of everything from its prior, weighted by the likelihood.

    The level, which has no prior, is summed over a grid. Returns the probability of less at a rung.
    """
    np, special = pytest.importorskip("numpy"), pytest.importorskip("scipy.special")
    draw = np.random.default_rng(5)
    count, here = 3000, seen[0].rung
    sds, weights = (np.array(each) for each in zip(*SDS, strict=True))
    sd = draw.choice(sds, count, p=weights / weights.sum())
    growth = draw.normal(GROWTH, GROWTH_SD, count)
    if ladder.loads:
        k = draw.normal(ladder.exponent, EXPONENT_SD, count)
        kept = 1.0 * ((EXPONENT_LIMITS[0] < k) & (k < EXPONENT_LIMITS[1]))
        taken = {r: k * math.log(ladder.loads[r] / ladder.loads[here]) for r in range(ladder.rungs)}
    else:
        steps = (
            STEP
            + draw.normal(0, STEP_SDS[0], (1, count))
            + draw.normal(0, STEP_SDS[1], (ladder.rungs - 1, count))
        )
        kept = np.ones(count)
        up = np.vstack([np.zeros(count), np.cumsum(steps, axis=0)])
        taken = {r: up[r] - up[here] for r in range(ladder.rungs)}
    level = np.linspace(math.log(10), math.log(400), 150)
    log = np.zeros((count, level.size))
    for trial in seen:
        mu = level[None, :] + (growth * trial.week + taken[trial.rung])[:, None]
        z = (math.log(trial.seconds) - mu) / sd[:, None]
        log += -z * z / 2 - np.log(sd)[:, None] if trial.failed else special.log_ndtr(-z)
    weight = np.exp(log - log.max()) * kept[:, None]
    drawn, at = np.nonzero(weight > 1e-9)  # of 1
    weight = weight[drawn, at] / weight.sum()

    def below(rung, value):
        mean = level[at] + taken[rung][drawn]
        return float(weight @ special.ndtr((math.log(value) - mean) / sd[drawn]))

    return below


@pytest.mark.parametrize("ladder", [LOADED, PLAIN], ids=["loads", "no loads"])
@pytest.mark.parametrize("seen", CASES.values(), ids=CASES.keys())
def test_the_range_is_the_central_eighty_per_cent_of_the_whole_posterior(ladder, seen):
    below = reference(ladder, seen)
    found = forecast(ladder, seen, seen[0].rung)
    for rung in (seen[0].rung, seen[0].rung + 1):
        shares = [below(rung, seconds) for seconds in found.expected_s(rung)]
        assert shares == pytest.approx([0.1, 0.5, 0.9], abs=0.045)
        inside = below(rung, 90) - below(rung, 60)
        assert found.inside(rung, BAND) == pytest.approx(inside, abs=0.045)


@pytest.mark.parametrize("sd", [0.133, 0.236])
@pytest.mark.parametrize("seen", CASES.values(), ids=CASES.keys())
def test_the_most_probable_numbers_agree_with_a_reference_optimiser(seen, sd):
    optimize = pytest.importorskip("scipy.optimize")
    log_below = pytest.importorskip("scipy.special").log_ndtr

    def cost(at):
        level, growth, k = at
        total = (((k - KNEE) / EXPONENT_SD) ** 2 + ((growth - GROWTH) / GROWTH_SD) ** 2) / 2
        for trial in seen:
            mu = (
                level
                + growth * trial.week
                + k * math.log(LOADED.loads[trial.rung] / LOADED.loads[seen[0].rung])
            )
            z = (math.log(trial.seconds) - mu) / sd
            total += z * z / 2 if trial.failed else -log_below(-z)
        return total

    best = optimize.minimize(
        cost, (4.3, GROWTH, KNEE), bounds=[(None, None), (None, None), EXPONENT_LIMITS], method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 6000, "maxfev": 9000},
    )  # fmt: skip
    found = forecast(LOADED, seen, seen[0].rung).posterior
    component = next(each for each in found.components if each.sd == sd)
    assert component.mean == pytest.approx(list(best.x), abs=2e-4)


# ---- what holds of every forecast


def test_without_a_failure_there_is_no_forecast():
    assert forecast(LOADED, trials((1, 0, -90), (2, -1, -90)), 1) is None
    assert forecast(PLAIN, [], 1) is None


def test_a_run_to_the_end_says_more_than_a_failure_at_the_end():
    failed = forecast(LOADED, trials((0, 0, 75), (0, -1, 90)), 0)
    ran = forecast(LOADED, trials((0, 0, 75), (0, -1, -90)), 0)
    assert ran.middle_s(0) > failed.middle_s(0)


def test_the_unit_of_the_load_makes_no_difference():
    pounds = replace(LOADED, loads=tuple(2.2046 * load for load in LOADED.loads))
    seen = CASES["failures at three rungs"]
    assert forecast(LOADED, seen, 2).expected_s(3) == pytest.approx(forecast(pounds, seen, 2).expected_s(3))


def test_a_failure_at_the_very_start_is_a_failure_within_a_second():
    assert forecast(LOADED, trials((0, 0, 0.0)), 0).middle_s(0) == pytest.approx(1.0)


@pytest.mark.parametrize("ladder", [LOADED, PLAIN])
def test_far_apart_results_still_give_finite_numbers(ladder):
    found = forecast(ladder, trials((0, 0, 1), *[(4, -i, -600) for i in range(1, 8)]), 0)
    assert all(math.isfinite(each) for rung in range(5) for each in found.expected_s(rung))


@pytest.mark.parametrize("ladder", [LOADED, PLAIN])
@pytest.mark.parametrize("seen", CASES.values(), ids=CASES.keys())
def test_a_harder_rung_is_never_expected_to_last_longer(ladder, seen):
    found = forecast(ladder, seen, seen[0].rung)
    middles = [found.middle_s(rung) for rung in range(5) if found.reaches(rung)]
    assert middles == sorted(middles, reverse=True)


def test_the_exponent_is_kept_within_its_limits():
    wide = Ladder(3, (1.0, 2.0, 4.0), KNEE)
    flat = forecast(wide, trials((0, 0, 90), (1, 0, 80), (2, 0, 70)), 0)
    assert all(each.mean[2] == EXPONENT_LIMITS[1] for each in flat.posterior.components)


def test_steps_are_learned_from_the_person_and_shared_along_the_ladder():
    seen = trials(
        *((rung, -i / 2, s) for i, (rung, s) in enumerate([(2, 48), (1, 75), (2, 50), (1, 77), (2, 47)]))
    )
    found = forecast(PLAIN, seen, 2)
    assert found.middle_s(2) / found.middle_s(1) < 0.75  # 0.64 by these results, 0.8 beforehand
    assert found.middle_s(3) / found.middle_s(2) < 0.79  # a step nobody took yet


def test_the_range_narrows_for_the_steady_and_widens_for_the_changeable():
    """Beforehand the sd is round 0.18; twelve results say more."""
    chance = random.Random(3)
    for sd, least, most in ((0.08, 1.25, 1.5), (0.28, 1.7, 2.6)):
        seen = trials(*((1, -i / 2, 72 * math.exp(chance.gauss(0, sd))) for i in range(14)))
        low, _, high = forecast(LOADED, seen, 1).expected_s(1)
        assert least < high / low < most
    one = forecast(LOADED, trials((1, 0, 72)), 1).expected_s(1)
    assert 1.8 < one[2] / one[0] < 2.4


def test_further_from_the_rungs_tried_less_is_known():
    found = forecast(LOADED, trials(*((0, -i / 2, 75) for i in range(8))), 0)
    near, far = found.expected_s(0), found.expected_s(4)
    assert far[2] / far[1] > near[2] / near[1]


def test_growth_of_a_person_shows_in_what_is_expected_next():
    def next_one(factor):
        return forecast(
            LOADED, trials(*((1, -i / 2, 75 * factor ** (-i / 2)) for i in range(12))), 1
        ).middle_s(1)

    assert 75 < next_one(1.0) < 78  # a little, beforehand
    assert 70 < next_one(1.04) < 75 < 80 < next_one(0.96) * 1.2
    mean = 75 * 1.04**-2.75  # of what was seen
    assert next_one(1.04) > mean * 1.03


# ---- both sides


def test_a_side_that_is_clearly_shorter_is_found_and_equal_ones_are_not():
    left = trials(*((1, -i / 2, s) for i, s in enumerate((60, 55, 63, 58, 61, 57, 60, 62))))
    right = trials(*((1, -i / 2, s) for i, s in enumerate((75, 78, 80, 70, 76, 74, 79, 77))))
    found = difference(PLAIN, left, right)
    assert 0 < found.low < math.log(76 / 60) < found.high
    one, other = found.middles_s(1)
    assert one / other == pytest.approx(60 / 76, abs=0.03)
    same = difference(PLAIN, left, left)
    assert same.low < 0 < same.high


def test_what_the_rung_takes_is_no_difference_between_sides():
    left = trials(*((1, -i / 2, s) for i, s in enumerate((75, 73, 78, 74, 77, 72))))
    right = trials(*((2, -i / 2, s * 0.8) for i, s in enumerate((75, 73, 78, 74, 77, 72))))
    found = difference(PLAIN, left, right)
    assert found.low < 0 < found.high


# ---- the rung that is due


def rung(word, present, loads, seconds, results=5):
    """The due rung when a hold is known to last so long at the present rung."""
    ladder = Ladder(len(loads), loads, -1.98)
    known = forecast(ladder, trials(*[(present, 0, seconds)] * 5), present) if seconds else None
    return due_rung(Verdict(word, "inside", "", present), loads, BAND, known, results)


def test_same_stays():
    assert rung("same", 2, FINE, 200) == 2


def test_harder_goes_to_the_rung_nearest_the_middle_of_the_band():
    assert rung("harder", 0, FINE, 85) == 4  # 10.8 is expected 72.98 s, nearest 73.48


def test_harder_raises_the_load_by_a_tenth_at_most():
    assert rung("harder", 0, FINE, 200) == 5


def test_harder_takes_the_very_next_rung_even_if_it_is_further():
    assert rung("harder", 0, COARSE, 95) == 1
    assert rung("harder", 0, COARSE, 500) == 1


def test_harder_is_one_rung_where_the_forecast_says_stay():
    assert rung("harder", 0, FINE, 70) == 1


def test_easier_is_at_least_one_rung_and_goes_towards_the_middle():
    assert rung("easier", 7, FINE, 70) == 6
    assert rung("easier", 7, FINE, 60) == 1  # 10.2 is expected 74.78 s
    assert rung("easier", 7, FINE, 20) == 0


def test_the_first_two_results_move_one_rung_at_most():
    assert rung("harder", 0, FINE, 200, results=2) == 1
    assert rung("easier", 7, FINE, 20, results=2) == 6


def test_without_a_forecast_it_is_one_rung():
    assert rung("harder", 0, FINE, None) == 1
    assert rung("easier", 7, FINE, None) == 6


@pytest.fixture
def wall_sit(program, now):
    def find(past):
        return next(each for each in due(program, past, now).sets if each.exercise == "wall-sit")

    return find


def test_runs_to_the_end_alone_move_one_rung_and_forecast_nothing(diary, wall_sit):
    found = wall_sit(diary.weeks("high:end, middle:end, low:end"))
    assert found.rung == "lower"
    assert found.outlook.expected_s is None


def test_evidence_lets_harder_skip_a_rung(diary, wall_sit):
    """0.60 to 0.66 is a tenth; 88 s there, then a run to the end."""
    found = wall_sit(diary.weeks("high:88, high:86, high:89, high:end"))
    assert found.rung == "low"


def test_only_results_of_twelve_weeks_make_a_forecast(diary, wall_sit):
    old = diary.weeks("high:20, high:20, high:20", last=85)
    fresh = diary.weeks("high:75")
    assert wall_sit(old + fresh).outlook.expected_s == wall_sit(fresh).outlook.expected_s


def test_ladders_without_loads_have_a_forecast_and_move_one_rung(program, diary, now):
    words = ["two hands:75"] * 3 + ["two hands:end"]
    past = diary.weeks(words, exercise="heel-raise", side="left", kind="reps")
    left = next(each for each in due(program, past, now).sets if each.side == "left")
    assert left.rung == "fingertips"
    low, middle, high = left.outlook.expected_s
    assert low < middle < high
    assert middle < 75


def test_nobody_is_thought_to_grow_while_not_training(diary, wall_sit):
    words = ", ".join(["low:75"] * 6)
    soon = wall_sit(diary.weeks(words, last=14)).outlook.expected_s[1]
    later = wall_sit(diary.weeks(words, last=20)).outlook.expected_s[1]
    assert later == pytest.approx(soon, rel=1e-6)


def test_the_steadiness_of_other_exercises_narrows_the_range(program, diary, now, wall_sit):
    alone = [diary.session(3 * n, diary.result("low:75")) for n in range(1, 4)]
    heel = [
        diary.result(f"two hands:{s}", exercise="heel-raise", side="left", kind="reps") for s in (74, 75, 76)
    ]
    both = [
        replace(each, results=(*each.results, replace(one, set=2)))
        for each, one in zip(alone, heel, strict=True)
    ]
    narrow, wide = wall_sit(both).outlook.expected_s, wall_sit(alone).outlook.expected_s
    assert narrow[2] / narrow[0] < wide[2] / wide[0]
