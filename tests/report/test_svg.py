"""The drawings of a page: what is drawn is what happened, and what was put right is told."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.log.session_log import SessionLog
from holdtimer.report.course import Point
from holdtimer.report.html import Scale, curve, ruler
from holdtimer.report.record import corrections
from holdtimer.session import events as ev
from holdtimer.session.results import SetResult
from tests.tables import every

NOW = datetime(2026, 4, 12, 12, 0, tzinfo=UTC)
RESULT = SetResult(
    set=1, exercise="wall-sit", side="both", kind="hold", rung="low", window_s=90.0, band_s=(60.0, 90.0),
    failures_s=(), reentries_s=(), first_failure_s=None, ran_to_end=False, confirmed=False, late_tap_s=None,
    tension_s=0.0, interrupted=False, skipped=False, stopped=None, effort=None, form_broke=None, pain=None,
    note=None, perhaps_slip=None, counted=True, counted_because="",
)  # fmt: skip
STAMPED = {"failures_s": (60.0, 80.0), "reentries_s": (70.0,), "first_failure_s": 60.0, "tension_s": 70.0}


@every(
    "changes, spans",
    [
        (STAMPED, ((0, 60), (70, 80))),
        (STAMPED | {"reentries_s": (70.0, 84.0), "tension_s": 76.0}, ((0, 60), (70, 80), (84, 90))),
        (STAMPED | {"reentries_s": (70.0, 84.0), "tension_s": 72.0}, ((0, 60), (70, 80), (84, 86))),  # left
        (
            STAMPED | {"reentries_s": (40.0, 84.0), "failures_s": (60.0,), "tension_s": 66.0},
            ((0, 60), (84, 90)),
        ),
        ({"ran_to_end": True, "confirmed": True, "tension_s": 90.0}, ((0, 90),)),
        ({"first_failure_s": 52.0, "tension_s": 75.0}, ((0, 52),)),  # on paper: what came later has no place
        ({"skipped": True}, ()),
        ({"interrupted": True, "tension_s": 31.0}, ((0, 31),)),
    ],
)
def test_work_is_drawn_where_it_was_done(changes, spans):
    assert replace(RESULT, **changes).worked == spans


@every(
    "changes, parts",
    [
        (STAMPED, {'class="work"': 2, 'class="stamp"': 3, "<path": 0}),
        (STAMPED | {"estimated_s": (60.0,)}, {'class="stamp about"': 1, 'class="stamp"': 2}),
        ({"ran_to_end": True, "confirmed": True, "tension_s": 90.0}, {"<path": 1, "stamp": 0}),
        ({"ran_to_end": True, "tension_s": 90.0}, {"<path": 0, 'class="work"': 1}),  # silence is no success
        ({"first_failure_s": 52.0, "tension_s": 52.0}, {'class="stamp"': 1}),
    ],
)
def test_a_ruler_shows_stamps_and_only_a_confirmed_run_as_one(changes, parts):
    drawn = str(ruler("k", replace(RESULT, **changes), "<title>", "what"))
    assert {part: drawn.count(part) for part in parts} == parts
    assert '<title id="k-t">&lt;title&gt;</title><desc id="k-d">what</desc>' in drawn


def test_a_curve_tells_sides_runs_to_the_end_rungs_and_what_does_not_count_apart_without_hue():
    def point(days, side="left", **changes):
        given = {"seconds": 70.0, "rung": 0, "is_open": False, "counted": True} | changes
        return Point(at=NOW - timedelta(days=days), side=side, **given)

    points = [
        point(30),
        point(20, is_open=True, seconds=90.0),
        point(10, rung=1),
        point(5, rung=1, counted=False, off_day=True),
        point(30, "right"),
        point(20, "right", pain=True),
    ]
    scale = Scale(NOW - timedelta(weeks=6), NOW, 90.0, (60.0, 90.0))
    drawn = str(curve("k", points, scale, ("1 March", "12 April"), "t", "d"))
    parts = {
        'class="mark" cx': 2, 'class="open" cx': 1, 'class="arrow"': 1, 'class="cross"': 1,
        'class="mark" x': 2, 'class="join"': 1, 'class="join right"': 1, 'class="step"': 1,
        'class="step right"': 1, ">off<": 1, ">pain<": 1, ">R1<": 1, ">R2<": 1, ">60<": 1,
        ">90<": 1, ">1 March<": 1,
    }  # fmt: skip
    assert {part: drawn.count(part) for part in parts} == parts
    assert scale.y(0) > scale.y(60) > scale.y(90) == scale.y(120)
    assert scale.x(NOW - timedelta(weeks=9)) == scale.x(scale.since) < scale.x(NOW) == scale.x(scale.until)


@pytest.fixture
def logs():
    """A session with a failure at 20 s (event 3) and a re-entry at 24 s (event 4), and answers to it."""
    target = {
        "set": 1, "exercise": "wall-sit", "side": "both", "kind": "hold", "rung": "low", "window_s": 90,
        "band_s": (60, 90), "final_s": 30, "push_s": 3, "reentry": True, "attempt": 1,
    }  # fmt: skip
    where = {"set": 1, "exercise": "wall-sit", "side": "both", "late_ms": 0.1}
    about = {"person": "ada", "program": "hall"}
    session = (
        ev.Opened(n=0, t=0, session="s", script="A", program_text="", **about),
        ev.Ready(n=1, t=1),
        ev.WindowOpen(n=2, t=10, **target),
        ev.Failure(n=3, t=30, at=20, **where),
        ev.ReEntry(n=4, t=34, at=24, **where),
    )

    def logs(*said):
        opened = ev.Opened(n=0, t=0, kind="answers", session="a", about="s", **about)
        given = (
            ev.Answer(n=n, t=0, id=f"a:{n}", session="s", **each) for n, each in enumerate(said, start=1)
        )
        return [SessionLog("s", session), SessionLog("a", (opened, *given))]

    return logs


@every(
    "said, words",
    [
        (
            [{"of": 3, "field": "slip", "value": True}],
            ["Wall sit: the failure at 20 s was a slip of the key"],
        ),
        (
            [{"set": 1, "field": "slip", "value": True}],
            ["Wall sit: the failure at 20 s was a slip of the key"],
        ),
        ([{"of": 4, "field": "moved", "value": 26.0}], ["Wall sit: the re-entry at 24 s moved to 26 s"]),
        (
            [{"of": 3, "field": "moved", "value": 21.0}, {"of": 3, "field": "moved", "value": 22.0}],
            ["Wall sit: the failure at 20 s moved to 22 s"],  # the last word holds
        ),
        ([{"set": 1, "field": "off_day", "value": True}], ["marked as an off day"]),
        (
            [{"set": 1, "field": "added", "value": at} for at in (30.0, 40.0)],
            [f"Wall sit: a tap added at about {at} s" for at in (30, 40)],
        ),
        ([{"of": 3, "field": "removed", "value": True}], ["Wall sit: the failure at 20 s taken out"]),
        (
            [{"set": 1, "field": "ran_to_end", "value": False}],
            ["Wall sit: not worked to the end, said later"],
        ),
        (
            [{"set": 1, "field": "failed_about", "value": 66.0}],
            ["Wall sit: failed at about 66 s, said later"],
        ),
        ([{"set": 1, "field": "effort", "value": 7.0}, {"set": 1, "field": "pain", "value": True}], []),
        ([{"of": 3, "field": "moved", "value": 21.0}, {"field": "undo", "value": "a:1"}], []),
        (
            [{"field": "released", "value": True}],
            ["said that what stopped or hurt has settled or was checked"],
        ),
        (
            [
                {"set": 1, "field": "added", "value": 40.0},
                {"of_answer": "a:1", "field": "removed", "value": True},
            ],
            [],
        ),
        ([{"of": 3, "field": "slip", "value": True}, {"of": 3, "field": "removed", "value": False}], []),
        ([{"of": 99, "field": "moved", "value": 3.0}, {"set": 7, "field": "slip", "value": True}], []),
    ],
)
def test_what_was_put_right_is_told_with_what_was_recorded(logs, said, words):
    assert corrections(logs(*said), {"wall-sit": "Wall sit"}) == {"s": words}
