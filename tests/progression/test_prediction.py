import math
import random

import pytest

from holdtimer.progression.prediction import (
    EXPONENT_LIMITS,
    EXPONENT_SD,
    NOISE_SD,
    Prediction,
    Trial,
    predict,
)
from tests.tables import every

KNEE = -1.88


def reference(trials, exponent):
    """The same estimate by a general optimiser, written from the model alone; a is told at the first load."""
    optimize = pytest.importorskip("scipy.optimize")
    norm = pytest.importorskip("scipy.stats").norm
    x0 = sum(math.log(trial.load) for trial in trials) / len(trials)

    def cost(at):
        level, k = at
        total = -norm.logpdf(k, exponent, EXPONENT_SD)
        for trial in trials:
            mu, y = level + k * (math.log(trial.load) - x0), math.log(trial.seconds)
            total -= norm.logpdf(y, mu, NOISE_SD) if trial.failed else norm.logsf(y, mu, NOISE_SD)
        return total

    start = (math.log(max(trial.seconds for trial in trials)), exponent)
    found = optimize.minimize(
        cost,
        start,
        bounds=[(None, None), EXPONENT_LIMITS],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000, "maxfev": 8000},
    )
    return found.x[0] - found.x[1] * x0, found.x[1]


def line(prediction: Prediction):
    return prediction.level - prediction.exponent * prediction.centre, prediction.exponent


CASES = {
    "one failure": [Trial(0.6, 75, True)],
    "a failure and runs to the end": [Trial(0.6, 90, False), Trial(0.66, 90, False), Trial(0.72, 80, True)],
    "failures at three loads": [Trial(10, 88, True), Trial(12, 61, True), Trial(11, 70, True)],
    "two windows": [Trial(5, 60, False), Trial(5, 100, True), Trial(5.5, 90, False), Trial(6, 55, True)],
    "early, against a run to the end": [Trial(0.6, 10, True), Trial(0.6, 90, False)],
    "kilograms": [Trial(40, 66, True), Trial(42.5, 62, True), Trial(45, 58, True), Trial(37.5, 90, False)],
    "eight of one load": [Trial(0.6, s, s < 90) for s in (66, 71, 90, 75, 80, 90, 90, 84)],
}  # fmt: skip


@every("trials", CASES.values(), ids=CASES.keys())
@every("exponent", [KNEE, -2.27])
def test_the_estimate_agrees_with_a_reference_optimiser_to_four_digits(trials, exponent):
    a, k = line(predict(trials, exponent))
    expected_a, expected_k = reference(trials, exponent)
    assert a == pytest.approx(expected_a, rel=2e-5, abs=2e-5)
    assert k == pytest.approx(expected_k, rel=2e-5)


def test_the_estimate_agrees_on_many_invented_people():
    chance = random.Random(7)
    for _ in range(12):
        a, k = chance.uniform(2, 5), chance.uniform(-3.5, -1.0)
        trials = []
        for _ in range(8):
            load = chance.choice([0.6, 0.66, 0.72, 0.8])
            seconds = math.exp(a + k * math.log(load) + chance.gauss(0, 0.15))
            trials.append(Trial(load, min(seconds, 90), seconds < 90))
        if not any(trial.failed for trial in trials):
            continue
        found = predict(trials, KNEE)
        expected_a, expected_k = reference(trials, KNEE)
        for load in (0.6, 0.8):
            assert found.seconds(load) == pytest.approx(
                math.exp(expected_a + expected_k * math.log(load)), rel=5e-5
            )


@pytest.mark.parametrize(
    ("trials", "limit"),
    [
        ([Trial(1, 90, True), Trial(2, 80, True), Trial(4, 70, True)], -1.3),
        ([Trial(1, 400, True), Trial(1.2, 90, True), Trial(1.5, 20, True), Trial(1.6, 9, True)], -3.0),
    ],
)
def test_the_exponent_is_kept_within_its_limits(trials, limit):
    found = predict(trials, KNEE)
    assert found.exponent == limit
    assert line(found)[0] == pytest.approx(reference(trials, KNEE)[0], rel=2e-5)


def test_without_a_failure_there_is_no_prediction():
    assert predict([Trial(0.6, 90, False)] * 5, KNEE) is None
    assert predict([], KNEE) is None


def test_a_run_to_the_end_tells_more_than_a_failure_at_the_end():
    failed = predict([Trial(0.6, 75, True), Trial(0.6, 90, True)], KNEE)
    ran = predict([Trial(0.6, 75, True), Trial(0.6, 90, False)], KNEE)
    assert ran.seconds(0.6) > failed.seconds(0.6)


def test_the_unit_of_the_load_makes_no_difference():
    kilograms = [Trial(10, 88, True), Trial(12, 61, True), Trial(11, 90, False)]
    pounds = [Trial(trial.load * 2.2046, trial.seconds, trial.failed) for trial in kilograms]
    one, other = predict(kilograms, KNEE), predict(pounds, KNEE)
    assert one.expected_s(11) == pytest.approx(other.expected_s(11 * 2.2046))


def test_a_failure_at_the_very_start_is_a_failure_within_a_second():
    found = predict([Trial(0.6, 0.0, True)], KNEE)
    assert found.seconds(0.6) == pytest.approx(1.0)


def test_far_apart_results_still_give_finite_numbers():
    found = predict([Trial(0.6, 1, True), *[Trial(0.9, 600, False)] * 7], KNEE)
    assert all(math.isfinite(each) for each in found.expected_s(0.75))


@pytest.mark.parametrize("name", ["one failure", "failures at three loads", "eight of one load"])
def test_the_range_is_the_central_eighty_per_cent_of_the_next_result(name):
    """Against the whole posterior, summed over a fine grid: the noise of the day and what is unknown."""
    np = pytest.importorskip("numpy")
    norm = pytest.importorskip("scipy.stats").norm
    trials = CASES[name]
    load = trials[0].load * 1.05
    found = predict(trials, KNEE)
    a0, k0 = line(found)
    level = a0 + k0 * math.log(load)  # ln T at this load
    at, k = np.meshgrid(np.linspace(level - 1.5, level + 1.5, 801), np.linspace(*EXPONENT_LIMITS, 401))
    cost = norm.logpdf(k, KNEE, EXPONENT_SD)
    for trial in trials:
        mu, y = at + k * math.log(trial.load / load), math.log(trial.seconds)
        cost = cost + (norm.logpdf(y, mu, NOISE_SD) if trial.failed else norm.logsf(y, mu, NOISE_SD))
    weight = np.exp(cost - cost.max())
    low, _, high = (math.log(each) for each in found.expected_s(load))
    share = [float((weight * norm.cdf(edge, at, NOISE_SD)).sum() / weight.sum()) for edge in (low, high)]
    assert share == pytest.approx([0.10, 0.90], abs=0.02)


def test_the_range_is_never_narrower_than_the_noise_of_one_set():
    many = [Trial(0.6, 75, True)] * 8
    low, middle, high = predict(many, KNEE).expected_s(0.6)
    noise = math.exp(1.2816 * NOISE_SD)
    assert high / middle >= noise
    assert middle / low >= noise
    one = predict(many[:1], KNEE).expected_s(0.6)
    assert one[0] < low
    assert one[2] > high


def test_further_from_the_loads_tried_less_is_known():
    found = predict([Trial(0.6, 75, True)] * 8, KNEE)
    near, far = found.expected_s(0.6), found.expected_s(0.9)
    assert far[2] / far[1] > near[2] / near[1]
