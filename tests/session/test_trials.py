"""Function tests led by one key: questions, trials, what they came to; nothing unsafe by a no or silence."""

from dataclasses import replace

import pytest

from holdtimer.session import events as ev
from holdtimer.session.debounce import Settings
from holdtimer.session.fold import fold
from holdtimer.session.menu import Choice
from holdtimer.session.results import function_results
from holdtimer.session.safety_questions import ANSWER_S, advice_after, never_alone, questions
from holdtimer.session.state import Phase, Tap
from holdtimer.session.summary import summarize
from holdtimer.session.trials import GO_AFTER_S, OFFER_S, QUIET_S, ROUNDS, Means, offered, offers
from holdtimer.session.words import noted_words, offer_words
from tests.invented.timelines import CROSSED, HANDS, UP_AND_GO, WALK
from tests.tables import every

LAP_S = 2.5  # a tap well after the one before
WALKING = replace(WALK, start="walking", trials=1)
FAST = replace(WALK, pace="fast", lane_m=7.62)


def answer_all(run, no=None, silent=None):
    """Tap yes to each question; `no` or `silent` to the one of that id. Return the ids in order."""
    seen = []
    while run.session.phase is Phase.ASKED and len(seen) < 20:
        put = run.session.question.question
        seen.append(put)
        if put == silent:
            run.at(run.now + ANSWER_S + 1)
        else:
            run.at(run.now + LAP_S, "backspace" if put == no else "space")
    return seen


def asked(begin, test, no=None, silent=None):
    """A session of one test at its questions, all answered."""
    run = begin(test)
    run.at(2, "space")
    run.at(2.3)
    return run, answer_all(run, no, silent)


def at_go(begin, test, **how):
    """The same, its trial open; and when that was."""
    run, _ = asked(begin, test, **how)
    run.at(run.now + LAP_S, "space")
    if not test.begins_with_key:
        run.at(run.now + GO_AFTER_S + 0.3)
    return run, run.session.open_trial.opened_t


def choose(run, means, stands=None):
    """Tap in the turn of that answer."""
    trial, closed = run.session.open_trial, run.session.since
    turn = next(n for n, each in enumerate(offers(trial)) if (each.means, each.stands) == (means, stands))
    run.at(closed + QUIET_S + turn * OFFER_S + 1, "space")
    return run.events


def void(run):
    return [(each.reason, each.over) for each in run.events if each.ev == "trial-void"]


# -- the questions ---


@every("test", [HANDS, CROSSED, WALK, UP_AND_GO, FAST])
def test_every_yes_leads_to_the_line_and_nothing_runs_yet(begin, test):
    run, ids = asked(begin, test)
    assert ids[:4] == ["well", "rested", "cleared", "ordinary"]
    assert ("helper" in ids) is never_alone(test)
    assert run.session.is_cleared
    assert "trial-open" not in run.names
    run.at(run.now + 600)
    assert "trial-open" not in run.names  # nobody tapped


@every(
    ("test", "no", "leads"),
    [(test, each.id, each.no) for test in (HANDS, CROSSED, WALK, UP_AND_GO, FAST) for each in questions(test)
     if each.id != "helper" and not (never_alone(test) and each.no == "helper")],
)  # fmt: skip
def test_every_no_and_every_silence_leads_to_nothing_unsafe(begin, test, no, leads):
    for how in ({"no": no}, {"silent": no}):
        run, ids = asked(begin, test, **how)
        (said,) = [each for each in run.events if each.ev == "asked" and each.answer is False]
        assert (said.question, said.leads, bool(said.silent)) == (no, leads, "silent" in how)
        assert advice_after(no, said.leads)
        assert "trial-open" not in run.names
        if leads == "not-today":
            assert void(run) == [("not-today", True)]
            assert run.session.part == 1
        elif leads == "helper":
            assert ids[-1] == "helper"  # and only a yes to that leads on
            assert run.session.is_cleared
        elif leads == "off-day":
            assert run.session.off_day
        elif leads == "variant":
            assert ids[-1] == "stand-with-hands"
            assert run.engine.part() == replace(HANDS, part=0)
        else:
            assert not run.session.is_cleared
            assert run.engine.tap_meaning(run.now + 2) is Tap.READY  # set up, and asked anew


@every(
    ("no", "silent", "put_off"),
    [
        ("well", "", 3),
        ("rested", "", 3),
        ("cleared", "", 3),
        ("", "well", 1),
        ("chair", "", 0),
        ("stand-with-hands", "", 1),
    ],
)
def test_a_no_to_what_all_tests_need_puts_them_all_off_and_silence_only_the_first(begin, no, silent, put_off):
    run = begin(HANDS, CROSSED, WALK)
    run.at(2, "space")
    run.at(2.3)
    answer_all(run, no=no, silent=silent)
    assert void(run) == [("not-today", True)] * put_off
    assert run.session.part == put_off
    assert run.session.refusal.question == (no or silent)


def test_no_helper_after_a_fall_is_not_today(begin):
    run, ids = asked(begin, HANDS, no="fall")
    assert ids[-1] == "helper"
    run = begin(HANDS)
    run.at(2, "space")
    run.at(2.3)
    while run.session.phase is Phase.ASKED:
        no = run.session.question.question in ("fall", "helper")
        run.at(run.now + LAP_S, "backspace" if no else "space")
    assert void(run) == [("not-today", True)]


def test_without_an_easier_test_in_the_program_a_no_to_standing_up_is_not_today(begin):
    run, _ = asked(begin, replace(CROSSED, easier=None), no="stand-free")
    assert void(run) == [("not-today", True)]
    assert "physiotherapist" in advice_after("stand-free", "not-today")


def test_what_holds_for_the_session_is_asked_once_and_the_rest_before_each_test(begin):
    run, _ = at_go(begin, HANDS)[0], None
    run.at(run.session.until + 0.3)
    choose(run, Means.NOT_KEPT)
    other = begin(HANDS, CROSSED)
    other.at(2, "space")
    other.at(2.3)
    answer_all(other, no="stand-with-hands")
    other.at(other.now + LAP_S, "space")
    other.at(other.now + 0.3)
    assert answer_all(other) == ["well", "chair", "stand-free"]


def test_a_tap_just_after_a_question_appeared_and_a_held_key_answer_nothing(begin):
    run = begin(HANDS)
    run.at(2, "space")
    assert run.at(3, "space") == []
    assert run.session.question.question == "well"
    for n in range(60):  # held: it repeats
        run.at(6 + 0.03 * n, "x")
    assert run.session.question.question in ("well", "rested")
    assert [each.answer for each in run.events if each.ev == "asked"].count(True) <= 1


@pytest.mark.parametrize("question", ["well", "stand-with-hands"])
def test_a_key_held_for_the_menu_says_yes_to_nothing(begin, question):
    run = begin(HANDS)
    run.at(2, "space")
    while run.session.question.question != question:
        run.at(run.now + LAP_S, "space")
    held = run.now + LAP_S
    run.at(held, "space")
    for n in range(110):
        run.at(held + 0.5 + 0.03 * n, "space")
    assert run.engine.menu is not None
    assert (run.session.phase, run.session.question.question) == (Phase.ASKED, question)
    run.at(held + 6, "escape")
    assert question in answer_all(run)
    assert run.session.is_cleared


def test_yes_after_yes_does_not_ask_for_the_menu(begin):
    run = begin(HANDS)
    run.at(2, "space")
    for n in range(1, 6):
        run.at(2 + 1.6 * n, "space")
    assert run.engine.menu is None


# -- a chair stand test ---


def test_go_comes_five_seconds_after_the_tap_and_a_tap_in_between_waits_again(begin):
    run, _ = asked(begin, HANDS)
    tapped = run.now + LAP_S
    run.at(tapped, "space")
    assert run.at(tapped + 3, "space") == ["not-ready"]
    assert run.session.is_cleared
    tapped = run.now + LAP_S
    run.at(tapped, "space")
    run.at(tapped + GO_AFTER_S + 0.3)
    assert run.only("trial-open").t == pytest.approx(tapped + GO_AFTER_S)
    assert run.only("trial-open").seat_cm == 46


def test_stands_are_marked_half_a_second_apart_up_to_thirty_seconds_and_then_confirmed(begin):
    run, go = at_go(begin, HANDS)
    for at in (2.0, 2.4, 4.5, 5.0):  # the second within 0.5 s of the first, the last just not
        run.at(go + at, "space")
    run.late(go + 30.0, go + 30.4)  # on the bell, and handled after it
    assert run.session.open_trial.marks == (2.0, 4.5, 5.0, 30.0)
    assert run.only("trial-closed").at == 30.0
    assert run.at(go + 31.5, "space") == []  # the last stand may still be pressed
    choose(run, Means.KEPT, 5)
    assert (run.only("trial-result").stands, run.only("trial-result").marked) == (5, 4)
    assert run.session.part == 1


def test_a_personal_guard_does_not_swallow_stands(begin):
    run = begin(HANDS, settings=Settings(guard_s=3.0))
    run.at(2, "space")
    while run.session.phase is Phase.ASKED:
        run.at(run.now + 4, "space")
    run.at(run.now + 4, "space")
    run.at(run.now + GO_AFTER_S + 0.3)
    go = run.session.open_trial.opened_t
    for n in range(8):
        run.at(go + 4 + n, "space")
    assert len(run.session.open_trial.marks) == 8


def test_what_was_marked_is_offered_first_then_its_neighbours_each_for_four_seconds(begin):
    run, go = at_go(begin, HANDS)
    for n in range(6):
        run.at(go + 2 + 4 * n, "space")
    run.at(go + 30.3)
    closed = go + 30
    turns = [offered(run.session, closed + QUIET_S + n * OFFER_S + 0.1) for n in range(8)]
    assert [each.stands for each in turns] == [6, 7, 5, 8, None, None, None, 6]
    assert [each.means.value for each in turns[4:7]] == ["not-able", "again", "not-kept"]
    assert run.engine.tap_meaning(closed + 1) is Tap.NOT_YET
    assert run.engine.tap_meaning(closed + 4) is Tap.TAKE


def test_nobody_confirmed_is_not_counted_and_never_nought(begin):
    run, go = at_go(begin, HANDS)
    run.at(go + 30.3)
    run.at(go + 30 + QUIET_S + ROUNDS * OFFER_S * 6 + 1)
    assert void(run) == [("not-confirmed", True)]
    assert "trial-result" not in run.names
    assert [each.stands for each in offers(run.session.trials[-1])] == [1, 2, None, None, None]


def test_hands_used_is_not_able_and_no_number(begin):
    run, go = at_go(begin, CROSSED)
    run.at(go + 3, "space")
    run.at(go + 30.3)
    choose(run, Means.NOT_ABLE)
    assert run.only("trial-result").able is False
    assert run.only("trial-result").stands is None


# -- walks, and what the key ends ---


def test_a_walk_of_two_trials_is_timed_from_go_to_the_key(begin):
    run, go = at_go(begin, WALK)
    assert run.engine.tap_meaning(go + 3) is Tap.ACROSS
    assert run.at(go + 0.5, "space") == []  # a slip
    run.at(go + 7.5, "space")
    choose(run, Means.KEPT)
    first = run.only("trial-result")
    assert (first.seconds, first.speed_m_s, first.over) == (7.5, 0.8, False)
    assert run.session.is_cleared  # asked once for both
    assert run.session.until == pytest.approx(go + 7.5 + 60)
    run.at(run.now + LAP_S, "space")  # ready early: go comes when the rest is over
    run.at(go + 7.5 + 60 + 0.3)
    second = run.session.open_trial
    assert (second.trial, second.opened_t) == (2, pytest.approx(go + 67.5))
    run.at(second.opened_t + 6, "space")
    choose(run, Means.KEPT)
    assert run.last.ev == "trial-result"
    assert run.last.over
    assert run.session.part == 1


def test_with_a_walking_start_the_key_begins_and_ends_it(begin):
    run, started = at_go(begin, WALKING)
    assert started == pytest.approx(run.now)
    run.at(started + 5, "space")
    choose(run, Means.KEPT)
    assert run.only("trial-result").seconds == 5.0


def test_a_trial_done_once_more_keeps_its_number(begin):
    run, go = at_go(begin, WALK)
    run.at(go + 7, "space")
    choose(run, Means.AGAIN)
    assert void(run) == [("again", False)]
    run.at(run.session.until + LAP_S, "space")
    run.at(run.now + GO_AFTER_S + 0.3)
    assert run.session.open_trial.trial == 1


def test_a_key_that_never_comes_is_no_result(begin):
    run, go = at_go(begin, UP_AND_GO)
    run.at(go + 181)
    assert run.only("trial-closed").reason == "too-long"
    assert [each.means for each in offers(run.session.open_trial)] == [
        Means.NOT_ABLE, Means.AGAIN, Means.NOT_KEPT,
    ]  # fmt: skip


# -- broken off ---


def test_killed_in_a_trial_it_has_no_result_and_all_is_asked_anew(begin):
    run, go = at_go(begin, HANDS)
    run.at(go + 5, "space")
    other = run.resumed(go + 60)
    assert void(other) == [("left", False)]
    assert other.session.part == 0
    assert not other.session.is_cleared
    other.at(go + 63, "space")
    assert other.session.question.question == "well"
    assert [each.marks for each in other.session.trials] == [(5.0,)]


def test_a_gap_in_a_trial_and_at_the_line_asks_anew(begin):
    run, go = at_go(begin, HANDS)
    run.gap(go + 5, go + 40)
    assert void(run) == [("gap", False)]
    assert run.session.phase is Phase.REST
    other, _ = asked(begin, HANDS)
    other.gap(other.now + 1, other.now + 40)
    assert not other.session.is_cleared


def test_the_menu_stops_the_test_or_says_that_something_feels_wrong(begin):
    run, go = at_go(begin, HANDS)
    run.at(go + 3, "escape")
    assert run.engine.menu.lines == (Choice.SYMPTOM, Choice.STOP_TEST, Choice.END, Choice.GO_ON)
    run.at(go + 4, "down")
    run.at(go + 4.5, "enter")
    assert void(run) == [("stopped", True)]
    other, go = at_go(begin, HANDS)
    other.at(go + 3, "escape")
    other.at(go + 4.5, "enter")
    assert other.session.stopped == "symptom"
    other.took(other.engine.close(go + 5, "stopped"))
    assert void(other) == [("stopped", False)]
    assert summarize(other.session).symptom


def test_a_test_can_be_left_out(begin):
    run, _ = asked(begin, HANDS, silent="well")
    other = begin(HANDS)
    for t, key in ((2, "escape"), (2.4, "down"), (2.8, "enter")):
        other.at(t, key)
    assert void(other) == [("skipped", True)]
    assert run.session.part == other.session.part == 1


# -- the fold ---


@pytest.fixture(scope="module")
def tested(begin):
    """A session with all that happens in tests."""
    run, go = at_go(begin, CROSSED, no="stand-free")
    run.at(go + 3, "space")
    run.at(go + 30.3)
    choose(run, Means.KEPT, 2)
    run.took(run.engine.close(run.now + 3, "finished"))
    walk, go = at_go(begin, WALK)
    walk.at(go + 6, "space")
    choose(walk, Means.NOT_KEPT)
    return run.events, walk.events


def test_every_event_of_tests_is_in_the_ones_that_are_torn_here(tested):
    names = {each.ev for events in tested for each in events}
    assert {"asked", "trial-open", "mark", "trial-closed", "trial-result", "trial-void"} <= names


def test_a_torn_log_of_tests_adds_up_and_a_whole_one_to_the_same(tested):
    for events in tested:
        whole = fold(events)
        assert fold(ev.event_from_json(each.model_dump_json()) for each in events) == whole
        for n in range(len(events)):
            assert fold(events[n:], fold(events[:n])) == whole
            summarize(fold(events[:n] + events[n + 1 :]))
            summarize(fold(events[: n + 1] + events[n:]))


def test_between_the_trials_of_a_test_no_result_is_told(begin):
    run, go = at_go(begin, WALK)
    run.at(go + 7.5, "space")
    trial = run.session.open_trial
    assert offer_words(trial, offers(trial)[0]) == "done, without a stop or a hand"
    choose(run, Means.KEPT)
    assert noted_words(run.only("trial-result")) == "kept"
    assert offer_words(replace(trial, trial=2), offers(trial)[0]).startswith("7.5 s")


def test_an_off_day_is_said_before_and_changes_nothing_after_the_number(begin):
    for said_before in (True, False):
        run, go = at_go(begin, UP_AND_GO, no="ordinary" if said_before else None)
        run.at(go + 12, "space")
        choose(run, Means.KEPT)
        if not said_before:
            run.took(run.engine.record(ev.OffDay, run.now + 1, value=True))
        (result,) = function_results(run.session)
        assert (result.value, result.counted) == (12.0, not said_before)


@every(
    ("seconds", "value", "because"),
    [
        (6, 0.9, "the mean of 2 trials"),
        (30, 0.5, "the mean of 2 trials, which are far apart: was a key late?"),
    ],
)
def test_a_walk_counts_only_with_all_its_trials(begin, seconds, value, because):
    run, go = at_go(begin, WALK)
    run.at(go + 7.5, "space")
    choose(run, Means.KEPT)
    (one,) = function_results(run.session)
    assert (one.value, one.counted_because) == (None, "1 of 2 trials")
    run.at(run.now + LAP_S, "space")
    run.at(go + 67.8)
    second = run.session.open_trial.opened_t
    run.at(second + seconds, "space")
    choose(run, Means.KEPT)
    (both,) = function_results(run.session)
    assert (both.value, both.counted_because) == (value, because)


def test_questions_come_at_the_tap_and_what_is_left_of_the_rest_is_kept_at_the_line(begin):
    run = begin(HANDS, replace(UP_AND_GO, rest_s=300))
    run.at(2, "space")
    answer_all(run)
    run.at(run.now + LAP_S, "space")
    run.at(run.now + GO_AFTER_S + 0.3)
    go = run.session.open_trial.opened_t
    run.at(go + 30.3)
    choose(run, Means.KEPT, 1)
    run.at(run.now + LAP_S, "space")
    assert run.session.question.question == "well"  # nobody has to come back after five minutes to be asked
    answer_all(run)
    assert run.session.until == pytest.approx(go + 30 + 300)
    run.at(run.now + LAP_S, "space")
    run.at(go + 329)
    assert run.session.phase is Phase.COUNT_IN
    run.at(go + 330.3)
    assert run.session.open_trial.opened_t == pytest.approx(go + 330)
