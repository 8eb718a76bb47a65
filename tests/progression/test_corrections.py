"""Corrections act as if they had been true from the start: the same events, put right, or stamped right."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.progression.due import due
from holdtimer.report.due import due_to_json
from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize
from tests.profiles import examples

WINDOW = 90.0


def session(day, stamps, *, confirmed=False, off_day=False):
    """The events of a session with one wall sit, stamped at these seconds: failure, re-entry, failure ..."""
    where = {"set": 1, "exercise": "wall-sit", "side": "both"}
    target = {"kind": "hold", "rung": "low", "window_s": WINDOW, "band_s": (60, 90)}
    events = [
        ev.Opened(
            n=0, t=0, session=f"s{day}", person="Wanda", program="chair-and-wall", script="A", off_day=off_day
        ),
        ev.Anchor(n=1, t=0, why="opening", mono_ns=0, wall=f"2026-05-{day:02d}T18:00:00Z"),
        ev.WindowOpen(n=2, t=10, **where, **target),
    ]
    for index, at in enumerate(stamps):
        kind = (ev.Failure, ev.ReEntry)[index % 2]
        events.append(kind(n=3 + index, t=10 + at, at=at, **where))
    events.append(ev.WindowClosed(n=20, t=100, at=WINDOW, **where))
    if confirmed:
        events.append(ev.Confirmed(n=21, t=102, at=92, **where))
    return fold([*events, ev.Closed(n=22, t=110, reason="finished")])


def answer(field, value, **fields):
    return ev.Answer(n=1, t=1, id=f"{field}-{value}", field=field, value=value, **fields)


@pytest.fixture(scope="module")
def told(program, now):
    def tell(*past):
        return due_to_json(due(program, [each for each in past if each is not None], now))

    return tell


seconds = st.integers(1, 89).map(float)


@examples(50)
@given(seconds, seconds, seconds)
def test_a_moved_stamp_is_a_stamp_made_there(told, before, stamped, meant):
    earlier = summarize(session(12, [before]))
    mended = summarize(session(16, [stamped]), [answer("moved", meant, of=3)])
    assert told(earlier, mended) == told(earlier, summarize(session(16, [meant])))


@examples(50)
@given(seconds, seconds)
def test_a_failure_told_afterwards_is_a_failure(told, before, meant):
    earlier = summarize(session(12, [before]))
    mended = summarize(session(16, []), [answer("failed_about", meant, set=1)])
    assert told(earlier, mended) == told(earlier, summarize(session(16, [meant])))


def test_a_run_to_the_end_confirmed_afterwards_is_one(told):
    mended = summarize(session(16, []), [answer("ran_to_end", True, set=1)])
    truth = summarize(session(16, [], confirmed=True))
    assert told(mended) == told(truth)
    assert told(mended)["sets"][-1]["verdict"] == "harder"


def test_a_slip_taken_out_is_a_stamp_never_made(told):
    slipped = session(16, [20, 24, 75])
    assert told(summarize(slipped))["sets"][-1]["because"].startswith("no result counts")
    mended = summarize(slipped, [answer("slip", True, of=3)])
    assert told(mended) == told(summarize(session(16, [75])))


def test_an_off_day_told_afterwards_is_one_from_the_start(told):
    earlier = summarize(session(12, [75]))
    mended = summarize(session(16, [20]), [answer("off_day", True)])
    assert told(earlier, mended) == told(earlier, summarize(session(16, [20], off_day=True)))
    assert told(earlier, mended)["sets"] == told(earlier)["sets"]


def test_a_correction_undone_was_never_made(told):
    move = answer("moved", 20.0, of=3)
    undo = ev.Answer(n=2, t=2, id="u", field="undo", value=move.id)
    assert told(summarize(session(16, [75]), [move, undo])) == told(summarize(session(16, [75])))


def test_an_old_correction_changes_todays_verdict(told):
    """55 s, then 52 s: easier; but the first was really 75 s."""
    first, second = session(12, [55]), session(16, [52])
    plain = told(summarize(first), summarize(second))
    mended = told(summarize(first, [answer("moved", 75.0, of=3)]), summarize(second))
    assert [each["sets"][-1]["verdict"] for each in (plain, mended)] == ["easier", "same"]


def test_pain_told_afterwards_makes_it_easier(told):
    hurt = summarize(session(16, [75]), [answer("pain", True, set=1)])
    assert told(hurt)["sets"][-1]["verdict"] == "easier"
