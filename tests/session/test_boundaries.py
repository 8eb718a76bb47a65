from holdtimer.session.events import round_time
from holdtimer.session.fold import step
from holdtimer.session.rules import boundary
from holdtimer.session.schedule import schedule_of
from tests.tables import every

OF_A_WINDOW = {"band", "final-stretch", "window-closed"}


def in_order(run):
    """What time alone brings in the window from now on, by name and seconds since it opened."""
    opened, session, found = run.set.opened_t, run.session, []
    while (event := boundary(session, run.timeline, session.t)) and event.ev in OF_A_WINDOW:
        found.append((event.ev, round_time(event.t - opened)))
        session = step(session, event)
    return found


def test_a_window_brings_its_band_its_final_stretch_and_its_close(begin, a_set):
    run = begin(a_set(band_s=(50, 80)))
    run.in_window()
    assert in_order(run) == [("band", 50), ("final-stretch", 60), ("window-closed", 90)]


def test_the_schedule_of_a_window_counts_from_when_it_opened(begin, a_set):
    run = begin(a_set(band_s=(50, 80)))
    opens = run.in_window()
    schedule = schedule_of(run.set)
    assert (schedule.opens, schedule.closes) == (opens, opens + 90)
    assert (schedule.band, schedule.final_stretch, schedule.last_ten) == (opens + 50, opens + 60, opens + 80)
    assert schedule.countdown == tuple(opens + at for at in (85, 86, 87, 88, 89))
    assert schedule.breaths == (opens + 20, opens + 40, opens + 51.2)


def test_a_window_that_a_failure_closes_early_has_no_countdown_and_no_breaths(begin, a_set):
    run = begin(a_set(reentry=False))
    opens = run.in_window()
    run.at(opens + 30, "space")
    schedule = schedule_of(run.set)
    assert (schedule.closes, schedule.band, schedule.final_stretch) == (opens + 33, None, None)
    assert (schedule.last_ten, schedule.countdown, schedule.breaths) == (None, (), ())


def test_what_has_come_does_not_come_again(begin, a_set):
    run = begin(a_set(band_s=(50, 80)))
    run.at(run.in_window() + 55)
    assert in_order(run) == [("final-stretch", 60), ("window-closed", 90)]


def test_a_final_stretch_may_come_before_the_band(begin, a_set):
    run = begin(a_set(final_s=80))
    run.in_window()
    assert [what for what, _ in in_order(run)] == ["final-stretch", "band", "window-closed"]


def test_after_a_failure_that_ends_the_set_only_what_lies_before_the_close_still_comes(begin, a_set):
    run = begin(a_set(reentry=False, band_s=(50, 80)))
    run.at(run.in_window() + 48, "space")
    assert in_order(run) == [("band", 50), ("window-closed", 51)]


@every("begun", [1.6, 2.0, 3.3, 7.7777, 69.1])
@every("count_in_s", [3, 7.1, 10])
def test_a_key_pressed_exactly_when_the_window_closes_is_late_by_nothing(begin, a_set, begun, count_in_s):
    run = begin(a_set(count_in_s=count_in_s, window_s=33.3, band_s=(10, 30)))
    run.at(begun, "space")
    run.at(begun + count_in_s + 33.3, "space")
    assert run.last.ev == "late-tap"
    assert run.last.after_s == 0


@every("begun", [1.6, 2.0, 3.3, 7.7777, 69.1])
def test_a_key_pressed_exactly_when_the_window_opens_fails_at_once(begin, begun):
    run = begin()
    run.at(begun, "space")
    run.at(begun + 10, "space")
    assert run.stamps == [("failure", 0)]
