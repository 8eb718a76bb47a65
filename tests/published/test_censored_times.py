"""Censored times against textbook data and a reference library."""

import math

import pytest

from holdtimer.progression.censored import Timed, censored_normal, median, survival, weekly_change

# Freireich EJ, Gehan E, Frei E, et al. Blood 1963;21:699-716: weeks of remission, + still in remission.
SIX_MP = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def times(text):
    return [(float(each.rstrip("+")), not each.endswith("+")) for each in text.split()]


def test_the_product_limit_curve_of_the_6_mp_arm():
    """The table of every textbook (Kaplan-Meier, 6-MP arm); tolerance 0.0001."""
    assert [(time, round(share, 4)) for time, share in survival(times(SIX_MP))] == [
        (6, 0.8571), (7, 0.8067), (10, 0.7529), (13, 0.6902), (16, 0.6275), (22, 0.5378), (23, 0.4482),
    ]  # fmt: skip


def test_the_medians_of_both_arms():
    assert median(times(SIX_MP)) == 23
    assert median(times(PLACEBO)) == 8


def test_averages_that_take_censored_times_for_failures_are_another_thing():
    """The naive mean of the 6-MP column is 17.10 and that of the failures alone 12.11: both wrong."""
    listed = times(SIX_MP)
    assert sum(time for time, _ in listed) / 21 == pytest.approx(17.10, abs=0.01)
    assert sum(time for time, failed in listed if failed) / 9 == pytest.approx(12.11, abs=0.01)
    assert median(listed) > 17.10


@pytest.mark.parametrize("arm", [SIX_MP, PLACEBO])
def test_the_curve_is_that_of_a_reference_library(arm):
    lifelines = pytest.importorskip("lifelines")
    seconds, failed = zip(*times(arm), strict=True)
    fitted = lifelines.KaplanMeierFitter().fit(seconds, failed)
    for time, share in survival(times(arm)):
        assert share == pytest.approx(float(fitted.predict(time)), abs=1e-9)
    assert median(times(arm)) == fitted.median_survival_time_


def reference(frame, duration, event):
    lifelines = pytest.importorskip("lifelines")
    return lifelines.LogNormalAFTFitter().fit(frame, duration, event)


def test_censored_regression_on_a_data_set_that_a_reference_library_ships():
    """lifelines `load_rossi`: 432 people, week of arrest or 52+; log-normal failure times."""
    datasets = pytest.importorskip("lifelines.datasets")
    rossi = datasets.load_rossi()
    columns = ["fin", "age", "race", "wexp", "mar", "paro", "prio"]
    fitted = reference(rossi, "week", "arrest")
    design = [[1.0, *map(float, row)] for row in rossi[columns].to_numpy()]
    found = censored_normal([math.log(t) for t in rossi["week"]], [bool(e) for e in rossi["arrest"]], design)
    for index, name in enumerate(["Intercept", *columns]):
        assert found.coefficients[index] == pytest.approx(fitted.params_["mu_", name], rel=1e-3, abs=1e-4)
        error = fitted.standard_errors_["mu_", name]
        assert math.sqrt(found.covariance[index][index]) == pytest.approx(error, rel=1e-3)
    assert math.log(found.sd) == pytest.approx(fitted.params_["sigma_", "Intercept"], rel=1e-3)
    assert found.log_likelihood == pytest.approx(fitted.log_likelihood_, rel=1e-6)


def test_censored_regression_on_the_6_mp_data():
    """The same on lifelines `load_leukemia`, treatment as the one covariate."""
    datasets = pytest.importorskip("lifelines.datasets")
    frame = datasets.load_leukemia()[["t", "status", "Rx"]]
    fitted = reference(frame, "t", "status")
    design = [[1.0, float(each)] for each in frame["Rx"]]
    found = censored_normal([math.log(t) for t in frame["t"]], [bool(e) for e in frame["status"]], design)
    assert found.coefficients[1] == pytest.approx(fitted.params_["mu_", "Rx"], rel=1e-3)
    assert found.coefficients[0] == pytest.approx(fitted.params_["mu_", "Intercept"], rel=1e-3)


def test_a_tobit_regression_on_ln_time_is_the_log_normal_model():
    """Tobin J. Econometrica 1958;26:24-36: with nothing censored it is least squares on ln T."""
    weeks = [0.0, 0.4, 1.0, 1.4, 2.0, 2.4, 3.0, 3.4]
    seconds = [60.0, 66.0, 58.0, 71.0, 69.0, 64.0, 75.0, 73.0]
    logs = [math.log(each) for each in seconds]
    x, y = sum(weeks) / 8, sum(logs) / 8
    slope = sum((a - x) * (b - y) for a, b in zip(weeks, logs, strict=True)) / sum(
        (a - x) ** 2 for a in weeks
    )
    found = censored_normal(logs, [True] * 8, [[1.0, week] for week in weeks])
    assert found.coefficients[1] == pytest.approx(slope, rel=1e-6)
    listed = [Timed(week, time, True, 0.0, 0) for week, time in zip(weeks, seconds, strict=True)]
    assert weekly_change(listed).per_week == pytest.approx(slope, rel=1e-6)


def test_taking_90_plus_for_90_bends_a_trend_down():
    """52 58 55 61 66 64 90+ 71, one a week (trade facts 7.5, the run to the end marked as one)."""
    listed = [52, 58, 55, 61, 66, 64, 90, 71]
    right = weekly_change([Timed(week, t, t < 90, 0.0, 0) for week, t in enumerate(listed)])
    wrong = weekly_change([Timed(week, t, True, 0.0, 0) for week, t in enumerate(listed)])
    assert right.per_week > wrong.per_week
