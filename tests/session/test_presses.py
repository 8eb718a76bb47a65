from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from holdtimer.session.debounce import Presses
from tests.profiles import examples
from tests.tables import every

FAST = examples(150)


def judged(*heard, guard_s=0.8):
    presses = Presses(guard_s)
    return [presses.hear(key, at).among for key, at in heard]


def held_key(key, since, until, delay=0.4, every=0.033):
    """What a terminal sends for a key held down: one press, a pause, then repeats."""
    times, at = [(key, since)], since + delay
    while at < until:
        times.append((key, round(at, 4)))
        at += every
    return times


def test_a_lone_press_counts():
    assert judged(("space", 5)) == [None]


def test_a_press_within_the_guard_of_any_other_key_does_not_count():
    assert judged(("space", 5), ("a", 5.79)) == [None, "guard"]


@every("start", [0, 0.1, 9.7, 100, 1234.5678, 99999.9])
@every("guard_s", [0.7, 0.8, 1.1, 3.0])
def test_a_press_exactly_at_the_end_of_the_guard_counts(start, guard_s):
    assert judged(("space", start), ("a", start + guard_s), guard_s=guard_s) == [None, None]


def test_a_press_that_did_not_count_guards_as_well():
    assert judged(("space", 5), ("space", 5.5), ("space", 6.2)) == [None, "guard", "guard"]


@every("hertz", [2.5, 4, 5])
def test_a_tremor_is_one_tap(hertz):
    shaken = [("space", 10 + n / hertz) for n in range(20)]
    assert judged(*shaken).count(None) == 1


@every("delay", [0.25, 0.4, 0.66])
@every("every", [0.025, 0.033, 0.04])
def test_a_held_key_is_one_tap(delay, every):
    heard = judged(*held_key("space", 10, 30, delay, every))
    assert heard[0] is None
    assert None not in heard[1:]
    assert heard[-1] == "held"


def test_other_keys_are_judged_without_a_held_one():
    heard = sorted([*held_key("space", 10, 30), ("a", 20.01)], key=lambda each: each[1])
    assert judged(*heard)[heard.index(("a", 20.01))] is None


def test_a_key_held_for_less_than_a_second_still_guards():
    heard = [*held_key("space", 10, 10.9), ("a", 11)]
    assert judged(*heard)[-1] == "guard"


def test_a_hiccup_in_the_repeats_of_a_held_key_does_not_make_it_guard_again():
    held = [each for each in held_key("space", 10, 30) if not 19.5 < each[1] < 19.9]
    heard = sorted([*held, ("a", 20.01)], key=lambda each: each[1])
    assert judged(*heard)[heard.index(("a", 20.01))] is None


def test_a_held_key_counts_again_once_it_was_silent():
    held = held_key("space", 10, 15)
    silent_since = held[-1][1]
    assert judged(*held, ("space", silent_since + 0.5))[-1] == "held"
    assert judged(*held, ("space", silent_since + 0.8))[-1] is None


def test_a_key_knows_how_it_is_judged_by_itself_alone():
    presses = Presses(0.8)
    presses.hear("space", 5)
    heard = presses.hear("escape", 5.3)
    assert (heard.alone, heard.among) == (None, "guard")


def test_a_key_handled_out_of_order_is_guarded_on_both_sides():
    assert judged(("space", 10), ("a", 9.5), ("b", 8)) == [None, "guard", None]


@FAST
@given(st.lists(st.tuples(st.sampled_from("abc"), st.floats(0, 2)), max_size=40), st.floats(0.7, 3))
def test_presses_that_count_lie_a_guard_apart(steps, guard_s):
    presses, now, counted = Presses(guard_s), 0.0, []
    for key, step in steps:
        now += step
        if presses.hear(key, now).among is None:
            counted.append(now)
    assert all(b - a > guard_s - 1e-3 for a, b in pairwise(counted))


@FAST
@given(st.lists(st.tuples(st.sampled_from("abc"), st.floats(0, 2)), max_size=40), st.floats(0.7, 3))
def test_a_press_a_guard_after_any_other_always_counts(steps, guard_s):
    presses, now = Presses(guard_s), 0.0
    for key, step in steps:
        now += step
        heard = presses.hear(key, now).among
        assert heard is None or step < guard_s + 1e-4 + 1e-4  # times are exact to a tenth of a millisecond
