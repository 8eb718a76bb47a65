"""Sessions kept on paper, as the fold and the weeks see them."""

import pytest

from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize

ROW = {
    "set": 1,
    "exercise": "wall-sit",
    "side": "both",
    "rung": "high",
    "window_s": 90,
    "band_s": (60, 90),
    "started": "2026-05-12T18:00+02:00",
}


@pytest.fixture
def on_paper():
    """Return the session that rows come to, with what was said of it later."""

    def on_paper(*rows, said=()):
        opened = ev.Opened(n=0, t=0, kind="paper", session="p", person="Ada", program="chair")
        results = [ev.PaperResult(n=n, t=0, **(ROW | row)) for n, row in enumerate(rows, start=1)]
        answers = [ev.Answer(n=n, t=0, id=str(n), **fields) for n, fields in enumerate(said)]
        return summarize(fold([opened, *results, ev.Closed(n=99, t=0, reason="finished")]), answers)

    return on_paper


def test_times_come_from_the_rows(on_paper):
    past = on_paper({"ended": "2026-05-12T18:20+02:00"}, {"set": 2, "ended": "2026-05-12T18:30+02:00"})
    assert (past.started.isoformat(), past.ended.isoformat()) == (
        "2026-05-12T18:00:00+02:00",
        "2026-05-12T18:30:00+02:00",
    )
    assert (past.on_paper, past.date_only, past.complete) == (True, False, True)


def test_a_date_alone_ends_with_its_day_and_an_end_may_be_unknown(on_paper):
    day = on_paper({"started": "2026-05-12T00:00+02:00", "date_only": True})
    assert day.date_only
    assert day.ended.isoformat() == "2026-05-13T00:00:00+02:00"
    assert on_paper({}).ended is None


@pytest.mark.parametrize(
    ("row", "is_hard"),
    [
        ({"first_failure_s": 3}, True),
        ({"tension_s": 30}, True),
        ({"tension_s": 29}, False),
        ({"reentries": 1, "tension_s": 4}, True),  # who got back in had failed before
        ({"ran_to_end": True}, True),
        ({"skipped": True}, False),
    ],
)
def test_a_row_tells_whether_the_session_was_hard(on_paper, row, is_hard):
    assert on_paper(row).is_hard == is_hard


def test_one_row_of_an_off_day_makes_it_one_and_an_answer_undoes_it(on_paper):
    rows = [
        {"first_failure_s": 70},
        {"set": 2, "exercise": "heel-raise", "first_failure_s": 50, "off_day": True},
    ]
    assert [each.counted for each in on_paper(*rows).results] == [False, False]
    undone = on_paper(*rows, said=[{"field": "off_day", "value": False}])
    assert not undone.off_day
    assert [each.counted for each in undone.results] == [True, True]


def test_a_set_left_out_before_it_began_leaves_the_next_one_first(on_paper):
    later = {"set": 2, "first_failure_s": 70}
    assert on_paper({"skipped": True}, later).results[1].counted
    assert not on_paper({"skipped": True, "tension_s": 4}, later).results[1].counted


def test_a_run_to_the_end_holds_though_the_session_was_stopped_after_it(on_paper):
    (result,) = on_paper({"ran_to_end": True, "confirmed": True, "stopped": "symptom"}).results
    assert (result.ran_to_end, result.counted) == (True, True)


def test_a_result_on_paper_can_be_put_right(on_paper):
    failed = {"first_failure_s": 70}
    (about,) = on_paper(failed, said=[{"set": 1, "field": "failed_about", "value": 50.0}]).results
    assert (about.first_failure_s, about.estimated_s) == (50, (50,))
    (ran,) = on_paper(failed, said=[{"set": 1, "field": "ran_to_end", "value": True}]).results
    assert (ran.first_failure_s, ran.ran_to_end, ran.counted) == (None, True, True)
    ran_to_end = {"ran_to_end": True, "confirmed": True}
    (denied,) = on_paper(ran_to_end, said=[{"set": 1, "field": "ran_to_end", "value": False}]).results
    assert (denied.ran_to_end, denied.counted) == (False, False)
