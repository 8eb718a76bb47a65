"""`show` of each kind of set: what is said is what happened, once, and nothing else."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from holdtimer.progression.verdicts import Verdict
from holdtimer.report.text import Titles, result_figure, result_words, session_lines, set_words, value_words
from holdtimer.session import events as ev
from holdtimer.session.corrections import questions
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize
from tests.invented.timelines import WALL_SIT
from tests.session.conftest import Run

TITLES = Titles("Village hall", "Legs", {"wall-sit": "Wall sit"})


def answers(*said):
    return [ev.Answer(n=n, t=0, id=f"a{n}", **each) for n, each in enumerate(said)]


def lines_of(run, *said, verdicts=None):
    """Return the lines of the first set of a session, without those above it."""
    past = summarize(run.session, answers(*said))
    lines = list(session_lines(past, TITLES, verdicts or {}, {}))
    return [line.strip() for line in lines[lines.index("") + 1 :]]


def worked(*taps, until=95.0, **changes):
    """Return a session with taps at these seconds of its one window, led until some second of it."""
    run = Run(replace(WALL_SIT, **changes))
    opens = run.in_window()
    for at in taps:
        run.at(opens + at, "space")
    run.at(opens + until)
    return run


def stamps(run):
    return [each.n for each in run.events if isinstance(each, (ev.Failure, ev.ReEntry))]


def test_only_the_stamp_that_was_moved_is_about():
    run = worked(65, 71, 80)
    second = stamps(run)[2]
    first, after, *_ = lines_of(run, {"field": "moved", "value": 82.0, "of": second})
    assert first == "1. Wall sit, half way: failed at 65 s"
    assert after == "back in at 71 s, failed again at about 82 s"


def test_a_first_failure_that_was_moved_is_about():
    run = worked(65, 71, 80)
    first, after, *_ = lines_of(run, {"field": "moved", "value": 63.0, "of": stamps(run)[0]})
    assert first == "1. Wall sit, half way: failed at about 63 s"
    assert "about" not in after


def test_a_failure_without_a_re_entry_is_not_back_in():
    assert "not back in" in lines_of(worked(65))


def test_where_failure_ends_the_set_nothing_is_said_of_getting_back_in():
    assert not [line for line in lines_of(worked(65, reentry=False, back_in=None)) if "back in" in line]


@pytest.mark.parametrize(
    ("taps", "after"), [((40,), "then interrupted"), ((40, 50), "back in at 50 s, then interrupted")]
)
def test_a_window_that_was_killed_is_interrupted(taps, after):
    lines = lines_of(worked(*taps, until=60))
    assert lines[0] == "1. Wall sit, half way: failed at 40 s"
    assert lines[1] == after


def test_a_window_that_was_killed_with_no_stamp_is_interrupted():
    assert lines_of(worked(until=60))[0] == "1. Wall sit, half way: interrupted"


def test_a_window_that_was_interrupted_and_resumed_is_interrupted():
    run = worked(40, until=50).resumed(100.0)
    assert lines_of(run)[1] == "then interrupted"


def test_a_late_tap_is_said_on_any_day():
    run = worked(90.68)
    words = "1. Wall sit, half way: at least 90 s, tapped 0.6 s after the end"
    assert lines_of(run)[0] == words
    assert lines_of(run, {"field": "off_day", "value": True})[0] == words


def test_a_run_to_the_end_is_one_only_where_it_was_confirmed():
    silent = worked()
    assert lines_of(silent) == [
        "1. Wall sit, half way: no tap in 90 s",
        "does not count: nobody confirmed that it ran to the end",
    ]
    confirmed = lines_of(silent, {"field": "ran_to_end", "value": True, "set": 1})
    assert confirmed == ["1. Wall sit, half way: at least 90 s, to the end"]


def test_what_was_answered_is_shown():
    said = [
        {"field": "effort", "value": 8.0, "set": 1},
        {"field": "form_broke", "value": True, "set": 1},
        {"field": "pain", "value": True, "set": 1},
        {"field": "note", "value": "left knee", "set": 1},
    ]
    lines = lines_of(worked(65), *said)
    assert "effort 8 of 10; form broke down first; PAIN (sharp, new or in a joint)" in lines
    assert "note: left knee" in lines


def test_no_answer_is_no_line():
    assert not [line for line in lines_of(worked(65)) if "effort" in line or "pain" in line.lower()]


def test_seconds_are_rounded_down_everywhere():
    lines = lines_of(worked(8.743, 20.999))
    assert lines[0] == "1. Wall sit, half way: failed at 8 s"
    assert lines[1] == "back in at 20 s"


def test_a_long_window_has_minutes():
    lines = lines_of(worked(105.5, until=125, window_s=120, band_s=(80, 120)))
    assert lines[0] == "1. Wall sit, half way: failed at 1:45"
    assert "under tension 1:45 of 2:00" in lines


def test_a_result_that_counts_is_said_once():
    assert len([line for line in lines_of(worked(65)) if "failed at 65 s" in line]) == 1


def test_why_a_session_does_not_count_is_said_once():
    past = summarize(worked(65).session, answers({"field": "off_day", "value": True}))
    lines = list(session_lines(past, TITLES, {}, {}))
    assert len([line for line in lines if "off day" in line or "count" in line]) == 1


def test_a_slip_in_doubt_does_not_count_and_says_why():
    assert "does not count: a very early failure, perhaps a slip of the key: say which" in lines_of(
        worked(20, 23)
    )


def verdict(word="same", **changes):
    fields = {"word": word, "reason": "inside", "because": "why", "rung": 0, "evidence": ()} | changes
    return Verdict(**fields)


def test_a_paused_exercise_is_left_out_and_not_the_same():
    because = "pain on 12 May, at the easiest rung: paused"
    lines = lines_of(worked(65), verdicts={1: verdict(because=because, paused=True)})
    assert lines[-1] == "next time left out: pain on 12 May, at the easiest rung"


@pytest.mark.parametrize(
    ("session", "words"),
    [("s", "next time the same: why"), ("r", "next time the same, going by an earlier session: why")],
)
def test_a_verdict_on_earlier_results_says_so(session, words):
    rests_on = (SimpleNamespace(session=session),)
    assert lines_of(worked(65), verdicts={1: verdict(evidence=rests_on)})[-1] == words


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"skipped": True}, "skipped"),
        ({"stopped": "choice"}, "stopped by choice"),
        ({"stopped": "symptom"}, "stopped because something felt wrong"),
        ({"interrupted": True}, "interrupted"),
        ({}, "no result"),
    ],
)
def test_a_set_with_no_result_says_what_ended_it(changes, words):
    (result,) = summarize(worked().session).results
    assert result_words(replace(result, ran_to_end=False, **changes)) == words


def test_a_late_tap_of_a_window_that_keys_did_not_reach_is_no_run_to_the_end():
    (result,) = summarize(worked(90.68).session).results
    assert result_words(replace(result, ran_to_end=False, confirmed=False)) == "no result"


@pytest.mark.parametrize(
    ("stopped", "words"),
    [("choice", "then stopped by choice"), ("symptom", "then stopped because something felt wrong")],
)
def test_a_set_stopped_after_a_failure_says_both(stopped, words):
    past = summarize(worked(65).session)
    (result,) = past.results
    lines = list(session_lines(replace(past, results=(replace(result, stopped=stopped),)), TITLES, {}, {}))
    assert "1. Wall sit, half way: failed at 65 s" in lines
    assert f"   {words}" in lines


ROW = {
    "set": 1,
    "exercise": "wall-sit",
    "side": "both",
    "rung": "high",
    "window_s": 90,
    "band_s": (60, 90),
    "started": "2026-05-12T00:00+02:00",
}


def paper(**row):
    opened = ev.Opened(n=0, t=0, kind="paper", session="p", person="Ada", program="hall", script="A")
    events = [opened, ev.PaperResult(n=1, t=0, **(ROW | row)), ev.Closed(n=2, t=0, reason="finished")]
    return list(session_lines(summarize(fold(events)), TITLES, {}, {}))


def test_of_a_row_on_paper_with_a_date_only_no_time_is_made_up():
    lines = paper(first_failure_s=70, date_only=True)
    assert lines[:4] == ["Village hall: Legs, Ada", "Tuesday 2026-05-12", "  kept on paper", ""]


def test_a_row_on_paper_tells_how_often_one_got_back_in():
    assert "   back in 2 times" in paper(first_failure_s=70, reentries=2)
    assert not [line for line in paper(first_failure_s=70) if "back in" in line]


def test_the_summary_page_calls_silence_no_success():
    (result,) = summarize(worked().session).results
    assert (
        set_words(result, {"wall-sit": "Wall sit"}, None)
        == "1. Wall sit: no tap in 90 s · failed about when?"
    )
    assert "no failure" not in result_words(result)
    assert result_figure(result) == "?"


def test_a_question_shows_the_second_that_was_reached():
    (asked,) = [each for each in questions(worked(8.743, until=60).set) if each.field == "moved"]
    assert value_words(asked.value) == "8"
