import pytest

from holdtimer.session.debounce import Presses, study


def held(since, seconds, delay=0.5, every=0.033):
    times, at = [since], since + delay
    while at < since + seconds:
        times.append(at)
        at += every
    return [("space", at) for at in times]


def test_no_press_tells_nothing_and_the_shortest_guard_will_do():
    found = study([])
    assert (found.presses, found.repeat_delay_s, found.repeat_every_s, found.doubles_s) == (0, None, None, ())
    assert found.guard_s == 0.7


def test_presses_far_apart_were_meant():
    found = study([("space", at) for at in (1, 4, 6.5)])
    assert (found.presses, found.doubles_s, found.guard_s) == (3, (), 0.7)


@pytest.mark.parametrize("delay", [0.25, 0.5, 0.66])
def test_a_held_key_tells_the_delay_and_the_rate_of_the_keyboard(delay):
    found = study(held(10, 2, delay))
    assert found.repeat_delay_s == pytest.approx(delay)
    assert found.repeat_every_s == pytest.approx(0.033)
    assert found.doubles_s == ()


def test_double_presses_ask_for_a_guard_that_none_comes_through():
    presses = [("space", at) for at in (1, 1.7, 5, 5.62)]
    found = study(presses)
    assert found.doubles_s == pytest.approx((0.7, 0.62))
    assert found.guard_s == 0.9
    judge = Presses(found.guard_s)
    assert [judge.hear(key, at).among for key, at in presses] == [None, "guard", None, "guard"]


def test_a_second_key_hit_with_the_first_is_a_double_press():
    assert study([("space", 1), ("a", 1.05)]).doubles_s == pytest.approx((0.05,))


def test_the_guard_is_never_longer_than_three_seconds():
    assert study(held(10, 4, delay=0.99)).guard_s <= 3.0
