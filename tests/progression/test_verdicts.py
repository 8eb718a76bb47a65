"""The table of verdicts: each row by hand, and as tables of short words."""

from datetime import timedelta

import pytest

from holdtimer.program.timeline import Side
from holdtimer.progression.due import due
from holdtimer.progression.outlook import verdicts_after
from tests.tables import every

WALL: tuple[str, Side] = ("wall-sit", "both")


# what happened, oldest first; the verdict; the due rung; words of the reason
TABLE = [
    # first time
    ("", "same", "middle", "first time"),
    ("low:silent", "same", "middle", "no result counts yet"),
    # before half the band's start
    ("low:29.9", "easier", "middle", "failed at 29 s, before half of 60"),
    ("low:75, low:10", "easier", "middle", "before half"),
    # before the band
    ("low:30", "same", "low", "failed at 30 s, before 60: grow into it"),
    ("low:59.9", "same", "low", "grow into it"),
    ("low:55, low:75, low:52", "same", "low", "failed at 52 s, before 60: grow into it"),
    ("low:55, middle:52", "same", "middle", "grow into it"),
    ("low:55, middle:70, low:52", "same", "low", "grow into it"),
    # the second in a row
    ("low:55, low:52", "easier", "middle", "failed at 52 s, before 60, the second time in a row"),
    ("low:29, low:52", "easier", "middle", "second time in a row"),
    ("low:55, low:silent, low:80o, low:20r, low:52", "easier", "middle", "second time in a row"),
    ("middle:55, half:52", "easier", "high", "second time in a row"),
    # form, late tap
    ("low:end, low:70f", "same", "low", "the form went before"),
    ("low:endf", "same", "low", "the form went before"),
    ("low:52f", "same", "low", "grow into it"),
    ("low:late", "same", "low", "you tapped 0.6 s after the end"),
    # harder
    ("low:end", "harder", "lower", "ran to the end of 90 s"),
    ("low:silent, low:end, low:silent", "harder", "lower", "ran to the end"),
    # inside the band
    ("low:60", "same", "low", "failed at 60 s, inside 60-90"),
    ("low:90", "same", "low", "failed at 90 s, inside 60-90"),
    ("low:end, lower:75", "same", "lower", "inside"),
    # harder was undone
    ("middle:end, low:50, low:50, middle:end", "same", "middle", "harder was undone"),
    ("middle:end, low:20, middle:end", "same", "middle", "harder was undone"),
    ("middle:end, low:50, low:50, middle:end, middle:end", "harder", "low", "ran to the end"),
    ("middle:end, low:50, low:50, middle:late, middle:end", "harder", "low", "ran to the end"),
    ("middle:end, low:50, low:50, middle:75, middle:end", "same", "middle", "harder was undone"),
    ("middle:end, low:50, low:50, middle:75, middle:75, middle:end", "same", "middle", "harder was undone"),
    ("middle:end, low:50, low:50, middle:75, middle:75, middle:75, middle:end", "harder", "low", "ran"),
    ("low:50, low:50, middle:end", "harder", "low", "ran to the end"),  # it had never been climbed
    # pain
    ("low:75p", "easier", "middle", "pain on 17 May"),
    ("low:endp", "easier", "middle", "pain"),
    ("low:75, low:75po", "easier", "middle", "pain"),
    ("low:75, low:silentp", "easier", "middle", "pain"),
    ("low:75, middle:70po", "easier", "high", "pain"),
    ("low:75p, middle:75o", "easier", "middle", "pain"),
    ("low:75p, middle:75", "same", "middle", "inside"),
    ("low:75p, middle:end", "same", "middle", "but pain on 14 May"),
    ("low:75p, middle:75, middle:end", "harder", "low", "ran to the end"),
    ("low:75p, middle:50, middle:50", "easier", "high", "second time in a row"),
    # the ends of the ladder
    ("thighs level:end", "same", "thighs level", "the ladder needs a harder rung"),
    ("high:20", "same", "high", "needs an easier one"),
    ("high:50, high:50", "same", "high", "needs an easier one"),
]


@every(("words", "word", "rung", "because"), TABLE, ids=[row[0] or "nothing" for row in TABLE])
def test_each_row_of_the_table(words, word, rung, because, diary, verdict):
    found, due_rung = verdict(diary.weeks(words) if words else [])
    assert (found.word, due_rung) == (word, rung)
    assert because in found.because


# days since the last result that counts; what it was; verdict and rung
BREAKS = [
    (20.9, "low:end", "harder", "lower"),
    (21, "low:end", "same", "low"),
    (21, "low:75", "same", "low"),
    (21, "low:55", "same", "low"),
    (41.9, "low:end", "same", "low"),
    (42, "low:end", "easier", "middle"),
    (42, "low:75", "easier", "middle"),
    (42, "high:75", "same", "high"),
    (400, "low:end", "easier", "middle"),
]


@pytest.mark.parametrize(("days", "what", "word", "rung"), BREAKS)
def test_breaks_count_from_the_last_result_that_counts(days, what, word, rung, diary, verdict):
    past = [*diary.weeks(what, last=days), *diary.weeks("low:silent, low:75o", last=1)]
    found, due_rung = verdict(past)
    assert (found.word, due_rung) == (word, rung)


def test_the_reason_of_a_break_names_its_days(diary, verdict):
    assert "43 days since" in verdict(diary.weeks("low:75", last=43))[0].because


def test_the_band_is_the_one_the_set_was_done_with(diary, verdict):
    short = diary.weeks("low:55", window_s=60.0, band_s=(40.0, 60.0))
    assert verdict(short)[0].word == "same"
    assert verdict(diary.weeks("low:end", window_s=60.0, band_s=(40.0, 60.0)))[0].word == "harder"
    assert "inside 40-60" in verdict(short)[0].because


def test_a_failure_after_the_band_of_a_longer_window_is_harder(diary, verdict):
    found, rung = verdict(diary.weeks("low:95", window_s=120.0))
    assert (found.word, rung) == ("harder", "lower")
    assert found.because == "failed at 95 s, after 90"


def test_two_early_misses_are_judged_by_their_own_bands(diary, verdict):
    first = diary.weeks("low:45", last=6, window_s=60.0, band_s=(40.0, 60.0))
    assert verdict(first + diary.weeks("low:52"))[0].word == "same"


# ---- what a verdict tells


def test_a_verdict_names_the_results_it_rests_on(diary, verdict):
    past = diary.weeks("low:75, low:55, low:52")
    evidence = verdict(past)[0].evidence
    assert [each.session for each in evidence] == [past[1].session, past[2].session]


def test_a_verdict_says_what_would_change_it(diary, verdict):
    assert verdict(diary.weeks("low:52"))[0].would_change == "one more before 60 s: easier"
    assert "a run to the end: harder" in verdict(diary.weeks("low:75"))[0].would_change
    assert "after 90 s: harder" in verdict(diary.weeks("low:75", window_s=120.0))[0].would_change
    for words, *_ in TABLE[1:]:
        assert verdict(diary.weeks(words))[0].would_change


# ---- a program that was edited


def test_a_renamed_rung_is_found_by_its_former_name(diary, verdict):
    assert verdict(diary.weeks("half:75"))[1] == "middle"


def test_a_rung_that_is_gone_is_named_and_left_out(program, diary, now, verdict):
    past = diary.weeks("low:75, on one leg:55, on one leg:end")
    assert verdict(past)[1] == "low"
    assert due(program, past, now).left_out == (
        'results of "wall-sit" at "on one leg", which is no longer a rung: 2',
    )


def test_an_exercise_that_is_gone_is_named_and_left_out(program, diary, now):
    past = [diary.session(3, diary.result("low:75", exercise="plank"), diary.result("low:75"))]
    assert due(program, past, now).left_out == ('results of "plank", which is no longer in the program: 1',)


def test_a_side_that_is_gone_is_named_and_left_out(program, diary, now):
    past = [diary.session(3, diary.result("low:75", side="left"))]
    assert "on a side it no longer has (left): 1" in due(program, past, now).left_out[0]


# ---- which result of a session


def test_only_the_first_set_of_a_session_is_its_result(diary, verdict):
    past = [diary.session(3, diary.result("low:75"), diary.result("low:end"))]
    assert verdict(past)[0].word == "same"


def test_sessions_after_the_moment_asked_about_are_ignored(diary, verdict, now):
    past = diary.weeks("low:75, low:end", last=1, apart=4)
    assert verdict(past, now - timedelta(days=2))[0].word == "same"
    assert verdict(past)[0].word == "harder"


def test_a_moment_without_a_zone_is_refused(program, now):
    with pytest.raises(ValueError, match="zone"):
        due(program, [], now.replace(tzinfo=None))


# ---- as after a session


def test_verdicts_after_a_session_know_nothing_of_later_ones(program, diary):
    past = diary.weeks("low:55, low:52, middle:end")
    assert verdicts_after(past[0], past, program)[WALL].word == "same"
    assert verdicts_after(past[1], past, program)[WALL].word == "easier"
    assert verdicts_after(past[2], past, program)[WALL].word == "harder"


def test_verdicts_after_a_session_long_ago_are_not_those_of_a_break(program, diary):
    past = diary.weeks("low:75", last=200)
    assert verdicts_after(past[0], past, program)[WALL].word == "same"
    assert "inside" in verdicts_after(past[0], [], program)[WALL].because


def test_there_are_no_verdicts_after_a_rehearsal(program, diary):
    past = diary.weeks("low:75r")
    assert verdicts_after(past[0], past, program) == {}
