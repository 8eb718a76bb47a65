"""What holds of every history."""

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from holdtimer.progression.due import due
from holdtimer.progression.forecast import verdicts_after, verdicts_in
from holdtimer.progression.history import read_history
from holdtimer.report.due import due_to_json
from tests.profiles import examples

often = examples(60)

RUNGS = ("high", "middle", "low", "lower", "thighs level")
ORDER = ("easier", "same", "harder")

times = st.integers(min_value=1, max_value=90).map(str)
happened = st.one_of(times, st.sampled_from(["end", "late", "silent", "skipped"]))
flags = st.sampled_from(["", "", "", "f", "p", "o", "r"])
words = st.builds("{}:{}{}".format, st.sampled_from(RUNGS), happened, flags)
histories = st.lists(words, max_size=12)
gaps = st.sampled_from([1, 3, 20, 21, 30, 42, 60])


@pytest.fixture(scope="module")
def told(program, now):
    """What `next` tells of the wall sit, in one piece."""

    def tell(past, at=now):
        sets = due_to_json(due(program, past, at))["sets"]
        return next(each for each in sets if each["exercise"] == "wall-sit")

    return tell


@often
@given(histories, gaps, st.randoms(use_true_random=False))
def test_the_order_in_which_sessions_are_read_changes_nothing(diary, program, now, words, last, chance):
    past = diary.weeks(words, last=last)
    shuffled = random.Random(chance.random()).sample(past, len(past))
    assert due_to_json(due(program, past, now)) == due_to_json(due(program, shuffled, now))


@often
@given(
    histories,
    st.sampled_from(RUNGS),
    times,
    st.one_of(times, st.just("end")),
    st.sampled_from(["", "f"]),
    gaps,
)
def test_a_longer_time_never_gives_an_easier_verdict(diary, told, before, rung, one, other, flag, last):
    if other != "end" and int(other) < int(one):
        one, other = other, one
    shorter, longer = (
        told(diary.weeks([*before, f"{rung}:{each}{flag}"], last=last)) for each in (one, other)
    )
    assert ORDER.index(longer["verdict"]) >= ORDER.index(shorter["verdict"])
    assert RUNGS.index(longer["rung"]) >= RUNGS.index(shorter["rung"])


@often
@given(histories, st.sampled_from(RUNGS), gaps)
def test_a_run_to_the_end_is_never_a_failure_at_the_end(diary, told, before, rung, last):
    """A failure at the very end of the window is inside the band; a run to the end may be harder."""
    failed = told(diary.weeks([*before, f"{rung}:90"], last=last))
    ran = told(diary.weeks([*before, f"{rung}:end"], last=last))
    assert failed["verdict"] != "harder"
    assert all(each["first_failure_s"] != 90 for each in ran["evidence"] if each["ran_to_end"])
    if failed["expected_s"] and ran["expected_s"] and failed["rung"] == ran["rung"]:
        assert ran["expected_s"][1] >= failed["expected_s"][1]


idle = st.sampled_from(["{}:end", "{}:20", "{}:75"]).flatmap(
    lambda what: st.sampled_from([f"{what}o", f"{what}r", "{}:silent", "{}:skipped"])
)


@often
@given(histories, st.sampled_from(RUNGS), idle, gaps)
def test_a_rehearsal_an_off_day_and_silence_never_move_a_rung(diary, told, before, rung, what, last):
    past = diary.weeks(before, last=last)
    more = diary.weeks([what.format(rung)], last=0.5)
    assert told([*past, *more])["rung"] == told(past)["rung"]
    assert told([*past, *more])["verdict"] == told(past)["verdict"]


@often
@given(histories, gaps)
def test_what_is_due_is_always_sound(diary, told, words, last):
    item = told(diary.weeks(words, last=last))
    assert item["rung"] in RUNGS
    assert item["because"]
    if item["expected_s"]:
        low, middle, high = item["expected_s"]
        assert 0 < low <= middle <= high < 1e6


@often
@given(histories, gaps)
def test_harder_is_at_least_one_rung_up_and_no_more_than_a_tenth_beyond_it(diary, told, program, words, last):
    past = diary.weeks(words, last=last)
    counted = [each for session in past for each in session.results if each.counted]
    item = told(past)
    if not counted:
        return
    ladder = program.exercises["wall-sit"].ladder
    present, rung = RUNGS.index(counted[-1].rung), RUNGS.index(item["rung"])
    if item["verdict"] == "harder":
        assert rung == present + 1 or ladder[rung].load <= 1.1 * ladder[present].load * 1.000001
        assert rung > present
    if item["verdict"] == "easier":
        assert rung < present


@often
@given(histories)
def test_every_verdict_after_a_session_is_the_one_next_gave_right_then(diary, program, words):
    past = diary.weeks(words)
    for index, session in enumerate(past):
        if session.rehearsal:
            continue
        after = verdicts_after(session, past, program)["wall-sit", "both"]
        then = due(program, past[: index + 1], session.ended + timedelta(seconds=1))
        found = next(each for each in then.sets if each.exercise == "wall-sit")
        assert found.outlook.verdict == after


@often
@given(histories, st.floats(0, 40), st.lists(st.booleans(), min_size=12, max_size=12))
@example(["middle:70"], 3.0, [True] * 12)  # the stop typed in and the session began at the same instant
@example(["middle:70", "low:52"], 6.0, [True] * 12)
@example(["middle:70", "low:52"], 3.0, [False] * 12)
def test_a_history_that_goes_on_tells_the_same_of_each_session_as_one_that_ends_with_it(
    diary, program, now, words, stopped_days_ago, worked
):
    past = [replace(each, is_hard=is_hard) for each, is_hard in zip(diary.weeks(words), worked, strict=False)]
    stopped = replace(diary.result("middle:70"), stopped="symptom")
    past.append(diary.session(stopped_days_ago, stopped, symptom=True, on_paper=True))
    assert len({each.session for each in past}) == len(past)
    whole = read_history(program, past)
    for session in past:
        assert verdicts_in(whole, session, program) == verdicts_after(session, past, program)
