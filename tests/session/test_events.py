import json

import pytest
from pydantic import ValidationError

from holdtimer.session import events as ev
from holdtimer.session.events import event_from_json, round_time


def test_times_add_up_as_they_are_written():
    assert 100.8 - 100 < 0.8
    assert round_time(100.8 - 100) == 0.8
    assert round_time(69.1 + 90) == 159.1


def test_every_event_has_a_name_of_its_own():
    assert len(ev.NAMES) == len(ev.AnyEvent.__args__)


def test_an_event_is_known_by_its_name_and_unknown_fields_are_passed_over():
    failure = event_from_json(
        '{"n": 5, "t": 78.1234, "ev": "failure", "set": 1, "exercise": "x", "side": "left", "at": 6, "x": 1}'
    )
    assert isinstance(failure, ev.Failure)
    assert (failure.n, failure.at, failure.late_ms) == (5, 6, 0)


@pytest.mark.parametrize(
    "data",
    [
        {"n": 1, "t": 2, "ev": "unheard-of"},
        {"n": 1, "t": 2},
        {"n": -1, "t": 2, "ev": "ready"},
        {"n": 1, "t": -2, "ev": "ready"},
        {"n": 1, "t": float("nan"), "ev": "ready"},
        {"n": 1, "t": float("inf"), "ev": "ready"},
        {"n": 1, "t": 2, "ev": "failure", "set": 1, "exercise": "x", "side": "middle"},
        {"n": 1, "t": 2, "ev": "gap", "seconds": -1},
        {"n": 1, "t": 2, "ev": "left", "reason": "bored"},
    ],
)
def test_what_is_no_event_is_refused(data):
    with pytest.raises(ValidationError):
        event_from_json(json.dumps(data))


@pytest.mark.parametrize("value", [True, False, 7.0, 0.5, "words", None])
def test_an_answer_keeps_the_kind_of_its_value(value):
    answer = ev.Answer(n=1, t=2, id="a", field="note", value=value)
    again = event_from_json(answer.model_dump_json())
    assert again == answer
    assert type(again.value) is type(value)
