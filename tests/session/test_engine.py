"""The engine as the program sees it: settling, focus, standstills, leaving, resuming, closing."""

import pytest

from holdtimer.session import events as ev
from holdtimer.session.fold import fold


def test_where_it_is_not_known_what_was_read_a_boundary_is_settled_a_quarter_of_a_second_later(begin):
    run = begin()
    run.at(2, "space")
    assert run.at(12.2499) == []
    assert run.at(12.25) == ["window-open"]
    assert run.last.t == 12


def test_a_boundary_is_settled_at_once_when_every_key_before_it_was_read(begin):
    run = begin()
    run.at(2, "space")
    assert run.took(run.engine.tick(12.001, read_until=11.9999)) == []
    assert run.took(run.engine.tick(12.001, read_until=12.0)) == ["window-open"]
    assert run.last.t == 12


def test_nothing_is_settled_ahead_of_time_however_far_keys_were_read(begin):
    run = begin()
    run.at(2, "space")
    assert run.took(run.engine.tick(11.9999, read_until=20.0)) == []
    assert run.took(run.engine.tick(12.25, read_until=3.0)) == ["window-open"]


def test_a_window_is_not_closed_before_it_is_sure_whether_its_stamp_was_taken_back(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes - 20, "space")
    run.at(closes - 0.5, "backspace")
    run.at(closes - 0.05, "backspace")
    assert run.took(run.engine.tick(closes + 0.02, read_until=closes + 0.02)) == []
    assert run.took(run.engine.tick(closes + 0.1, read_until=closes + 0.1)) == ["taken-back", "window-closed"]
    assert run.session.asking is not None


def test_a_tap_in_a_window_that_is_handled_after_its_early_close_is_still_in_the_window(begin):
    run = begin()
    closes = run.in_window() + 90
    run.took(run.engine.tick(closes + 0.001, read_until=closes))
    assert run.took(run.engine.press("space", closes - 0.01, closes + 0.02)) == ["failure"]
    assert run.results[0].first_failure_s == pytest.approx(89.99)


def test_the_next_boundary_can_be_asked_for(begin):
    run = begin()
    assert run.engine.next_boundary() == 900  # nobody is heard of
    run.at(2, "space")
    assert run.engine.next_boundary() == 12
    run.at(12.25)
    assert run.engine.next_boundary() == 72
    run.took(run.engine.leave("quit", 20))
    assert run.engine.next_boundary() is None


def test_a_key_after_a_boundary_settles_it_first(begin):
    run = begin()
    run.at(2, "space")
    assert run.took(run.engine.press("space", 12.1)) == ["window-open", "failure"]


def test_events_are_numbered_from_nought_without_a_hole(begin, a_set):
    run = begin(a_set(), a_set())
    run.at(run.in_window() + 200)
    assert [event.n for event in run.events] == list(range(len(run.events)))


def test_the_session_is_the_fold_of_what_was_handed_out(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 100)
    assert fold(run.events) == run.session


@pytest.mark.parametrize("speed", [0.25, 4, 100])
def test_the_speed_of_a_rehearsal_changes_nothing_but_that_it_does_not_count(begin, speed):
    real, rehearsal = begin(), begin(speed=speed)
    for run in (real, rehearsal):
        opens = run.in_window()
        run.at(opens + 70, "space")
        run.at(opens + 76, "space")
        run.at(opens + 91, "space")
    assert real.events[1:] == rehearsal.events[1:]
    (one,), (other,) = real.results, rehearsal.results
    assert (one.counted, other.counted) == (True, False)
    assert one.first_failure_s == other.first_failure_s


# -- focus


def test_a_set_partly_without_focus_and_with_no_stamp_is_no_run_to_the_end_and_not_asked_about(begin):
    run = begin()
    opens = run.in_window()
    assert run.took(run.engine.focus(False, opens + 30)) == ["focus"]
    run.took(run.engine.focus(True, opens + 33))
    run.at(opens + 93)
    assert run.session.asking is None
    assert run.results[0].ran_to_end is False


def test_a_window_that_opens_without_focus_is_partly_without_it(begin):
    run = begin()
    run.took(run.engine.focus(False, 1))
    opens = run.in_window()
    run.took(run.engine.focus(True, opens + 5))
    assert run.set.unfocused


def test_a_stamp_counts_though_the_focus_was_lost_for_a_while(begin):
    run = begin()
    opens = run.in_window()
    run.took(run.engine.focus(False, opens + 30))
    run.took(run.engine.focus(True, opens + 33))
    run.at(opens + 70, "space")
    run.at(opens + 93)
    assert run.results[0].counted


def test_only_changes_of_focus_are_events(begin):
    run = begin()
    assert run.took(run.engine.focus(True, 1)) == []


# -- standstills


def test_a_standstill_in_a_window_interrupts_the_set_where_it_was_last_known_to_run(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 50)
    assert run.gap(opens + 50, opens + 51, seconds=3600) == ["gap", "interrupted", "rest"]
    assert (run.set.interrupted, run.set.ended_at) == (True, 50)
    assert run.at(opens + 600) == []
    assert run.at(opens + 601, "space") == ["ready", "count-in"]


def test_a_standstill_longer_than_the_window_catches_up_no_cue(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 50)
    run.gap(opens + 50, opens + 500, seconds=450)
    assert not {"band", "final-stretch", "window-closed"} & set(run.names)


def test_a_first_failure_stamped_before_a_standstill_stands(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65, "space")
    run.gap(opens + 70, opens + 80)
    assert (run.results[0].first_failure_s, run.results[0].counted) == (65, True)


def test_a_stamp_proves_that_the_session_ran_when_the_heartbeat_does_not(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65.1, "space")
    run.gap(opens + 65, opens + 80)
    assert run.set.ended_at == 65.1


@pytest.mark.parametrize("auto", ["tap", "auto"])
@pytest.mark.parametrize("before_close", [-300, -95, 5, 60])
def test_after_a_standstill_nothing_starts_by_itself(begin, a_set, auto, before_close):
    """In a wait, in a count-in (-95), in the window it is interrupted, in a rest."""
    run = begin(a_set(), a_set(advance=auto, rest_s=60))
    if before_close == -300:
        now = 1.0
    elif before_close == -95:
        run.at(2, "space")
        now = 7.0
    else:
        closes = run.in_window() + 90
        run.at(closes - 10, "space")
        now = closes + before_close - 1
    run.at(now)
    run.gap(now, now + 5)
    begun = run.names.count("count-in")
    run.at(now + 500)
    assert run.names.count("count-in") == begun
    run.at(now + 501, "space")
    assert run.names.count("count-in") == begun + 1


def test_easy_movement_broken_off_is_begun_again_by_a_tap(begin, an_easy):
    run = begin(an_easy(60), an_easy(30))
    run.at(2, "space")
    run.gap(30, 40)
    assert run.at(200) == []
    assert run.at(201, "space") == ["ready", "easy"]
    assert run.last.part == 0


def test_a_tap_that_said_ready_before_a_standstill_is_asked_for_again(begin, a_set):
    run = begin(a_set(), a_set())
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes + 5, "space")
    run.gap(closes + 10, closes + 20)
    run.at(closes + 200)
    assert run.session.phase == "rest"


def test_a_standstill_lays_the_menu_away(begin):
    run = begin()
    run.at(1, "escape")
    run.gap(1, 5)
    assert run.engine.menu is None


def test_a_clock_that_went_backwards_is_a_standstill_of_nothing(begin):
    run = begin()
    run.gap(1, 2, seconds=-0.5)
    assert run.last.seconds == 0


# -- leaving, resuming, closing


def test_leaving_settles_what_was_due(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 89)
    run.took(run.engine.leave("terminated", opens + 90.1))
    assert run.names[-2:] == ["window-closed", "left"]


def test_leaving_and_nothing_after_it(begin):
    run = begin()
    assert run.took(run.engine.leave("quit", 5)) == ["left"]
    assert run.took(run.engine.leave("terminated", 6)) == []
    assert run.at(60, "space") == []
    assert not run.engine.is_over(60)


def test_a_window_left_open_is_over_when_the_session_is_resumed(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 65, "space")
    run.took(run.engine.leave("hang-up", opens + 70))
    other = run.resumed(opens + 300)
    assert other.names[-3:] == ["resumed", "interrupted", "rest"]
    assert (other.set.interrupted, other.set.ended_at) == (True, 70)
    assert other.results[0].counted
    assert other.at(opens + 400) == []
    assert other.at(opens + 401, "space") == ["ready", "count-in"]


def test_a_killed_session_is_known_to_have_run_until_its_last_event(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65, "space")
    other = run.resumed(opens + 300)
    assert other.set.ended_at == 65


def test_an_anchor_written_at_resuming_does_not_prove_that_the_window_ran_until_then(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65, "space")
    now = opens + 300
    anchor = run.engine.record(ev.Anchor, now, why="resume", mono_ns=0, wall="2026-11-25T09:07:38Z")
    run.took(anchor)
    other = run.resumed(now)
    assert other.set.ended_at == 65


def test_killed_while_resuming_the_next_resume_says_the_same(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65, "space")
    other = run.resumed(opens + 300)
    cut = [event.ev for event in other.events].index("resumed") + 1
    again = other.resumed(opens + 400, cut=cut)
    assert again.set.ended_at == 65


def test_resuming_twice_is_resuming_once(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 65, "space")
    twice = run.resumed(opens + 300).resumed(opens + 310)
    assert twice.names.count("interrupted") == 1
    assert twice.at(opens + 320, "space") == ["ready", "count-in"]


def test_after_leaving_in_silence_the_same_session_can_be_resumed(begin):
    run = begin()
    run.at(901)
    run.took(run.engine.resume(950))
    assert run.at(955, "space") == ["ready", "count-in"]


def test_the_rest_since_the_window_that_was_broken_off_counts_on_while_away(begin, a_set):
    run = begin(a_set(), a_set(rest_s=90))
    opens = run.in_window()
    run.at(opens + 65, "space")
    assert run.resumed(opens + 300).last.seconds == 0
    assert run.resumed(opens + 95).last.seconds == 60


def test_a_rung_chosen_before_is_still_chosen_after_resuming(begin):
    run = begin()
    run.at(2, "minus")
    assert run.resumed(60).engine.part().rung.name == "hips high"


def test_a_rung_the_ladder_does_not_know_is_left_out(begin):
    run = begin()
    run.took(run.engine.record(ev.RungChosen, 2, set=1, exercise="x", side="both", rung="none", due="none"))
    assert run.engine.part().rung.name == "half way"


def test_a_stopped_session_stays_stopped(begin):
    run = begin()
    run.at(2, "escape")
    run.at(3, "enter")
    other = run.resumed(60)
    assert other.engine.is_over(60)
    assert other.at(70, "space") == []


def test_a_closed_session_cannot_be_resumed_nor_closed_again(begin):
    run = begin()
    run.took(run.engine.close(5, "finished"))
    assert run.took(run.engine.resume(10)) == []
    assert run.took(run.engine.close(10, "finished")) == []


def test_closing_later_ends_an_open_window_where_it_was_last_known_to_run(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 65, "space")
    run.took(run.engine.close(opens + 5000, "closed-later"))
    assert run.names[-2:] == ["interrupted", "closed"]
    assert run.set.ended_at == 65


def test_a_session_is_over_only_when_no_late_tap_can_come(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes - 10, "space")
    run.at(closes - 5, "space")
    run.at(closes + 2)
    assert run.session.asking is None
    assert not run.engine.is_over(closes + 2.2)
    assert run.engine.is_over(closes + 2.25)


def test_a_silent_last_window_keeps_the_session_open_until_it_is_answered(begin):
    run = begin()
    closes = run.in_window() + 90
    run.at(closes + 60)
    assert not run.engine.is_over(closes + 60)
    run.at(closes + 61, "space")
    assert not run.engine.is_over(closes + 64.2)  # the key may be held, to ask for the menu
    assert run.engine.is_over(closes + 64.3)


@pytest.mark.parametrize("cut", range(1, 21))
def test_a_session_cut_anywhere_can_be_brought_to_its_end_by_taps(begin, a_set, an_easy, cut):
    run = begin(an_easy(20), a_set(rest_s=0), a_set(reentry=False))
    run.at(2, "space")
    for t in (30, 110, 116, 240, 330):
        run.at(t, "space")
    run.at(460)
    assert len(run.events) == 20
    other = run.resumed(run.events[cut - 1].t + 30, cut=cut)
    for _ in range(40):
        if other.engine.is_over(other.now):
            return
        other.at(max(other.now + 3, other.session.until + 0.3))
        if other.session.phase in ("ready", "rest") and not other.engine.is_over(other.now):
            other.at(other.now + 2, "space")
    pytest.fail("taps do not bring it to its end")
