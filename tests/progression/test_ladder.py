import pytest

from holdtimer.progression.due import due
from holdtimer.progression.ladder import due_rung
from holdtimer.progression.prediction import Trial, predict
from holdtimer.progression.verdicts import Verdict

FINE = [10.0, 10.2, 10.4, 10.6, 10.8, 11.0, 11.2, 11.4]
COARSE = [10.0, 12.0, 14.0]
BAND = (60.0, 90.0)


def rung(word, present, loads, seconds, results=5):
    """The due rung when a hold is known to last so long at the present rung."""
    prediction = predict([Trial(loads[present], seconds, True)] * 5, -1.98) if seconds else None
    return due_rung(Verdict(word, "", present), loads, BAND, prediction, results)


def test_same_stays():
    assert rung("same", 2, FINE, 200) == 2


def test_harder_goes_to_the_rung_nearest_the_middle_of_the_band():
    assert rung("harder", 0, FINE, 85) == 4  # 10.8 is predicted 72.98 s, nearest 73.48


def test_harder_raises_the_load_by_a_tenth_at_most():
    assert rung("harder", 0, FINE, 200) == 5


def test_harder_takes_the_very_next_rung_even_if_it_is_further():
    assert rung("harder", 0, COARSE, 95) == 1
    assert rung("harder", 0, COARSE, 500) == 1


def test_harder_is_one_rung_where_the_prediction_says_stay():
    assert rung("harder", 0, FINE, 70) == 1


def test_easier_is_at_least_one_rung_and_goes_towards_the_middle():
    assert rung("easier", 7, FINE, 70) == 6
    assert rung("easier", 7, FINE, 60) == 1  # 10.2 is predicted 74.78 s
    assert rung("easier", 7, FINE, 20) == 0


def test_the_first_two_results_move_one_rung_at_most():
    assert rung("harder", 0, FINE, 200, results=2) == 1
    assert rung("easier", 7, FINE, 20, results=2) == 6


def test_without_a_prediction_it_is_one_rung():
    assert rung("harder", 0, FINE, None) == 1
    assert rung("easier", 7, FINE, None) == 6


@pytest.fixture
def wall_sit(program, now):
    def find(past):
        return next(each for each in due(program, past, now).sets if each.exercise == "wall-sit")

    return find


def test_runs_to_the_end_alone_move_one_rung_and_predict_nothing(diary, wall_sit):
    found = wall_sit(diary.weeks("high:end, middle:end, low:end"))
    assert found.rung == "lower"
    assert found.outlook.expected_s is None


def test_evidence_lets_harder_skip_a_rung(diary, wall_sit):
    """0.60 to 0.66 is a tenth; 88 s there, then a run to the end."""
    found = wall_sit(diary.weeks("high:88, high:86, high:89, high:end"))
    assert found.rung == "low"


def test_only_the_last_eight_results_of_twelve_weeks_predict(diary, wall_sit):
    old = diary.weeks("high:20, high:20, high:20", last=85)
    assert wall_sit(old + diary.weeks("high:75")).outlook.expected_s[1] == pytest.approx(75)
    nine = diary.weeks(["high:20", *["high:75"] * 8])
    assert wall_sit(nine).outlook.expected_s[1] == pytest.approx(75)


def test_repetitions_and_ladders_without_loads_move_one_rung(program, diary, now):
    words = ["two hands:75"] * 3 + ["two hands:end"]
    past = diary.weeks(words, exercise="heel-raise", side="left", kind="reps")
    left = next(each for each in due(program, past, now).sets if each.side == "left")
    assert left.rung == "fingertips"
    assert left.outlook.expected_s is None
