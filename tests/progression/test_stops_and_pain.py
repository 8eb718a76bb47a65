"""What comes after a stop for a symptom, and after pain."""

from dataclasses import replace
from datetime import timedelta

import pytest

from holdtimer.program.timeline import Side
from holdtimer.progression.due import due
from holdtimer.progression.forecast import verdicts_after, verdicts_in
from holdtimer.progression.history import read_history

WALL: tuple[str, Side] = ("wall-sit", "both")

# ---- stopped for a symptom


def test_a_symptom_holds_the_whole_program_until_it_is_released(program, diary, now):
    past = [*diary.weeks("low:75"), diary.session(1, diary.result("low:70"), symptom=True)]
    held = due(program, past, now)
    assert held.hold == "stopped on 19 May because something felt wrong"
    assert not held.ready
    assert all(each.outlook.verdict.hold for each in held.sets)
    assert held.when.startswith("on hold")


def test_a_released_symptom_makes_all_of_the_program_easier(program, diary, now):
    heel = diary.result("fingertips:75", exercise="heel-raise", side="left", kind="reps")
    past = [
        diary.session(6, diary.result("low:75"), heel),
        diary.session(3, diary.result("low:70"), symptom=True, released=True),
    ]
    released = due(program, past, now)
    assert released.hold is None
    assert released.ready
    rungs = released.rungs
    assert rungs["wall-sit", "both"] == "middle"
    assert rungs["heel-raise", "left"] == "two hands"


def test_after_a_released_symptom_the_next_counted_result_decides(diary, verdict):
    past = [
        diary.session(6, diary.result("low:70"), symptom=True, released=True),
        diary.session(3, diary.result("middle:75")),
    ]
    assert verdict(past)[0].word == "same"
    assert "inside" in verdict(past)[0].because


def test_a_later_session_does_not_lift_a_hold_by_itself(program, diary, now):
    past = [diary.session(6, symptom=True), *diary.weeks("low:75")]
    assert due(program, past, now).hold is not None


@pytest.mark.parametrize("where", [{}, {"rehearsal": True}, {"program": "floor"}, {"on_paper": True}])
def test_a_symptom_on_a_day_that_nothing_tells_holds_every_program_until_it_is_released(
    program, diary, now, where
):
    lost = replace(diary.session(1, diary.result("low:70"), symptom=True, **where), started=None, ended=None)
    held = due(program, [lost, *diary.weeks("low:75")], now)
    assert held.hold == "stopped on an unknown day because something felt wrong"
    assert held.held_by == (lost.session,)
    assert not held.ready
    assert due(program, [replace(lost, released=True), *diary.weeks("low:75")], now).hold is None


@pytest.mark.parametrize("where", [{"rehearsal": True}, {"program": "floor"}])
def test_a_symptom_in_a_rehearsal_or_in_another_program_holds_every_program(program, diary, now, where):
    past = [*diary.weeks("low:75"), diary.session(1, symptom=True, **where)]
    held = due(program, past, now)
    assert held.hold == "stopped on 19 May because something felt wrong"
    assert held.held_by == (past[-1].session,)
    released = due(program, [past[0], replace(past[-1], released=True)], now)
    assert released.hold is None
    assert released.rungs["wall-sit", "both"] == "middle"  # easier when released


def test_a_rehearsal_counts_for_nothing_but_its_stop(program, diary, now):
    rehearsed = diary.session(1, diary.result("low:20r"), symptom=True, released=True, rehearsal=True)
    found = due(program, [*diary.weeks("low:75"), rehearsed], now)
    assert found.sets[-1].outlook.last.failed_s == 75
    assert found.spacing.done_last_7_days == 1


def stop_on_paper(diary, days_ago, **fields):
    stopped = replace(diary.result("low:silent"), stopped="symptom")
    return diary.session(days_ago, stopped, symptom=True, on_paper=True, **fields)


@pytest.mark.parametrize("is_hard", [True, False])
def test_a_stop_on_paper_is_gone_on_from_only_by_a_later_session_that_was_worked(
    program, diary, now, is_hard
):
    later = diary.session(3, diary.result("low:skipped"), is_hard=is_hard)
    found = due(program, [diary.weeks("low:75", last=9)[0], stop_on_paper(diary, 6), later], now)
    assert (found.hold is None) == is_hard
    assert len(found.held_by) == (0 if is_hard else 1)
    because = found.sets[-1].outlook.verdict.because
    assert because.startswith("stopped on 14 May because something felt wrong")
    assert because.endswith("gone on with since") == is_hard


def test_settled_is_said_of_a_stop_only_where_it_was_answered(verdict, diary):
    worked = diary.session(3, diary.result("low:skipped"))
    answered = stop_on_paper(diary, 6, released=True)
    assert verdict([answered])[0].because.endswith(", settled since")
    assert verdict([answered, worked])[0].because.endswith(", settled since")


def test_work_of_the_same_day_is_not_known_to_have_come_after_a_stop_with_no_time(program, diary, now):
    midnight = now.replace(day=14, hour=0)
    stop = stop_on_paper(diary, 6, started=midnight, ended=midnight + timedelta(days=1), date_only=True)
    same_day = diary.session(0, diary.result("low:75"), started=midnight + timedelta(hours=10))
    next_day = diary.session(
        0, diary.result("low:75"), started=midnight + timedelta(days=1), session="next", date_only=True
    )
    assert due(program, [stop, same_day], now).hold is not None
    assert due(program, [stop, same_day, next_day], now).hold is None
    timed = replace(stop, date_only=False)
    assert due(program, [timed, same_day], now).hold is not None


@pytest.mark.parametrize(
    ("later", "is_held"),
    [
        ({"days": 0, "minutes": 5}, True),
        ({"days": 1}, False),
        ({"days": 1, "on_paper": True}, True),
        ({"days": 1, "rehearsal": True}, True),
        ({"days": 1, "program": "floor"}, False),
    ],
)
def test_a_stop_on_paper_is_lifted_only_by_a_led_session_of_a_later_day(program, diary, now, later, is_held):
    fields = {name: value for name, value in later.items() if name not in ("days", "minutes")}
    days = 6 - later["days"] - later.get("minutes", 0) / (24 * 60)
    past = [stop_on_paper(diary, 6), diary.session(days, diary.result("low:75"), **fields)]
    assert (due(program, past, now).hold is not None) == is_held


def test_a_led_stop_is_not_lifted_by_a_session_of_a_later_day(program, diary, now):
    past = [diary.session(6, symptom=True), diary.session(3, diary.result("low:75"))]
    assert due(program, past, now).hold is not None


def test_a_stop_on_paper_and_a_session_of_the_same_instant_hold_alike_however_they_are_read(
    program, diary, now
):
    """The one of the lower id stands first; a session of that day can't have lifted the stop."""
    stop = stop_on_paper(diary, 6, session="b")
    for name in ("a", "c"):
        led = diary.session(6, diary.result("low:end"), session=name)
        later = diary.session(1, diary.result("low:75"), session="d")
        past = [stop, led, later]
        whole = read_history(program, past)
        for session in past:
            assert verdicts_in(whole, session, program) == verdicts_after(session, past, program)
        assert verdicts_after(led, past, program)[WALL].hold == (name == "c")  # before the stop, or after
        assert verdicts_after(stop, past, program)[WALL].hold
        assert due(program, [led, stop], now).hold is not None
        assert due(program, past, now).hold is None


def test_a_stop_on_paper_with_a_date_only_stands_after_all_else_of_its_day(program, diary, now):
    midnight = now.replace(day=14, hour=0)
    stop = stop_on_paper(diary, 6, started=midnight, ended=midnight + timedelta(days=1), date_only=True)
    led = diary.session(0, diary.result("low:75"), started=midnight + timedelta(hours=20))
    assert not verdicts_after(led, [stop, led], program)[WALL].hold
    next_day = diary.session(0, diary.result("low:75"), started=midnight + timedelta(days=1))
    assert due(program, [stop, led, next_day], now).hold is None
    assert verdicts_after(next_day, [stop, led], program)[WALL].word == "same"


# ---- pain


def test_pain_at_the_easiest_rung_pauses_the_exercise(diary, verdict):
    found, rung = verdict(diary.weeks("high:70p"))
    assert found.paused
    assert (found.word, rung) == ("same", "high")
    assert "paused" in found.because


def test_a_paused_exercise_can_be_restored(diary, verdict):
    hurt = replace(diary.weeks("high:70p")[0], released=True)
    found, _ = verdict([hurt])
    assert not found.paused
    assert found.because == "pain on 17 May, restored since; already at the easiest rung"


@pytest.mark.parametrize(
    "later",
    [
        "high:70o",
        "high:silent",
        "high:skipped",
        "high:70p",
        "high:70",
        "high:end",
        "low:75",
        "high:70, low:end, low:75",
    ],
)
def test_a_pause_stays_whatever_comes_later(diary, verdict, later):
    found, rung = verdict(diary.weeks(f"high:70p, {later}"))
    assert (found.paused, found.word, rung) == (True, "same", "high")
    assert "at the easiest rung: paused" in found.because


def test_a_pause_is_not_lifted_by_a_later_session_that_was_stopped_and_released(diary, verdict):
    hurt = diary.weeks("high:70p", last=6)[0]
    stopped = diary.session(3, diary.result("high:75"), symptom=True, released=True)
    assert verdict([hurt, stopped])[0].paused
    held = replace(stopped, released=False)
    assert (verdict([hurt, held])[0].paused, verdict([hurt, held])[0].hold) == (True, True)
    restored = replace(hurt, released=True)
    assert not verdict([restored, stopped])[0].paused


def test_restoring_needs_an_answer_to_each_pain_since_the_last_one_restored(diary, verdict):
    first, second, third = diary.weeks("high:70p, high:70p, high:70p")
    assert verdict([first, second])[0].evidence[0].session == first.session
    assert len(verdict([first, second])[0].evidence) == 2
    assert not verdict([first, replace(second, released=True)])[0].paused
    again = verdict([first, replace(second, released=True), third])[0]
    assert [each.session for each in again.evidence] == [third.session]


GONE = "at a rung that is no longer there"


def test_pain_at_a_rung_that_is_no_longer_there_is_not_forgotten(program, diary, verdict, now):
    past = diary.weeks("low:75, gone:75p")
    found, rung = verdict(past)
    assert (found.word, rung, found.because) == ("easier", "middle", f"pain on 17 May, {GONE}")
    assert [each.counted for each in found.evidence] == [False]
    assert due(program, past, now).left_out == (
        'results of "Wall sit" at "gone", which is no longer a rung: 1',
    )
    assert verdict(diary.weeks("gone:75p"))[1] == "high"  # easier than the start
    assert verdict(diary.weeks("high:75, gone:75p"))[0].paused


@pytest.mark.parametrize(
    ("words", "word", "rung"),
    [
        ("gone:75p, low:end", "same", "low"),
        ("gone:75p, low:75, low:end", "harder", "lower"),
        ("low:75, gone:end", "same", "low"),  # it did not hurt: it says nothing
        ("low:55, gone:75p, low:75, low:52", "same", "low"),
    ],
)
def test_a_rung_that_is_no_longer_there_says_nothing_but_that_it_hurt(diary, verdict, words, word, rung):
    found, at = verdict(diary.weeks(words))
    assert (found.word, at) == (word, rung)


def test_pain_in_a_later_set_of_the_same_session_counts_as_pain(diary, verdict):
    past = [diary.session(3, diary.result("low:end"), replace(diary.result("low:50p"), counted=False))]
    assert verdict(past)[0].word == "easier"


def test_an_answer_that_takes_pain_back_acts_as_if_true_from_the_start(diary, verdict):
    past = diary.weeks("low:75p, middle:75, middle:end")
    taken_back = [replace(past[0], results=(replace(past[0].results[0], pain=False),)), *past[1:2]]
    assert (
        verdict(taken_back)[0]
        == verdict([replace(past[0], results=diary.weeks("low:75")[0].results), past[1]])[0]
    )


def test_a_pause_is_not_lifted_by_releasing_a_stop_of_the_very_session_that_hurt(diary, verdict):
    hurt = diary.session(3, diary.result("high:40p"), symptom=True, released=True)
    assert verdict([hurt])[0].paused
    assert not verdict([replace(hurt, restored=frozenset({1}))])[0].paused
