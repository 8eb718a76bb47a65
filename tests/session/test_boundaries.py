from holdtimer.session.events import round_time
from holdtimer.session.rules import Due, window_boundaries
from tests.tables import every


def in_order(run):
    return [(each.what, round_time(each.due - run.set.opened_t)) for each in window_boundaries(run.set)]


def test_a_window_brings_its_band_its_final_stretch_and_its_close(begin, a_set):
    run = begin(a_set(band_s=(50, 80)))
    run.in_window()
    assert in_order(run) == [(Due.BAND, 50), (Due.FINAL_STRETCH, 60), (Due.WINDOW_CLOSES, 90)]


def test_what_has_come_does_not_come_again(begin, a_set):
    run = begin(a_set(band_s=(50, 80)))
    run.at(run.in_window() + 55)
    assert in_order(run) == [(Due.FINAL_STRETCH, 60), (Due.WINDOW_CLOSES, 90)]


def test_a_final_stretch_may_come_before_the_band(begin, a_set):
    run = begin(a_set(final_s=80))
    run.in_window()
    assert [what for what, _ in in_order(run)] == [Due.FINAL_STRETCH, Due.BAND, Due.WINDOW_CLOSES]


def test_after_a_failure_that_ends_the_set_only_what_lies_before_the_close_still_comes(begin, a_set):
    run = begin(a_set(reentry=False, band_s=(50, 80)))
    run.at(run.in_window() + 48, "space")
    assert in_order(run) == [(Due.BAND, 50), (Due.WINDOW_CLOSES, 51)]


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
