"""What is asked before a session, page by page, with the answers given by hand."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.live.clock import SteadyClock
from holdtimer.live.preflight import preflight
from holdtimer.live.setup import RunRequest
from holdtimer.log.folder import session_folder
from holdtimer.log.history import read_summaries
from holdtimer.log.lines import encode
from holdtimer.log.reader import read_person, unfinished
from holdtimer.program.loading import loads
from holdtimer.report.pages import TAP
from holdtimer.report.text import STOP_SIGNS
from holdtimer.session import events as ev

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
EASY_DAY = """
[[scripts]]
id = "E"
title = "Easy day"
steps = [{easy = "March on the spot", seconds = 60}]
"""


@pytest.fixture
def loaded(hall_text):
    return loads(hall_text + EASY_DAY, "hall.toml")


@pytest.fixture
def on_paper(tmp_path, loaded):
    """Write a session of one set down on paper: so many days ago, failed at 7 s unless told otherwise."""

    def on_paper(days, **told):
        started = NOW - timedelta(days=days)
        name = f"{started:%Y%m%dT%H%M%SZ}-{int(days):08x}"
        opened = ev.Opened(n=0, t=0, kind="paper", session=name, person="Ada", program="hall", script="A")
        place = {"set": 1, "exercise": "wall-sit", "side": "both", "rung": told.pop("rung", "half way")}
        result = ev.PaperResult(
            n=1,
            t=0,
            **place,
            window_s=10,
            band_s=(5, 9),
            started=started.isoformat(),
            ended=(started + timedelta(minutes=20)).isoformat(),
            **{"first_failure_s": 7.0} | told,
        )
        lines = [opened, result, ev.Closed(n=2, t=0, reason="finished")]
        folder = session_folder(tmp_path, "Ada")
        folder.mkdir(exist_ok=True)
        (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))
        return name

    return on_paper


@pytest.fixture
def ask(tmp_path, loaded):
    """Answer the pages before a session in turn; return their headlines and how it is opened.

    The cautions are tapped away, and named only where they are asked for.
    """

    def ask(*answers, with_cautions=False, speed=1.0, program=loaded, words=None):
        pages, waiting = [], list(answers)

        async def answer(page):
            is_cautions = page.headline == "Before you begin"
            pages.extend([page.headline] if with_cautions or not is_cautions else [])
            if words is not None:
                words.append(page)
            return TAP if is_cautions else waiting.pop(0)

        request = RunRequest(tmp_path, "Ada", program, clock=SteadyClock(speed))
        opening = asyncio.run(preflight(request, NOW, answer))
        assert not waiting
        return pages, opening

    return ask


def released(tmp_path):
    every = read_summaries(tmp_path, "Ada").sessions
    return [each.session for each in every if each.released or each.restored]


@pytest.fixture
def led(tmp_path):
    """Write a session that was led here, with the events given between its opening and its closing."""

    def led(*events, **opened):
        name = f"{NOW - timedelta(days=9):%Y%m%dT%H%M%SZ}-00000009"
        first = ev.Opened(n=0, t=0, session=name, person="Ada", program="hall", script="A", **opened)
        wall = (NOW - timedelta(days=9)).isoformat()
        anchor = ev.Anchor(n=1, t=0, why="opening", mono_ns=0, wall=wall)
        folder = session_folder(tmp_path, "Ada", rehearsal=first.speed != 1)
        folder.mkdir(parents=True, exist_ok=True)
        lines = [first, anchor, *events, ev.Closed(n=2 + len(events), t=200, reason="stopped")]
        (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))

    return led


PLACE = {"set": 1, "exercise": "wall-sit", "side": "both"}
OPEN = ev.WindowOpen(n=2, t=10, **PLACE, rung="high", window_s=10, band_s=(5, 9))
FAILED = ev.Failure(n=3, t=17, at=7, **PLACE)


def test_the_cautions_come_until_a_session_was_led(ask, on_paper, led):
    assert ask(with_cautions=True)[0] == ["Before you begin"]
    on_paper(5)
    pages, opening = ask(with_cautions=True)
    assert pages == ["Before you begin"]
    assert opening.rungs == {("wall-sit", "both"): "half way"}
    assert opening.last == {("wall-sit", "both"): 7.0}
    led(OPEN, FAILED)
    assert ask(with_cautions=True)[0] == []


def test_a_session_in_which_nothing_was_done_leaves_the_cautions_unread(ask, led):
    led()
    assert ask(with_cautions=True)[0] == ["Before you begin"]


def test_the_key_is_tried_until_a_set_was_led_and_not_in_a_rehearsal(ask, on_paper, led):
    assert ask(with_cautions=True)[1].tries_key
    assert not ask(with_cautions=True, speed=4.0)[1].tries_key
    on_paper(5)
    assert ask(with_cautions=True)[1].tries_key
    led(OPEN, FAILED)
    assert not ask()[1].tries_key


def test_one_who_rehearsed_has_read_the_cautions(ask, led):
    led(OPEN, FAILED, speed=4.0)
    assert ask(with_cautions=True)[0] == []


def test_no_tap_starts_a_program_on_hold(ask, on_paper, tmp_path):
    on_paper(5, stopped="symptom")
    assert ask(TAP) == (["On hold"], None)
    assert released(tmp_path) == []


@pytest.mark.parametrize(("answer", "asks"), [("s", "Fully settled?"), ("d", "Checked?")])
def test_a_stop_is_released_in_two_steps_on_paper_too_and_is_not_asked_again(
    ask, on_paper, tmp_path, answer, asks
):
    on_paper(8)
    stopped = on_paper(5, first_failure_s=None, stopped="symptom")
    for second in (TAP, answer):  # the same letter again confirms nothing
        assert ask(answer, second) == (["On hold", asks], None)
        assert released(tmp_path) == []
    pages, opening = ask(answer, "y")
    assert pages == ["On hold", asks]
    assert released(tmp_path) == [stopped]
    assert opening.rungs == {("wall-sit", "both"): "high"}  # easier after it
    assert ask()[0] == []


@pytest.mark.parametrize(
    ("answer", "told"), [("s", "it has settled"), ("d", "a doctor or therapist has checked it")]
)
def test_a_release_keeps_what_was_answered(ask, on_paper, tmp_path, answer, told):
    stopped = on_paper(5, stopped="symptom")
    ask(answer, "y")
    (log,) = [log for log in read_person(tmp_path, "Ada") if log.opened.kind == "answers"]
    answers = [(each.field, each.value) for each in log.events if isinstance(each, ev.Answer)]
    assert (log.opened.about, answers) == (stopped, [("released", True), ("note", told)])


def test_on_the_day_of_the_stop_only_a_doctor_or_therapist_releases_it(ask, on_paper, tmp_path):
    on_paper(0, stopped="symptom")
    words = []
    ask(TAP, words=words)
    assert [key for key, _ in words[-1].keys] == ["d"]
    assert ask("d", "y", TAP)[0] == ["On hold", "Checked?", "Not yet due"]


def test_the_pages_of_a_hold_say_what_was_stopped_and_when_and_the_signs_once_more(ask, on_paper):
    on_paper(5, stopped="symptom")
    words = []
    ask("s", TAP, words=words)
    hold, settled = words[-2:]
    (stop,) = [line for line in hold.lines if "stopped" in line]
    assert "on Friday 20 November at 18:00 in set 1, wall-sit" in stop
    for page in (hold, settled):
        assert "After chest pain, fainting or trouble speaking, ask a doctor first." in page.lines
        assert page.tap == "not today"
    assert {f"  {sign}" for sign in STOP_SIGNS} <= set(settled.lines)


def test_a_stop_that_was_led_is_named_by_its_titles(ask, led, loaded):
    stop = ev.Stopped(n=4, t=20, reason="symptom", scope="session", **PLACE, at=10)
    led(OPEN, FAILED, stop, program_text=loaded.text)
    words = []
    ask(TAP, words=words)
    stopped = words[-1].lines[0]
    assert stopped.startswith("Legs was stopped on Monday 16 November at 18:03 in set 1, Wall sit:")


def test_a_release_that_cannot_be_saved_releases_nothing_and_says_so(ask, on_paper, tmp_path, monkeypatch):
    on_paper(5, stopped="symptom")
    with monkeypatch.context() as full:
        full.setattr("holdtimer.log.writer.LogWriter.append", lambda writer, event: None)
        full.setattr("holdtimer.log.writer.LogWriter.close", lambda writer: False)
        assert ask("s", "y", TAP) == (["On hold", "Fully settled?", "Not saved"], None)
    assert released(tmp_path) == []
    assert ask(TAP)[0] == ["On hold"]


def test_a_stop_in_another_program_holds_this_one(ask, on_paper, hall_text):
    on_paper(5, stopped="symptom")
    other = loads(hall_text.replace('id = "hall"', 'id = "floor"'), "floor.toml")
    assert ask(TAP, program=other) == (["On hold"], None)


def test_a_stop_in_a_rehearsal_holds_every_program(ask, led):
    led(OPEN, ev.Stopped(n=4, t=20, reason="symptom", scope="session", **PLACE, at=10), speed=4.0)
    assert ask(TAP) == (["On hold"], None)


def test_a_session_that_begins_a_minute_later_does_not_lift_a_stop_on_paper(ask, on_paper):
    on_paper(5.001, stopped="symptom")
    on_paper(5)
    assert ask(TAP) == (["On hold"], None)


def test_a_session_that_was_left_does_not_go_on_while_every_program_is_on_hold(tmp_path, led, hall_text):
    led(OPEN, ev.Stopped(n=4, t=20, reason="symptom", scope="session", **PLACE, at=10), speed=4.0)
    begun = NOW - timedelta(minutes=10)
    name = f"{begun:%Y%m%dT%H%M%SZ}-00000010"
    whose = {"session": name, "person": "Ada", "program": "hall", "script": "A"}
    first = ev.Opened(n=0, t=0, **whose, program_text=hall_text)
    anchor = ev.Anchor(n=1, t=0, why="opening", mono_ns=0, wall=begun.isoformat())
    folder = session_folder(tmp_path, "Ada")
    folder.mkdir(parents=True, exist_ok=True)
    lines = [first, anchor, OPEN, FAILED, ev.Left(n=4, t=30, reason="quit")]
    (folder / f"{name}.jsonl").write_bytes(b"".join(map(encode, lines)))
    left = unfinished(tmp_path, "Ada", NOW)
    assert left is not None
    for loaded, first_answers in ((None, []), (loads(hall_text, "hall.toml"), ["tap"])):
        pages, answers = [], [*first_answers, "tap"]

        async def ask(page, pages=pages, answers=answers):
            pages.append(page.headline)
            return answers.pop(0)

        request = RunRequest(tmp_path, "Ada", loaded, left=left, clock=SteadyClock(1.0))
        assert asyncio.run(preflight(request, NOW, ask)) is None
        assert pages == ["Go on?"] * len(first_answers) + ["On hold"]


def test_a_paused_exercise_is_left_out_until_it_is_restored(ask, on_paper, tmp_path):
    hurt = on_paper(5, rung="high", pain=True)
    pages, opening = ask(TAP)
    assert (pages, opening.without) == (["Left out"], {("wall-sit", "both")})
    assert released(tmp_path) == []
    for second in (TAP, "r"):
        pages, opening = ask("r", second)
        assert (pages, opening.without) == (["Left out", "Restore?"], {("wall-sit", "both")})
        assert released(tmp_path) == []
    words = []
    pages, opening = ask("r", "y", words=words)
    assert (pages, opening.without) == (["Left out", "Restore?"], set())
    assert all(any("Wall sit: pain on 20 November" in line for line in page.lines) for page in words[-2:])
    assert released(tmp_path) == [hurt]
    assert ask()[0] == []


def test_a_tap_on_too_early_means_not_today_and_a_key_of_its_own_starts(ask, on_paper):
    on_paper(1)
    assert ask(TAP) == (["Not yet due"], None)
    _, opening = ask("e")
    assert (opening.script, opening.early_h) == ("B", pytest.approx(23.67, abs=0.01))
    _, opening = ask("y")
    assert (opening.script, opening.early_h) == ("E", None)


def test_a_rehearsal_asks_nothing_of_holds_pauses_and_recovery(ask, on_paper):
    on_paper(1, stopped="symptom")
    pages, opening = ask(speed=4.0)
    assert pages == []
    assert opening is not None
