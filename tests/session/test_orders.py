"""After a failure one order at a time."""

import pytest

from holdtimer.session.schedule import Order, orders_of
from holdtimer.session.state import Tap


@pytest.fixture
def failed(begin, a_set):
    """A set failed at these seconds of its window."""

    def build(at, **changes):
        run = begin(a_set(**changes), a_set())
        run.at(run.in_window() + at, "space")
        return run

    return build


def test_pushing_comes_before_the_way_out_and_that_before_the_way_back(failed):
    orders = orders_of(failed(40, push_s=3).set)
    assert [orders.at(40 + s) for s in (0, 2.9, 3, 10.9, 11)] == [
        Order.PUSH,
        Order.PUSH,
        Order.WAY_OUT,
        Order.WAY_OUT,
        Order.BACK_IN,
    ]


def test_with_no_pushing_the_way_out_is_first(failed):
    assert orders_of(failed(40, push_s=0).set).at(40) is Order.WAY_OUT


@pytest.mark.parametrize(("at", "changes"), [(85, {}), (40, {"reentry": False})])
def test_the_way_out_is_first_where_the_window_leaves_no_time_for_it_after_the_pushing(failed, at, changes):
    orders = orders_of(failed(at, push_s=3, **changes).set)
    assert orders.at(at) is Order.WAY_OUT


def test_nobody_is_led_back_in_just_before_the_end_or_where_the_set_is_over(failed):
    assert orders_of(failed(75, push_s=3).set).back_in is None
    assert orders_of(failed(40, push_s=3, reentry=False).set).back_in is None


def test_no_tap_is_promised_before_it_counts(failed):
    run = failed(40)
    failed_at = run.now
    assert run.engine.tap_meaning(failed_at) is Tap.NOT_YET
    assert run.engine.tap_meaning(failed_at + 1.99) is Tap.NOT_YET
    assert run.at(failed_at + 1.5, "space") == []
    assert run.engine.tap_meaning(failed_at + 2) is Tap.RE_ENTRY
    assert run.at(failed_at + 2.5, "space")[-1] == "re-entry"
