"""What a series of function tests says, sentence by sentence."""

import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.program.timeline import T25FW_M, Series
from holdtimer.progression.function import FunctionDay, State, function_trends
from holdtimer.progression.measurement import error_of, norm
from tests.bench.simulate_function import share_told
from tests.tables import every

START = datetime(2026, 1, 5, 10, tzinfo=UTC)
HANDS = Series(protocol="chair-stand-30", variant="hands", seat_cm=46)
T25FW = Series(protocol="timed-walk", lane_m=T25FW_M, pace="fast", start="standing", aid="none")
WALK = Series(protocol="timed-walk", lane_m=6, pace="usual", start="walking", aid="none", presser="helper")
PRACTICE = 5.0


def days(values, series=HANDS, off=(), every_weeks=4):
    return [
        FunctionDay(f"s{n}", START + timedelta(weeks=n * every_weeks), "t", series, value, n in off)
        for n, value in enumerate(values)
    ]


def trend_of(values, series=HANDS, group="older-adults", off=()):
    return function_trends(days([PRACTICE, *values], series, off), group)[-1]


SENTENCES = {
    "better, twice": (
        T25FW, "ms", (8.4, 8.4, 6.5, 6.5),
        "Your walk time changed by more than the test's own error: 8.4 to 6.5 s. Two test days agree.",
    ),
    "once": (
        HANDS, "knee-oa", (9, 9, 12),
        "Larger than the test's own error, seen once. The next test day will show whether it stays.",
    ),
    "below": (
        T25FW, "ms", (7.6, 7.6, 7.4),
        "No change that this test can see. It would take about 1.4 s.",
    ),
    "below, two days only, whole stands": (
        HANDS, "knee-oa", (9, 10),
        "No change that this test can see. It would take about 3 stands.",
    ),
    "below, and noticed": (
        HANDS, "knee-oa", (9, 9, 11),
        "Smaller than this test can separate from chance, yet a size that people do notice. "
        "More test days will show.",
    ),
    "too few": (HANDS, "knee-oa", (9,), "Not enough test days to compare."),
    "worse, twice": (
        HANDS, "knee-oa", (12, 12, 8, 8),
        "Your count of chair stands changed by more than the test's own error: 12 to 8 stands. "
        "Two test days agree. If this is new for you, tell the person who treats you.",
    ),
    "better, twice, in steps": (
        WALK, "parkinson", (0.80, 0.86, 0.90, 0.96, 1.00, 1.02, 1.09),
        "Your walking speed changed by more than the test's own error: 0.83 to 1.06 m/s. "
        "Two test days agree.",
    ),
    "a trend that the day before showed too": (
        T25FW, "ms", (10.0, 9.7, 9.3, 8.9, 8.5, 8.3, 8.3, 8.1, 7.9),
        "Your walk time changed by more than the test's own error: 9.8 to 7.7 s. 9 test days agree.",
    ),
}  # fmt: skip


@every(("series", "group", "values", "sentence"), SENTENCES.values(), ids=SENTENCES)
def test_each_situation_has_its_sentence(series, group, values, sentence):
    said = trend_of(values, series, group).sentence
    assert said == sentence
    assert not any(word in said for word in ("improved", "normal", "fall risk", "because of"))


def test_a_change_seen_once_that_goes_away_is_no_change():
    assert trend_of((9, 9, 13)).state is State.ONCE
    assert trend_of((9, 9, 13, 9)).state is State.NO_CHANGE
    assert trend_of((9, 9, 13, 13)).state is State.CHANGED


@pytest.mark.parametrize("last", [9, 7])
def test_a_trend_that_the_last_day_does_not_fit_is_not_a_change_yet(last):
    found = trend_of((8, 9, 10, 11, 12, 13, 14, last))
    assert found.slope > 0
    assert (found.state, found.latest) == (State.NO_CHANGE, last)


def test_opposite_days_do_not_agree():
    assert trend_of((10, 10, 14, 6)).state is State.ONCE


def test_practice_off_days_and_days_of_not_being_able_are_kept_and_left_out():
    found = function_trends(days([20, 9, 9, 30, None, 9], off=(3,)), "older-adults")[0]
    assert (found.days, found.base, found.latest, found.state) == (3, 9, 9, State.NO_CHANGE)
    assert [each.value for each in found.all_days] == [20, 9, 9, 30, None, 9]
    assert found.practice is found.all_days[0]


def test_another_chair_is_another_series_and_needs_no_practice():
    lower = Series(**Series.facts(HANDS) | {"seat_cm": 40})
    later = [FunctionDay(f"n{n}", START + timedelta(weeks=20 + 4 * n), "t", lower, 5.0) for n in range(2)]
    old, new = function_trends([*later, *days([9, 12, 12])], "older-adults")
    assert (old.series, old.days) == (HANDS, 2)
    assert (new.series, new.days, new.practice, new.state) == (lower, 2, None, State.NO_CHANGE)


def test_a_day_with_no_time_stands_after_the_times_of_that_day():
    timed, *_ = days([7])
    dated = replace(timed, session="paper", started=START.replace(hour=0), value=9, date_only=True)
    (found,) = function_trends([dated, timed], "older-adults")
    assert (found.practice, found.all_days) == (timed, (timed, dated))


def test_a_first_pair_that_differs_asks_for_a_third_day():
    assert trend_of((8, 12, 10, 10)).base == 10
    assert trend_of((9, 10, 10, 10)).base == 9.5


def test_who_wavers_more_than_others_needs_a_larger_change():
    steady, wavering = trend_of((10, 10, 10, 10)), trend_of((10, 14, 9, 14, 10, 10, 10))
    assert wavering.limit > steady.limit * 1.4
    assert trend_of((10, 10, 14, 10)).limit == steady.limit  # the latest two may be a change
    assert trend_of((10, 10, 14, 10, 10)).limit > steady.limit * 1.4


def test_a_change_that_lasts_is_no_wavering_and_stays_one():
    values = (9, 9, 13, 13, 13, 12, 13, 14, 13)
    assert [trend_of(values[:days]).state for days in range(3, 10)] == [State.ONCE] + [State.CHANGED] * 6


def test_five_days_have_a_slope_and_six_a_trend():
    values = (8.4, 8.2, 7.9, 7.7, 7.4, 7.1, 6.9)
    assert trend_of(values[:4], T25FW, "ms").slope is None
    five = trend_of(values[:5], T25FW, "ms")
    assert five.slope == pytest.approx(-0.0625)
    assert five.chance == pytest.approx(2 / 120)


def test_the_error_named_is_that_of_the_group_and_says_how_well_it_is_known():
    assert error_of(T25FW, "ms").known == "found"
    assert error_of(T25FW, "older-adults").known == "our choice"
    assert "PMID 38924934" in error_of(T25FW, "ms").source
    assert error_of(WALK, "stroke").limit(0.35, 0.5) == 0.05


@every(
    ("series", "sex", "age", "told"),
    [
        (HANDS, "female", 72, False),  # with hands there are no figures
        (Series(protocol="chair-stand-30", variant="crossed"), "male", 60, True),
        (Series(protocol="chair-stand-30", variant="crossed"), "male", 59, False),
        (Series(protocol="five-stands", variant="crossed"), "male", 89, True),
        (Series(protocol="five-stands", variant="crossed"), "male", 90, False),
        (Series(protocol="up-and-go", lane_m=3), "female", 60, True),
        (Series(protocol="up-and-go", lane_m=3), "female", 59, False),
        (WALK, "female", 20, True),
        (WALK, "female", 19, False),
        (T25FW, "female", 40, False),
        (Series(**Series.facts(WALK) | {"presser": "walker"}), "female", 40, False),
    ],
)
def test_healthy_people_are_told_of_within_their_ages_alone(series, sex, age, told):
    assert (norm(series, sex, age) is not None) is told


@every("name", ["chair stands, older adults", "25-foot walk, MS"])
def test_a_year_without_a_change_tells_hardly_anybody_of_one(name):
    """Seeded, so that it can't fail by chance; the bench tries more people: 2 to 3 % of them."""
    assert share_told(name, 120, random.Random(5))[0] <= 0.05
    assert share_told(name, 40, random.Random(6), growth=0.6 if name.startswith("chair") else -0.4)[0] >= 0.8
