import pytest

from holdtimer.session.debounce import TakeBack


def after(*times, can=True):
    take_back = TakeBack(0.8)
    for at in times:
        take_back.taken_back(at, "backspace")
        take_back.press(at, can)
    return take_back


def taken_back(*times):
    """When a stamp was taken back by these presses, each settled before the next."""
    take_back, taken = TakeBack(0.8), []
    for at in times:
        taken.append(take_back.taken_back(at, "backspace"))
        take_back.press(at, can=True)
    taken.append(take_back.taken_back(times[-1] + 60))
    return [at for at in taken if at is not None]


@pytest.mark.parametrize("apart", [0.1, 0.3, 1.0, 2.9, 3.0])
def test_two_presses_within_three_seconds_take_a_stamp_back(apart):
    assert taken_back(10, 10 + apart) == [10 + apart]


def test_one_press_takes_nothing_back():
    assert taken_back(10) == []


def test_presses_too_far_apart_take_nothing_back():
    assert taken_back(10, 13.01) == []


def test_the_later_of_two_presses_too_far_apart_begins_a_pair():
    assert taken_back(10, 13.5, 14.5) == [14.5]


@pytest.mark.parametrize("delay", [0.25, 0.4, 0.66])
@pytest.mark.parametrize("every", [0.025, 0.033, 0.04])
def test_a_held_key_takes_nothing_back(delay, every):
    assert taken_back(10, *(10 + delay + n * every for n in range(100))) == []


def test_a_tremor_takes_back_one_stamp_at_most():
    assert taken_back(*(10 + n / 4 for n in range(12))) == [10.25]


def test_it_is_sure_only_once_a_held_key_would_have_pressed_again():
    take_back = after(10, 10.5)
    assert take_back.taken_back(10.6) is None
    assert take_back.taken_back(10.65) == 10.5
    assert take_back.taken_back(10.7) is None


def test_another_key_makes_it_sure_at_once():
    assert after(10, 10.5).taken_back(10.52, "space") == 10.5


def test_a_repeat_of_backspace_does_not_make_it_sure():
    assert after(10, 10.5).taken_back(10.53, "backspace") is None


def test_with_no_stamp_there_is_nothing_to_take_back():
    assert after(10, 10.5, can=False).taken_back(20) is None


def test_it_waits_for_the_second_press_while_that_would_count():
    take_back = after(10)
    assert take_back.waits(13)
    assert not take_back.waits(13.1)
    take_back.press(11, can=True)
    assert not take_back.waits(11.1)


def test_what_was_forgotten_is_not_half_a_pair():
    take_back = after(10)
    take_back.forget()
    take_back.press(10.5, can=True)
    assert take_back.taken_back(20) is None
