"""What came of a set, and whether it counts: every reason in plain words."""

import pytest

from holdtimer.session import events as ev
from holdtimer.session.corrections import perhaps_slip


def only(run):
    (found,) = run.results
    return found


@pytest.fixture
def worked(begin):
    """Begin a session of these parts, tap in the first window at these seconds, and let it close."""

    def build(*parts, at=(), tail=93, **opened):
        run = begin(*parts, **opened)
        opens = run.in_window()
        for second in at:
            run.at(opens + second, "space")
        run.at(opens + tail)
        return run

    return build


def test_a_result_tells_what_the_set_was_to_be_and_what_came_of_it(worked):
    found = only(worked(at=(65.4321, 71.5, 80)))
    assert (found.set, found.attempt, found.exercise, found.side) == (1, 1, "wall-sit", "both")
    assert (found.rung, found.window_s, found.band_s) == ("half way", 90, (60, 90))
    assert (found.failures_s, found.reentries_s) == ((65.432, 80), (71.5,))
    assert found.first_failure_s == 65.432
    assert found.tension_s == pytest.approx(65.432 + 8.5, abs=0.001)
    assert found.reentries == 1


@pytest.mark.parametrize(
    ("at", "tension"),
    [((), 90), ((60,), 60), ((60, 70), 80), ((60, 70, 75), 65), ((0,), 0), ((10, 20, 30, 40, 50, 60), 60)],
)
def test_time_under_tension_is_the_part_of_the_window_spent_working(worked, at, tension):
    assert only(worked(at=at)).tension_s == tension


def test_a_failure_counts_whatever_came_later(worked):
    found = only(worked(at=(65, 70, 75)))
    assert (found.counted, found.counted_because) == (True, "failed at 65 s")
    assert (found.ran_to_end, found.confirmed) == (False, False)


def test_seconds_are_whole_as_the_clock_showed_them(worked):
    assert only(worked(at=(69.9,))).counted_because == "failed at 69 s"


def test_a_silent_window_ran_to_the_end_but_does_not_count(worked):
    found = only(worked())
    assert (found.ran_to_end, found.confirmed, found.counted) == (True, False, False)
    assert found.counted_because == "nobody confirmed that it ran to the end"


def test_a_confirmed_window_counts(worked):
    run = worked()
    run.at(run.now + 1, "space")
    found = only(run)
    assert (found.ran_to_end, found.confirmed, found.counted) == (True, True, True)
    assert found.counted_because == "ran to the end, confirmed"


def test_a_late_tap_counts_and_says_how_late(worked):
    run = worked(tail=89)
    run.at(run.set.opened_t + 90.6, "space")
    found = only(run)
    assert (found.ran_to_end, found.confirmed, found.late_tap_s, found.counted) == (True, True, 0.6, True)
    assert found.counted_because == "ran to the end; you tapped 0.6 s after it"


def test_a_rehearsal_never_counts(worked):
    found = only(worked(at=(65,), speed=10))
    assert (found.counted, found.counted_because) == (False, "a rehearsal never counts")


def test_an_off_day_does_not_count(worked):
    found = only(worked(at=(65,), off_day=True))
    assert (found.counted, found.counted_because) == (False, "an off day")


def test_only_the_first_set_of_an_exercise_and_side_counts(worked, a_set):
    parts = [a_set(side="left"), a_set(side="right", rest_s=0), a_set(side="left", rest_s=0)]
    run = worked(*parts, at=(65,))
    for _ in range(2):
        run.at(run.now + 2, "space")
        run.at(run.now + 75, "space")
        run.at(run.now + 40)
    assert [found.counted for found in run.results] == [True, True, False]
    assert run.results[2].counted_because == "only the first set of an exercise and side counts"


def test_a_set_skipped_before_it_began_leaves_its_place_to_the_next(begin, a_set):
    run = begin(a_set(), a_set())
    for t, key in [(2, "escape"), (3, "down"), (4, "enter"), (7, "space"), (87, "space")]:
        run.at(t, key)
    first, second = run.results
    assert (first.skipped, first.counted, first.counted_because) == (True, False, "skipped")
    assert (first.tension_s, first.first_failure_s) == (0, None)
    assert second.counted


def test_a_set_skipped_in_its_window_keeps_its_place(begin, a_set):
    run = begin(a_set(), a_set(rest_s=0))
    opens = run.in_window()
    for key in ("escape", "down", "down", "down", "enter"):
        run.at(run.now + 1, key)
    run.at(run.now + 2, "space")
    run.at(run.now + 75, "space")
    assert run.results[0].counted_because == "skipped"
    assert not run.results[1].counted
    assert run.set.opened_t > opens


def test_a_redone_attempt_has_no_result(begin):
    run = begin()
    run.in_window()
    for key in ("escape", "down", "down", "enter"):
        run.at(run.now + 1, key)
    assert run.results == ()
    run.at(run.now + 2, "space")
    run.at(run.now + 75, "space")
    assert (only(run).attempt, only(run).counted) == (2, True)


@pytest.mark.parametrize(
    ("downs", "because"),
    [
        (0, "stopped because something felt wrong"),
        (1, "stopped by choice before any failure"),
        (3, "skipped"),
        (4, "stopped by choice before any failure"),
    ],
)
@pytest.mark.parametrize("failed", [False, True])
def test_a_set_stopped_from_the_menu_counts_only_by_a_failure_before(begin, downs, because, failed):
    run = begin()
    opens = run.in_window()
    if failed:
        run.at(opens + 40, "space")
        downs -= downs > 2  # there is nothing to redo then
    for n, key in enumerate(["escape", *["down"] * downs, "enter"]):
        run.at(opens + 45 + n, key)
    found = only(run)
    assert found.counted is failed
    assert found.counted_because == ("failed at 40 s" if failed else because)
    assert found.ran_to_end is False


def test_an_interrupted_set_counts_only_by_a_failure_before(worked):
    run = worked(tail=50)
    run.gap(run.now, run.now + 10)
    found = only(run)
    assert (found.interrupted, found.counted) == (True, False)
    assert found.counted_because == "interrupted before any failure"


def test_a_set_that_lost_the_keyboard_says_so(begin):
    run = begin()
    opens = run.in_window()
    run.took(run.engine.focus(False, opens + 50))
    run.at(opens + 93)
    assert only(run).counted_because == "the keys did not reach the program for a part of it"


def test_a_set_still_open_is_not_finished(worked):
    found = only(worked(tail=30))
    assert (found.counted, found.counted_because) == (False, "not finished")


def test_an_open_set_has_the_tension_it_is_known_to_have_had(worked):
    assert only(worked(at=(20, 30), tail=62)).tension_s == 50


# -- slips of the key


@pytest.mark.parametrize(
    ("at", "is_slip"),
    [
        ((29.9, 34.9), True),  # exactly 5 s
        ((29.9, 35), False),
        ((30, 33), False),  # half the band's start is not before it
        ((10,), False),  # nobody got back in
        ((40, 43), False),
        ((10, 13, 70), True),
        ((10, 30, 33), False),
    ],
)
def test_a_very_early_failure_with_a_quick_re_entry_may_be_a_slip(worked, at, is_slip):
    run = worked(at=at)
    found = only(run)
    assert (found.perhaps_slip is not None) is is_slip
    assert found.counted is not is_slip
    if is_slip:
        assert found.perhaps_slip == run.set.stamps[0].n == perhaps_slip(run.set)
        assert found.counted_because == "a very early failure, perhaps a slip of the key: say which"


# -- on paper


def on_paper(begin, **told):
    run = begin(kind="paper")
    target = {"set": 1, "exercise": "wall-sit", "side": "both", "rung": "half way", "window_s": 90}
    row = {"started": "2026-11-02", "band_s": (60, 90)} | told
    run.took(run.engine.record(ev.PaperResult, 0.0, **target, **row))
    return run


def test_a_failure_on_paper_counts_and_invents_no_stamp(begin):
    found = only(on_paper(begin, first_failure_s=72.0, reentries=2))
    assert (found.first_failure_s, found.counted, found.tension_s) == (72, True, 72)
    assert (found.failures_s, found.reentries_s, found.reentries) == ((), (), 2)


def test_a_run_to_the_end_on_paper_counts_when_it_was_confirmed(begin):
    for confirmed in (True, False):
        found = only(on_paper(begin, ran_to_end=True, confirmed=confirmed))
        assert (found.ran_to_end, found.confirmed, found.counted) == (True, confirmed, confirmed)
        assert found.tension_s == 90


def test_a_late_tap_on_paper_counts(begin):
    found = only(on_paper(begin, ran_to_end=True, late_tap_s=0.4))
    assert (found.late_tap_s, found.confirmed, found.counted) == (0.4, True, True)


def test_everything_written_on_paper_is_in_the_result(begin):
    told = {"effort": 8, "form_broke": True, "pain": False, "note": "hot", "interrupted": True}
    found = only(on_paper(begin, first_failure_s=50, tension_s=61.5, stopped="choice", **told))
    assert {name: getattr(found, name) for name in told} == told
    assert (found.tension_s, found.stopped) == (61.5, "choice")


def test_a_set_skipped_on_paper_has_no_tension(begin):
    found = only(on_paper(begin, skipped=True))
    assert (found.skipped, found.tension_s, found.counted) == (True, 0, False)


def test_an_off_day_on_paper_does_not_count(begin):
    assert only(on_paper(begin, first_failure_s=72, off_day=True)).counted_because == "an off day"
