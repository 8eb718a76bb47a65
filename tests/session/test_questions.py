"""What can be asked about a set afterwards: what is in doubt first."""

import pytest

from holdtimer.session import events as ev
from holdtimer.session.corrections import corrected, questions

ALWAYS = ["effort", "form_broke", "pain", "note"]


@pytest.fixture
def asked(begin):
    """The questions about a set with taps at these seconds, after these answers, by their field."""

    def build(*at, answers=()):
        run = begin()
        opens = run.in_window()
        for second in at:
            run.at(opens + second, "space")
        run.at(opens + 93)
        later = [ev.Answer(n=n, t=0, id=f"a{n}", **answer) for n, answer in enumerate(answers)]
        return questions(corrected(run.session, later).sets[0])

    return build


def fields(found):
    return [question.field for question in found]


def one(found, field):
    return next(question for question in found if question.field == field)


def test_four_questions_are_always_there_and_last(asked):
    assert fields(asked(70)) == ["moved", *ALWAYS]


def test_a_silent_window_is_asked_about_first(asked):
    found = asked()
    assert fields(found) == ["ran_to_end", "failed_about", *ALWAYS]
    assert one(found, "failed_about").waits
    assert not one(found, "effort").waits


def test_a_confirmed_window_does_not_ask_when_it_failed(asked):
    found = asked(answers=[{"field": "ran_to_end", "value": True, "set": 1}])
    assert fields(found) == ["ran_to_end", *ALWAYS]
    assert one(found, "ran_to_end").value is True


def test_a_denied_window_asks_when_it_failed(asked):
    found = asked(answers=[{"field": "ran_to_end", "value": False, "set": 1}])
    assert (one(found, "ran_to_end").value, one(found, "failed_about").value) == (False, None)


def test_an_estimate_is_shown_and_can_be_moved_on(asked):
    found = asked(answers=[{"field": "failed_about", "value": 64, "set": 1}])
    question = one(found, "failed_about")
    assert (question.value, question.waits) == (64, False)
    assert question.stepped(1).value == 65


def test_a_late_tap_leaves_nothing_in_doubt(asked):
    assert fields(asked(91)) == ALWAYS


def test_a_perhaps_slip_is_asked_about_with_the_stamp_it_is_about(asked):
    found = asked(10, 13)
    assert fields(found) == ["slip", "moved", "moved", *ALWAYS]
    assert "10 s" in one(found, "slip").words
    assert one(found, "slip").waits
    assert one(found, "slip").answer() == {"field": "slip", "value": None, "of": one(found, "moved").of}


def test_each_stamp_can_be_moved_by_a_second(asked):
    failed, back = [question for question in asked(65, 71) if question.field == "moved"]
    assert (failed.words, failed.value, failed.stepped(-1).value) == ("failed at (s)", 65, 64)
    assert (back.words, back.value) == ("back in at (s)", 71)


def test_a_step_stays_within_the_bounds(asked):
    question = one(asked(89.5), "moved")
    assert question.stepped(1).value == 90
    assert question.with_value(0.4).stepped(-1).value == 0


def test_yes_and_no_go_round_with_no_answer_between(asked):
    question = one(asked(70), "pain")
    seen = [question.value]
    for _ in range(3):
        question = question.stepped(1)
        seen.append(question.value)
    assert seen == [None, False, True, None]


def test_a_scale_begins_in_the_middle_and_ends_in_no_answer(asked):
    question = one(asked(70), "effort").stepped(1)
    assert question.value == 5
    assert question.with_value(10.0).stepped(1).value == 10
    assert question.with_value(0.0).stepped(-1).value is None


def test_seconds_begin_where_a_failure_is_likely(asked):
    assert one(asked(), "failed_about").stepped(1).value == round((60 * 90) ** 0.5)


def test_text_is_told_not_stepped(asked):
    question = one(asked(70), "note")
    assert question.stepped(1) == question
    assert question.with_value("slow").answer() == {"field": "note", "value": "slow", "set": 1}


def test_every_answer_is_one_the_log_takes_and_corrects_what_it_is_about(asked):
    for found in (asked(), asked(10, 13), asked(65, 71)):
        for question in found:
            ev.Answer(n=0, t=0, id="x", **question.stepped(1).answer())
