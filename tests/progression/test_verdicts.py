"""The table of verdicts: each row by hand, and as tables of short words."""

from datetime import timedelta

import pytest

from holdtimer.program.loading import loads
from holdtimer.program.timeline import Side
from holdtimer.progression.due import due
from holdtimer.progression.forecast import verdicts_after
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
    ("low:end, low:70f", "same", "low", "your form broke down first"),
    ("low:endf", "same", "low", "your form broke down first"),
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
    ("middle:end, low:50, low:50, middle:end", "same", "middle", "you came back down"),
    ("middle:end, low:20, middle:end", "same", "middle", "you came back down"),
    ("middle:end, low:50, low:50, middle:end, middle:end", "harder", "low", "ran to the end"),
    ("middle:end, low:50, low:50, middle:late, middle:end", "harder", "low", "ran to the end"),
    (
        "middle:end, low:50, low:50, middle:75, middle:end",
        "same",
        "middle",
        "you came back down",
    ),
    (
        "middle:end, low:50, low:50, middle:75, middle:75, middle:end",
        "same",
        "middle",
        "you came back down",
    ),
    ("middle:end, low:75, middle:75, middle:75, middle:75, middle:75, middle:end", "harder", "low", "ran"),
    # the forecast check
    (
        "middle:end, low:47, low:41, middle:75, middle:75, middle:75, middle:end",
        "same",
        "middle",
        "ran to the end of 90 s, but at low you failed at 47 and 41 s: one more first",
    ),
    (
        "middle:end, low:47, low:41, middle:end",
        "same",
        "middle",
        "you came back down",
    ),  # not its row
    ("low:47, middle:end", "harder", "low", "ran to the end"),  # too few results
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
    (
        "high:20",
        "same",
        "high",
        "too hard even at the easiest rung: add an easier one, or ask your therapist",
    ),
    ("high:50, high:50", "same", "high", "too hard even at the easiest rung"),
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


@pytest.fixture
def short_band(program_text):
    """The program with 40-60 s of a window of 60 s for the wall sit."""
    return loads(
        program_text.replace('joint = "knee"', 'joint = "knee"\nwindow_s = 60\nband_s = [40, 60]'), "x"
    ).program


SHORT = {"window_s": 60.0, "band_s": (40.0, 60.0)}


@pytest.mark.parametrize(
    ("words", "fields", "wide", "narrow"),
    [
        ("low:55", SHORT, "early", "inside"),
        ("low:45, low:52", SHORT, "early again", "inside"),
        ("low:25", SHORT, "far too early", "early"),
        ("low:end", SHORT, "short window", "beyond"),
        ("low:55", {}, "early", "inside"),
        ("low:75", {}, "inside", "beyond"),
        ("low:end", {}, "beyond", "beyond"),
    ],
)
def test_every_result_is_judged_by_the_band_that_is_due(
    program, short_band, diary, now, words, fields, wide, narrow
):
    past = diary.weeks(words, **fields)
    for one, reason in ((program, wide), (short_band, narrow)):
        assert due(one, past, now).sets[-1].outlook.verdict.reason == reason
        assert verdicts_after(past[-1], past, one)[WALL].reason == reason


def test_a_run_to_the_end_of_a_short_window_is_not_known_to_have_outlasted_the_band(diary, verdict):
    found, rung = verdict(diary.weeks("low:end", **SHORT))
    assert (found.word, rung) == ("same", "low")
    assert found.because == "ran to the end of 60 s, and 60-90 s is due now"


def test_a_failure_after_the_band_of_a_longer_window_is_harder(diary, verdict):
    found, rung = verdict(diary.weeks("low:95", window_s=120.0))
    assert (found.word, rung) == ("harder", "lower")
    assert found.because == "failed at 95 s, after 90"


# ---- harder was undone


@pytest.mark.parametrize(("gap", "word"), [(30, "same"), (41.9, "same"), (42, "harder"), (100, "harder")])
def test_harder_was_not_undone_where_a_long_break_lowered_the_rung(diary, verdict, gap, word):
    past = [*diary.weeks("high:end, middle:75", last=gap + 1), *diary.weeks("high:end", last=1)]
    assert verdict(past)[0].word == word


# ---- the forecast check


def test_easier_waits_where_the_easier_rung_was_run_to_the_end(diary, verdict):
    past = diary.weeks("high:end, high:end, middle:59, middle:59", apart=2)
    found, rung = verdict(past)
    assert (found.word, found.reason, rung) == ("same", "forecast", "middle")
    assert found.because.endswith(
        "the second time in a row, but at high you ran to the end 2 times: stay a little longer"
    )
    assert [each.session for each in found.evidence] == [each.session for each in past]
    assert found.would_change


@pytest.mark.parametrize(
    "words", ["low:75p", "middle:end, low:47, low:41, middle:75, middle:75, middle:endp", "low:75, low:10"]
)
def test_pain_and_far_too_early_lower_the_rung_whatever_the_forecast(diary, verdict, words):
    assert verdict(diary.weeks(words))[0].word == "easier"


def test_a_long_break_is_never_overruled(diary, verdict):
    assert (
        verdict(diary.weeks("high:end, high:end, high:end, middle:75, middle:75", last=43))[0].word
        == "easier"
    )


def test_a_rung_never_done_is_held_back_only_where_the_forecast_is_clear(diary, verdict):
    found, rung = verdict(diary.weeks("low:61, low:60, low:62, low:60, low:61, low:end"))
    assert (found.reason, rung) == ("forecast", "low")
    assert "by your results so far lower is about 5" in found.because
    assert verdict(diary.weeks("low:75, low:75, low:80, low:75, low:75, low:end"))[0].word == "harder"


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
        'results of "Wall sit" at "on one leg", which is no longer a rung: 2',
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


def test_a_result_ahead_of_a_clock_that_was_set_back_counts(diary, verdict, now):
    past = diary.weeks("low:75, low:end", last=1, apart=4)
    assert verdict(past, now - timedelta(days=2))[0].word == verdict(past)[0].word == "harder"


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
