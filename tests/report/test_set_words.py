"""`show` of each kind of set: what is said is what happened, once, and nothing else."""

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from holdtimer.progression.verdicts import Verdict
from holdtimer.report.session import SessionReport
from holdtimer.report.table import text_lines
from holdtimer.report.text import Titles, result_figure, result_words, set_words, value_words
from holdtimer.session import events as ev
from holdtimer.session.corrections import questions
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize
from tests.invented.timelines import WALL_SIT
from tests.session.conftest import Run

TITLES = Titles("Village hall", "Legs", {"wall-sit": "Wall sit"})


def answers(*said):
    return [ev.Answer(n=n, t=0, id=f"a{n}", **each) for n, each in enumerate(said)]


def told_of(past, verdicts=None):
    """Return the lines of a session, nothing drawn and nothing left out."""
    return text_lines(SessionReport(past, TITLES, verdicts or {}).blocks(), 200, None)


def lines_of(run, *said, verdicts=None):
    """Return the row of the first set of a session, bars between its cells, and what is told under it."""
    past = summarize(run.session, answers(*said))
    lines = told_of(past, verdicts)
    return [re.sub(" {2,}", " | ", line.strip()) for line in lines[lines.index("") + 2 :]]


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
    (row,) = lines_of(run, {"field": "moved", "value": 82.0, "of": second})
    assert row == "1 | Wall sit: half way | 65 s | 76 s | back in 71 s, failed about 82 s"


def test_a_first_failure_that_was_moved_is_about():
    run = worked(65, 71, 80)
    (row,) = lines_of(run, {"field": "moved", "value": 63.0, "of": stamps(run)[0]})
    assert row == "1 | Wall sit: half way | about 63 s | 72 s | back in 71 s, failed 80 s"


def test_a_failure_without_a_re_entry_is_not_back_in():
    assert lines_of(worked(65)) == ["1 | Wall sit: half way | 65 s | 65 s | not back in"]


def test_where_failure_ends_the_set_nothing_is_said_of_getting_back_in():
    assert lines_of(worked(65, reentry=False, back_in=None)) == ["1 | Wall sit: half way | 65 s | 65 s"]


@pytest.mark.parametrize("taps", [(40,), (40, 50)])
def test_a_window_that_was_killed_is_interrupted(taps):
    row, after = lines_of(worked(*taps, until=60))
    assert row.startswith("1 | Wall sit: half way | 40 s | ")
    assert after == "Interrupted."


def test_a_window_that_was_killed_with_no_stamp_is_interrupted():
    assert lines_of(worked(until=60))[0] == "1 | Wall sit: half way | interrupted"


def test_a_window_that_was_interrupted_and_resumed_is_interrupted():
    run = worked(40, until=50).resumed(100.0)
    assert lines_of(run)[1] == "Interrupted."


def test_a_late_tap_is_said_on_any_day():
    run = worked(90.68)
    words = ["1 | Wall sit: half way | to end | 90 s", "Tapped 0.6 s after the end."]
    assert lines_of(run) == words
    assert lines_of(run, {"field": "off_day", "value": True}) == words


def test_a_run_to_the_end_is_one_only_where_it_was_confirmed():
    silent = worked()
    assert lines_of(silent) == [
        "1 | Wall sit: half way | no tap | 90 s",
        "Does not count: nobody confirmed that it ran to the end.",
    ]
    confirmed = lines_of(silent, {"field": "ran_to_end", "value": True, "set": 1})
    assert confirmed == ["1 | Wall sit: half way | to end | 90 s"]


def test_what_was_answered_is_shown():
    said = [
        {"field": "effort", "value": 8.0, "set": 1},
        {"field": "form_broke", "value": True, "set": 1},
        {"field": "pain", "value": True, "set": 1},
        {"field": "note", "value": "left knee", "set": 1},
    ]
    assert lines_of(worked(65), *said) == [
        "1 | Wall sit: half way | 65 s | 8 | 65 s | not back in",
        "PAIN (sharp, new or in a joint)",
        "Form broke down first.",
        "Note: left knee",
    ]


def test_seconds_are_rounded_down_everywhere():
    row, *_ = lines_of(worked(8.743, 20.999))
    assert row == "1 | Wall sit: half way | 8 s | 77 s | back in 20 s"


def test_a_long_window_has_minutes():
    (row,) = lines_of(worked(105.5, until=125, window_s=120, band_s=(80, 120)))
    assert row == "1 | Wall sit: half way | 1:45 | 1:45 | not back in"


def test_why_a_session_does_not_count_is_said_once():
    past = summarize(worked(65).session, answers({"field": "off_day", "value": True}))
    assert len([line for line in told_of(past) if "off day" in line or "count" in line]) == 1


def test_a_slip_in_doubt_does_not_count_and_says_why():
    assert lines_of(worked(20, 23))[1:] == [
        "Does not count: a very early failure, perhaps a slip of the key: say which."
    ]


def verdict(word="same", **changes):
    fields = {"word": word, "reason": "inside", "because": "why", "rung": 0, "evidence": ()} | changes
    return Verdict(**fields)


def test_a_paused_exercise_is_left_out_and_not_the_same():
    because = "pain on 12 May, at the easiest rung: paused"
    row, why = lines_of(worked(65), verdicts={1: verdict(because=because, paused=True)})
    assert " | left out | " in row
    assert why == "Pain on 12 May, at the easiest rung."


@pytest.mark.parametrize(
    ("session", "changes", "why"),
    [
        (None, {}, []),  # as the rule has it
        (None, {"reason": "undone", "because": "65 s, but harder was undone"}, ["Harder was undone."]),
        (None, {"reason": "in doubt", "because": "failed at 65 s, but the form went"}, []),  # told already
        ("r", {}, ["Going by an earlier session: why."]),
    ],
)  # fmt: skip
def test_a_verdict_gives_a_reason_where_the_result_beside_it_is_none(session, changes, why):
    run = worked(65)
    rests_on = (SimpleNamespace(session=session or summarize(run.session).session),)
    row, *notes = lines_of(run, verdicts={1: verdict(evidence=rests_on, **changes)})
    assert " | same | " in row
    assert notes == why


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
    [("choice", "Stopped by choice."), ("symptom", "Stopped because something felt wrong.")],
)
def test_a_set_stopped_after_a_failure_says_both(stopped, words):
    past = summarize(worked(65).session)
    (result,) = past.results
    lines = told_of(replace(past, results=(replace(result, stopped=stopped),)))
    assert "  65 s  " in lines[-2]
    assert lines[-1] == f"   {words}"


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
    return told_of(summarize(fold(events)))


def test_of_a_row_on_paper_with_a_date_only_no_time_is_made_up():
    assert paper(first_failure_s=70, date_only=True)[:4] == [
        "Kept on paper. 1 set: in the band.",
        "Village hall: Legs",
        "Ada, Tuesday 2026-05-12",
        "",
    ]


def test_a_row_on_paper_tells_how_often_one_got_back_in():
    assert paper(first_failure_s=70, reentries=2)[-1].endswith("  back in 2 times")
    assert paper(first_failure_s=70)[-1] == "1  Wall sit: high    70 s    70 s"


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
