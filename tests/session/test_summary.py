"""A session as the weeks see it: when it was, whether it was hard, and what was said of it since."""

from datetime import UTC, datetime, timedelta

import pytest
from pydantic import ValidationError

from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.state import Session
from holdtimer.session.summary import anchored, summarize, wall_time

START = "2026-11-25T09:00:00.000Z"


def anchor(run, t, wall=START, why="opening", offset_s=3600):
    run.took(run.engine.record(ev.Anchor, t, why=why, mono_ns=0, wall=wall, offset_s=offset_s))


def utc(hour, minute, second=0):
    return datetime(2026, 11, 25, hour, minute, second, tzinfo=UTC)


def said(field, value, n=0):
    return ev.Answer(n=n, t=0, id=f"a{n}", field=field, value=value)


@pytest.fixture
def finished(begin):
    """A session of one set, failed at 65, opened at nine in the morning."""
    run = begin(off_day=False)
    anchor(run, 0)
    opens = run.in_window()
    run.at(opens + 65, "space")
    run.at(opens + 93)
    run.took(run.engine.close(108, "finished"))
    return run


def test_who_what_and_when(finished):
    past = summarize(finished.session)
    assert (past.session, past.person, past.program, past.script) == ("s", "Ada", "chair", "A")
    assert (past.started, past.ended) == (utc(9, 0), utc(9, 1, 48))
    assert past.started.utcoffset() == timedelta(hours=1)
    assert (past.complete, past.rehearsal, past.is_hard, past.symptom) == (True, False, True, False)
    assert [result.first_failure_s for result in past.results] == [65]


def test_without_its_first_line_a_session_tells_nothing():
    assert summarize(Session()) is None


@pytest.mark.parametrize("reason", ["stopped", "closed-later"])
def test_a_session_not_carried_through_is_not_complete(begin, reason):
    run = begin()
    run.took(run.engine.close(5, reason))
    assert not summarize(run.session).complete


def test_a_session_still_open_is_not_complete(begin):
    assert not summarize(begin().session).complete


def test_what_was_planned_is_what_it_was_opened_with(begin):
    planned = (ev.DueRung(exercise="wall-sit", side="both", rung="half way"),)
    assert summarize(begin(rungs=planned).session).planned == planned


# -- wall times


def test_wall_times_after_a_standstill_derive_from_the_anchor_after_it(begin):
    run = begin()
    anchor(run, 0)
    anchor(run, 100, wall="2026-11-25T10:00:00Z", why="gap")
    assert wall_time(run.session, 99) == utc(9, 1, 39)
    assert wall_time(run.session, 110) == utc(10, 0, 10)


def test_before_the_first_anchor_the_first_tells_the_time(begin):
    run = begin()
    anchor(run, 10)
    assert wall_time(run.session, 4) == utc(8, 59, 54)


def test_in_a_rehearsal_the_world_goes_on_more_slowly(begin):
    run = begin(speed=10)
    anchor(run, 0)
    assert wall_time(run.session, 600) == utc(9, 1)


def test_with_no_anchor_no_time_is_told(begin):
    past = summarize(begin().session)
    assert (past.started, past.ended) == (None, None)


@pytest.mark.parametrize(
    ("wall", "offset_s"), [("noon", 0), ("", 0), (START, 10**9), (START, -80000 * 10**6)]
)
def test_an_anchor_that_cannot_be_read_is_passed_over(begin, wall, offset_s):
    run = begin()
    anchor(run, 0)
    anchor(run, 50, wall=wall, why="gap", offset_s=offset_s)
    assert anchored(run.last) is None
    assert wall_time(run.session, 60) == utc(9, 1)


def test_a_speed_that_makes_no_sense_does_not_stop_the_reading(begin):
    run = begin(speed=1e-300)
    anchor(run, 0)
    wall_time(run.session, 60)
    assert summarize(run.session).rehearsal


@pytest.mark.parametrize("speed", [0, -1, 1001, float("nan"), float("inf")])
def test_a_speed_that_there_is_not_is_no_event(begin, speed):
    with pytest.raises(ValidationError):
        begin(speed=speed)


@pytest.mark.parametrize("wall", ["0001-01-01T00:00:00Z", "9999-12-31", "1899-12-31T23:00:00Z"])
def test_a_time_far_from_ours_is_no_event(begin, wall):
    with pytest.raises(ValidationError, match="the year has to be from 1900 to 2999"):
        anchor(begin(), 0, wall=wall)


def test_a_wall_time_with_no_zone_is_utc(begin):
    run = begin()
    anchor(run, 0, wall="2026-11-25T09:00:00")
    assert wall_time(run.session, 0) == utc(9, 0)


# -- hard or not


def hard(run):
    return summarize(run.session).is_hard


@pytest.mark.parametrize(("length", "is_hard"), [(29.9, False), (30, True)])
def test_thirty_seconds_of_a_window_make_a_session_hard(begin, length, is_hard):
    run = begin()
    opens = run.in_window()
    run.gap(opens + length, opens + 100)
    assert hard(run) is is_hard


def test_a_failure_makes_a_session_hard_however_early(begin):
    run = begin()
    run.at(run.in_window() + 5, "space")
    assert hard(run)


def test_a_window_left_open_is_as_long_as_it_is_known_to_have_run(begin):
    run = begin()
    run.at(run.in_window() + 62)
    assert hard(run)
    early = begin()
    early.at(early.in_window() + 20)
    assert not hard(early)


def test_an_anchor_after_a_long_break_does_not_make_a_window_longer(begin):
    run = begin()
    opens = run.in_window()
    anchor(run, opens + 3000, why="resume")
    assert not hard(run)


@pytest.mark.parametrize("keys", [[], ["escape", "down", "enter"]])
def test_no_window_no_hard_session(begin, keys):
    run = begin()
    for n, key in enumerate(keys):
        run.at(2 + n, key)
    assert not hard(run)


def test_an_easy_day_is_never_hard(begin, an_easy):
    run = begin(an_easy(3600))
    run.at(2, "space")
    run.at(3700)
    assert not hard(run)


# -- what was said since


def test_a_symptom_puts_it_on_hold_until_it_was_said_to_be_settled(begin):
    run = begin()
    run.at(2, "escape")
    run.at(3, "enter")
    assert (summarize(run.session).symptom, summarize(run.session).released) == (True, False)
    assert summarize(run.session, [said("released", True)]).released


@pytest.mark.parametrize(
    "answers",
    [
        [said("released", False)],
        [said("released", True), said("released", False, 1)],
        [said("released", True), said("undo", "a0", 1)],
    ],
)
def test_a_release_taken_back_is_none(begin, answers):
    assert not summarize(begin().session, answers).released


def test_an_off_day_told_later_is_one(finished):
    assert summarize(finished.session, [said("off_day", True)]).off_day
    assert not summarize(finished.session, [said("off_day", True), said("off_day", False, 1)]).off_day


def test_corrections_are_in_the_results(finished):
    moved = ev.Answer(n=0, t=0, id="a", field="moved", value=66, of=finished.set.stamps[0].n)
    assert summarize(finished.session, [moved]).results[0].first_failure_s == 66


def test_a_generator_of_answers_is_read_once_for_all(finished):
    past = summarize(finished.session, (each for each in [said("off_day", True), said("released", True, 1)]))
    assert past.off_day
    assert past.released
    assert past.results[0].counted_because == "an off day"


# -- on paper


def paper(*rows):
    opened = ev.Opened(n=0, t=0, session="p", person="Ada", program="chair", kind="paper")
    target = {"exercise": "wall-sit", "side": "both", "rung": "half way", "window_s": 90, "band_s": (60, 90)}
    events = [ev.PaperResult(n=n, t=0, set=n, **target | row) for n, row in enumerate(rows, 1)]
    return summarize(fold([opened, *events]))


def test_a_session_on_paper_was_when_its_rows_say(begin):
    past = paper(
        {"started": "2026-11-02T09:05:00+01:00", "first_failure_s": 70},
        {"started": "2026-11-02T09:00:00+01:00", "ended": "2026-11-02T09:40:00+01:00", "ran_to_end": True},
    )
    assert past.started == datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
    assert past.ended == datetime(2026, 11, 2, 8, 40, tzinfo=UTC)
    assert (past.complete, past.on_paper, past.date_only, past.is_hard) == (True, True, False, True)


def test_a_day_with_no_time_counts_from_its_end():
    past = paper({"started": "2026-11-02T00:00:00+01:00", "date_only": True, "first_failure_s": 70})
    assert past.date_only
    assert past.ended == datetime(2026, 11, 2, 23, 0, tzinfo=UTC)


def test_with_no_end_on_paper_none_is_told():
    assert paper({"started": "2026-11-02T09:00:00Z", "first_failure_s": 70}).ended is None


@pytest.mark.parametrize("started", ["", "yesterday"])
def test_a_start_that_cannot_be_read_stops_nothing(started):
    assert paper({"started": started, "date_only": True}).ended is None


@pytest.mark.parametrize(
    ("row", "is_hard"),
    [
        ({"skipped": True}, False),
        ({"first_failure_s": 5}, True),
        ({"reentries": 1}, True),
        ({"tension_s": 29}, False),
        ({"tension_s": 30}, True),
        ({"ran_to_end": True}, True),
    ],
)
def test_a_session_on_paper_is_hard_by_what_is_written(row, is_hard):
    assert paper({"started": "2026-11-02T09:00:00Z"} | row).is_hard is is_hard


def test_an_off_day_in_any_row_is_one():
    rows = [{"started": "2026-11-02T09:00:00Z", "first_failure_s": 70}] * 2
    assert paper(rows[0], rows[1] | {"off_day": True}).off_day
