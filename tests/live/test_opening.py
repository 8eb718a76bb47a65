import contextlib
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.errors import BrokenSessionError, TooLateToResumeError
from holdtimer.live import setup
from holdtimer.live.audio import Speech
from holdtimer.live.setup import Opening, RunRequest, close_left
from holdtimer.log.clocks import take_anchor
from holdtimer.log.reader import last_session, unfinished
from holdtimer.program.loading import loads
from holdtimer.session.events import Opened
from tests.hand_clock import HandClock
from tests.invented.recording import RecordingPlayer

EACH = """
[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
first_side = "weaker"
failure = "The heel stays down."
way_out = "Both feet down."
back_in = "Rise again."
ladder = ["two hands", "one hand"]

[[scripts]]
id = "C"
title = "Both"
steps = [{exercise = "heel-raise"}, {exercise = "wall-sit"}]
"""


@pytest.fixture
def clock(monkeypatch):
    """A clock that stands still, its readings among those of the machine."""
    clock = HandClock()
    monkeypatch.setattr(setup, "take_anchor", lambda: take_anchor()._replace(mono_ns=round(clock.time * 1e9)))
    return clock


def open_new(request, program, opening):
    return setup.open_new(request, program, opening, RecordingPlayer(), Speech())


def resume(request, left):
    return setup.resume(request, left, RecordingPlayer(), Speech())


@pytest.fixture
def request_by_hand(tmp_path, clock):
    return RunRequest(tmp_path, "Ada", clock=clock)


@pytest.fixture
def program(hall_text):
    return loads(hall_text + EACH, "hall.toml")


def led(run, *taps, until=None):
    """Lead a run with its hand clock: tap at these seconds, then let it stand at `until`."""
    driver, clock = run.driver, run.driver._clock
    start = clock.time - driver.now()
    for t in (*taps, until):
        while t is not None and clock.time < start + t and not driver.is_done:
            clock.time = min(clock.time + 0.25, start + t)
            driver.tick()
        if t in taps:
            driver.key("space", clock.time)
    return run


@contextlib.contextmanager
def opened(run):
    """Begin a run whose heart is beaten by hand only: the clock of a test stands still."""
    run.driver._heartbeat = None
    run.begin()
    yield run
    run.end()


def left_unfinished(request_by_hand, program, how=None):
    with opened(open_new(request_by_hand, program, how or Opening(script="A"))) as run:
        led(run, 2, until=7)
    found = unfinished(request_by_hand.data, request_by_hand.person, datetime.now(UTC))
    assert found is not None
    return found


def test_a_session_opens_with_all_that_is_needed_to_go_on_with_it(request_by_hand, program):
    how = Opening(
        script="C",
        rungs={("heel-raise", "left"): "one hand"},
        first_sides={"heel-raise": "right"},
        early_h=12.5,
    )
    with opened(open_new(request_by_hand, program, how)) as run:
        led(run, 2, until=3)
    told = last_session(request_by_hand.data, "Ada").opened
    assert isinstance(told, Opened)
    assert told.program_text == program.text
    assert (told.person, told.program, told.script, told.early_h) == ("Ada", "hall", "C", 12.5)
    assert [(due.exercise, due.side, due.rung) for due in told.rungs] == [
        ("heel-raise", "right", "two hands"),
        ("heel-raise", "left", "one hand"),
        ("wall-sit", "both", "half way"),
    ]


@pytest.mark.parametrize(
    ("end", "code"),
    [
        (lambda run: led(run, 2, 8, until=30), 0),
        (lambda run: run.driver.leave("quit"), 1),
        (lambda run: run.driver.leave("silence"), 1),
        (lambda run: run.driver.leave("end-of-input"), 1),
        (lambda run: run.driver.leave("terminated"), 143),
        (lambda run: run.driver.leave("hang-up"), 129),
        (lambda run: run.driver.close("stopped"), 0),
    ],
)
def test_a_run_ends_with_the_code_of_how_it_ended(request_by_hand, program, end, code):
    with opened(open_new(request_by_hand, program, Opening(script="A"))) as run:
        end(run)
    assert run.is_written
    assert run.exit_code() == code


def test_what_was_not_written_comes_before_how_it_ended(clock, program, tmp_path):
    (tmp_path / "file").write_text("")
    nowhere = RunRequest(tmp_path / "file" / "data", "Ada", clock=clock)
    with opened(open_new(nowhere, program, Opening(script="A"))) as run:
        led(run, 2, until=3)
        run.driver.leave("quit")
    assert not run.is_written
    assert run.exit_code() == 3
    assert run.writer.why_not_saved == "the folder is gone"
    assert run.save_elsewhere(tmp_path / "elsewhere")
    assert run.exit_code() == 1
    assert last_session(tmp_path / "elsewhere", "Ada").files == (run.writer.path,)


def test_going_on_follows_the_program_in_the_log_and_ends_the_open_window(request_by_hand, program):
    left = left_unfinished(request_by_hand, program)
    with opened(resume(request_by_hand, left)) as run:
        assert run.driver.engine.timeline.program == "hall"
        led(run, until=run.driver.now() + 3)
    log = last_session(request_by_hand.data, "Ada")
    assert [event.ev for event in log.events][-5:-2] == ["anchor", "resumed", "interrupted"]
    assert log.closed
    assert log.files == left.log.files


@pytest.mark.parametrize(("age_s", "on_by"), [(600.0, 600.0), (-600.0, 0.0)])
def test_time_goes_on_by_the_wall_clock_and_never_back(request_by_hand, program, age_s, on_by):
    left = left_unfinished(request_by_hand, program)
    resumed_at = pytest.approx(left.log.events[-1].t + on_by)
    with opened(resume(request_by_hand, type(left)(left.log, age_s))) as run:
        assert run.driver.engine.session.t == resumed_at
        assert run.driver.now() == resumed_at
        run.driver.leave("quit")


def test_exercises_that_were_left_out_stay_out(request_by_hand, program):
    how = Opening(
        script="C", without=frozenset({("heel-raise", "left")}), first_sides={"heel-raise": "right"}
    )
    left = left_unfinished(request_by_hand, program, how)
    with opened(resume(request_by_hand, left)) as run:
        assert [(s.exercise, s.side) for s in run.driver.engine.timeline.sets] == [
            ("heel-raise", "right"),
            ("wall-sit", "both"),
        ]
        run.driver.leave("quit")


@pytest.mark.parametrize(("age", "is_late"), [(timedelta(minutes=59), False), (timedelta(minutes=61), True)])
def test_after_an_hour_it_can_only_be_closed(request_by_hand, program, age, is_late):
    left = left_unfinished(request_by_hand, program)
    left = type(left)(left.log, age.total_seconds())
    if is_late:
        with pytest.raises(TooLateToResumeError, match="60 minutes"):
            resume(request_by_hand, left)
    else:
        resume(request_by_hand, left).end()
    closed = close_left(request_by_hand, left)
    assert closed.is_written
    assert last_session(request_by_hand.data, "Ada").closed


def test_closing_later_is_no_later_than_it_was_left(request_by_hand, program):
    left = left_unfinished(request_by_hand, program)
    close_left(request_by_hand, left)
    log = last_session(request_by_hand.data, "Ada")
    assert log.events[-1].t == left.log.events[-1].t
    assert [event.ev for event in log.events][-2:] == ["interrupted", "closed"]


@pytest.mark.parametrize("spoilt", [{"program_text": "format = 2"}, {"script": "Z"}, {"program_text": ""}])
def test_a_log_that_does_not_tell_what_it_was_is_left_alone(request_by_hand, program, spoilt):
    left = left_unfinished(request_by_hand, program)
    before = left.log.files[0].read_bytes()
    opened_as = left.log.opened.model_copy(update=spoilt)
    log = type(left.log)(left.log.session, (opened_as, *left.log.events[1:]), files=left.log.files)
    for again in (resume, close_left):
        with pytest.raises(BrokenSessionError, match=left.log.session):
            again(request_by_hand, type(left)(log, 10.0))
    assert left.log.files[0].read_bytes() == before


def marked(run, *keys):
    """Press these keys at ready, one after the other."""
    for at, key in enumerate(keys, 2):
        led(run, until=at)
        run.driver.key(key, run.driver._clock.time)
    return led(run, until=len(keys) + 3)


@pytest.mark.parametrize(
    "end",
    [
        lambda run: run.driver.leave("quit"),
        lambda run: run.driver.leave("hang-up"),
        lambda run: marked(run, "o").driver.leave("quit"),
        lambda run: marked(run, "escape", "down", "down", "enter"),  # "end the session" in the menu
    ],
)
def test_a_session_that_never_began_leaves_nothing(request_by_hand, program, end):
    with opened(open_new(request_by_hand, program, Opening(script="A"))) as run:
        end(run)
        assert run.driver.is_done
    assert run.is_unbegun
    assert run.exit_code() in (1, 129)
    assert list(request_by_hand.data.rglob("*.jsonl")) == []


def test_a_stop_for_a_symptom_before_anything_began_stays(request_by_hand, program):
    with opened(open_new(request_by_hand, program, Opening(script="A"))) as run:
        marked(run, "escape", "enter")
        assert run.driver.engine.session.stopped == "symptom"
    assert last_session(request_by_hand.data, "Ada").closed


def test_what_others_wrote_beside_a_session_that_never_began_stays(request_by_hand, program):
    left = left_unfinished(request_by_hand, program)
    with opened(open_new(request_by_hand, program, Opening(script="A"))) as run:
        run.driver.leave("quit")
    assert list(request_by_hand.data.rglob("*.jsonl")) == list(left.log.files)
    assert last_session(request_by_hand.data, "Ada").session == left.log.session


def test_one_that_was_killed_at_ready_is_neither_offered_nor_the_last(request_by_hand, program):
    left = left_unfinished(request_by_hand, program)
    killed = open_new(request_by_hand, program, Opening(script="A"))
    killed.driver._heartbeat = None
    killed.begin()
    killed.driver.log.close(10)
    assert len(list(request_by_hand.data.rglob("*.jsonl"))) == 2
    assert last_session(request_by_hand.data, "Ada").session == left.log.session
    assert unfinished(request_by_hand.data, "Ada", datetime.now(UTC)).log.session == left.log.session


def test_the_key_is_tried_only_where_there_is_a_set_to_fail_in(request_by_hand, program, hall_text):
    easy = loads(
        hall_text + '\n[[scripts]]\nid = "E"\ntitle = "Easy"\nsteps = [{easy = "March", seconds = 9}]',
        "h.toml",
    )
    for each, script, tries in ((program, "A", True), (easy, "E", False)):
        with opened(open_new(request_by_hand, each, Opening(script=script, tries_key=True))) as run:
            assert run.driver.engine.tries_key is tries
            run.driver.leave("quit")
