"""The fold: the same events, the same state; and no log, however torn, that it cannot add up."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.session import events as ev
from holdtimer.session.corrections import questions
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.session.results import results
from holdtimer.session.state import Phase, Session
from holdtimer.session.summary import summarize
from tests.profiles import examples

FUZZ = examples(150)


@pytest.fixture(scope="module")
def lived(begin, a_set, an_easy):
    """A session in which nearly everything happens."""
    sets = [a_set(rest_s=0), a_set(rest_s=0, reentry=False), a_set(rest_s=0, advance="auto")]
    run = begin(an_easy(20), *sets, *[a_set(rest_s=0)] * 5)

    def menu(t, downs):
        for n, key in enumerate(["escape", *["down"] * downs, "enter"]):
            run.at(t + n, key)

    run.took(run.engine.record(ev.Anchor, 0.0, why="opening", mono_ns=0, wall="2026-11-25T09:07:38Z"))
    run.at(1.6, "o")
    run.at(3, "space")
    run.at(28, "minus")
    for t in (32, 36, 40, 60, 66, 110, 110.3):  # ready, not ready, ready; three stamps from 50 on
        run.at(t, "space")
    run.backspace_twice(112)
    run.took(run.engine.focus(False, 130))
    run.took(run.engine.focus(True, 131))
    for t in (145, 215):  # the second set, over 3 s after its failure
        run.at(t, "space")
    run.at(279)
    run.gap(280, 300)  # in the third, which had begun by itself
    run.at(310, "space")
    menu(340, 2)  # redo
    run.at(350, "space")
    run.took(run.engine.record(ev.Silent, 355, why="no device"))
    run.took(run.engine.record(ev.LogTrouble, 356, why="disk full"))
    run.took(run.engine.leave("quit", 400))
    run.took(run.engine.resume(500))
    for t in (510, 611, 615, 720):  # a late tap, a silent window confirmed
        run.at(t, "space")
    menu(725, 2)  # skip
    run.at(735, "space")
    menu(840, 1)  # not worked to the end
    menu(850, 0)  # something feels wrong
    run.took(run.engine.close(860, "stopped"))
    return run


@pytest.fixture
def events(lived):
    return list(lived.events)


def survive(torn):
    session = fold(torn)
    results(session)
    summarize(session)
    for each in session.sets:
        questions(each)
    return session


def test_no_events_are_an_empty_session():
    assert fold([]) == Session()


def test_folding_in_two_goes_is_folding_in_one(events):
    for cut in range(len(events)):
        assert fold(events[cut:], fold(events[:cut])) == fold(events)


def test_a_log_read_back_adds_up_to_the_same_session(events):
    assert fold(ev.event_from_json(each.model_dump_json()) for each in events) == fold(events)


def test_every_event_of_a_session_is_in_the_one_that_is_torn_here(events):
    of_tests = {name for name in ev.NAMES if name.startswith("trial-")} | {"asked", "mark"}  # in test_trials
    assert ev.NAMES - {each.ev for each in events} == {"paper-result"} | of_tests


def test_a_log_with_any_one_line_missing_adds_up(events):
    for n in range(len(events)):
        survive(events[:n] + events[n + 1 :])


def test_a_log_with_any_one_line_twice_adds_up(events):
    for n in range(len(events)):
        survive(events[: n + 1] + events[n:])


@FUZZ
@given(seed=st.integers(0, 2**32), kept=st.floats(0.2, 1), swaps=st.integers(0, 5))
def test_a_log_with_lines_missing_twice_and_out_of_order_adds_up_and_can_be_brought_to_an_end(
    lived, seed, kept, swaps
):
    chance = random.Random(seed)
    torn = [each for each in lived.events for _ in range(2) if chance.random() < kept / 1.5]
    for _ in range(swaps if torn else 0):
        n, m = chance.randrange(len(torn)), chance.randrange(len(torn))
        torn[n], torn[m] = torn[m], torn[n]
    session = survive(torn)
    if session.phase not in (Phase.NEW, Phase.CLOSED) and not session.stopped:
        bring_to_an_end(lived.timeline, torn)


def bring_to_an_end(timeline, torn):
    engine = Engine(timeline, None, fold(torn))
    now = engine.session.t + 5
    engine.resume(now)
    for _ in range(80):
        now = max(now + 3, engine.session.until + 0.3)
        engine.tick(now)
        if engine.is_over(now):
            return
        if engine.session.phase in (Phase.READY, Phase.REST):
            engine.press("space", now)
    raise AssertionError(f"it does not end: {engine.session.phase}")
