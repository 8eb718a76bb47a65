from datetime import UTC, datetime

import pytest

from holdtimer.log.history import read_summaries
from holdtimer.session import events as ev

PLACE = {"set": 1, "exercise": "wall-sit", "side": "both"}


@pytest.fixture
def past(data):
    return lambda **more: read_summaries(data, "Ada", **more).sessions


@pytest.mark.parametrize(("known_at", "is_hard"), [(13.5 + 29, False), (13.5 + 60, True)])
def test_a_session_that_was_killed_was_hard_if_it_is_known_to_have_run_so_long(
    past, put, session, known_at, is_hard
):
    """Only the line that says the band was reached tells that the window was still open then."""
    events = session()[:5]
    put([*events, ev.Band(n=5, t=known_at, at=known_at - 13.5, **PLACE)])
    (found,) = past()
    assert found.is_hard == is_hard
    assert found.results[0].tension_s == pytest.approx(known_at - 13.5)
    assert not found.complete


def test_what_was_led_later_is_left_out_and_paper_tells_its_own_times(past, put, session):
    put(session())
    row = {"rung": "high", "window_s": 90, "band_s": (60, 90), "first_failure_s": 70}
    opened = ev.Opened(
        n=0, t=0, kind="paper", session="20270101T000000Z-00000000", person="Ada", program="chair"
    )
    result = ev.PaperResult(n=1, t=0, started="2026-05-12", date_only=True, **PLACE, **row)
    put([opened, result, ev.Closed(n=2, t=0, reason="finished")], name=f"{opened.session}.jsonl")
    assert len(past()) == 2
    (paper,) = past(until=datetime(2026, 6, 1, tzinfo=UTC))
    assert paper.on_paper


def test_answers_speak_of_paper_too(past, put):
    row = {
        "rung": "high",
        "window_s": 90,
        "band_s": (60, 90),
        "first_failure_s": 70,
        "started": "2026-05-12T18:00Z",
    }
    opened = ev.Opened(
        n=0, t=0, kind="paper", session="20260512T180000Z-00000000", person="Ada", program="chair"
    )
    put([opened, ev.PaperResult(n=1, t=0, **PLACE, **row)], name=f"{opened.session}.jsonl")
    about = {"kind": "answers", "session": "20260513T180000Z-00000000", "about": opened.session}
    said = ev.Opened(n=0, t=0, person="Ada", program="chair", **about)
    answer = ev.Answer(n=1, t=0, id="1", field="pain", value=True, set=1, session=opened.session)
    put([said, answer], name=f"{said.session}.jsonl")
    assert past()[0].results[0].pain
