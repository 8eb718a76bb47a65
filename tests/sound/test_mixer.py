import random
from array import array
from itertools import pairwise

import pytest

from holdtimer.sound.devices import DUCKED, Mixer
from holdtimer.sound.samples import RATE

BLOCK = 960
BLOCK_S = BLOCK / RATE


def play(mixer: Mixer, clock, blocks: int, late=lambda number: 0.0) -> array:
    """Ask for blocks as a device does: each when the one before has begun, or somewhat late."""
    begin = clock.time
    line = array("h")
    for number in range(blocks):
        clock.time = begin + number * BLOCK_S + late(number)
        line.frombytes(mixer.block(BLOCK))
    return line


def places(line: array) -> list[int]:
    return [i for i, value in enumerate(line) if value]


def test_nothing_to_play_is_silence_and_counted(clock) -> None:
    mixer = Mixer(clock)
    assert mixer.block(BLOCK) == bytes(2 * BLOCK)
    assert mixer.frames == BLOCK


@pytest.mark.parametrize("after_s", [0.0, 0.0131, 0.02, 0.5, 1.23456])
def test_a_sound_starts_at_the_very_sample_it_is_due_at(clock, after_s: float) -> None:
    mixer = Mixer(clock)
    mixer.add(array("h", [7]), clock.time + after_s)
    assert places(play(mixer, clock, 100)) == [round(after_s * RATE)]


def test_late_requests_do_not_move_sounds(clock) -> None:
    mixer, chance = Mixer(clock), random.Random(1)
    begin = clock.time
    play(mixer, clock, 50)
    dues = [2.0 + 0.31 * i for i in range(10)]
    for due in dues:
        mixer.add(array("h", [7]), begin + due)
    clock.time = begin + 50 * BLOCK_S
    line = play(mixer, clock, 250, lambda _: chance.uniform(0, 0.015))
    for place, due in zip(places(line), dues, strict=True):
        assert place + 50 * BLOCK == pytest.approx(due * RATE, abs=0.0025 * RATE)


def test_a_past_sound_starts_with_the_next_block(clock) -> None:
    mixer = Mixer(clock)
    play(mixer, clock, 10)
    mixer.add(array("h", [7]), clock.time - 0.1)
    clock.time += BLOCK_S
    assert places(play(mixer, clock, 1)) == [0]


def test_a_sound_longer_than_a_block_goes_on_without_a_seam(clock) -> None:
    mixer = Mixer(clock)
    ramp = array("h", range(1, 3001))
    mixer.add(ramp, clock.time + 0.005)
    line = play(mixer, clock, 5)
    assert line[240:3240] == ramp
    assert all(b - a == 1 for a, b in pairwise(line[240:3240]))
    assert places(line) == list(range(240, 3240))


def test_sounds_that_meet_are_added_up(clock) -> None:
    mixer = Mixer(clock)
    mixer.add(array("h", [100] * 2000), clock.time)
    mixer.add(array("h", [11] * 500), clock.time + 0.01)
    mixer.add(array("h", [3] * 10), clock.time + 0.01)
    line = play(mixer, clock, 3)
    assert set(line[:480]) == {100}
    assert set(line[480:490]) == {114}
    assert set(line[490:980]) == {111}
    assert set(line[980:2000]) == {100}
    assert set(line[2000:]) == {0}


def test_a_sum_too_loud_is_held_at_full_scale(clock) -> None:
    mixer = Mixer(clock)
    for value in (30000, 20000, -1000):
        mixer.add(array("h", [value, -value]), clock.time)
    line = play(mixer, clock, 1)
    assert line[:2] == array("h", [31767, -31768])


def test_a_withdrawn_sound_is_not_heard_but_one_begun_sounds_out(clock) -> None:
    mixer = Mixer(clock)
    begin = clock.time
    mixer.add(array("h", [5] * 2 * BLOCK), begin)
    mixer.add(array("h", [9]), begin + 1.0)
    first = play(mixer, clock, 1)
    mixer.withdraw(begin - 1)
    clock.time = begin + BLOCK_S
    rest = play(mixer, clock, 100)
    assert len(places(first)) + len(places(rest)) == 2 * BLOCK


def test_after_the_device_stood_still_sounds_are_on_time_again_and_none_is_caught_up(clock) -> None:
    mixer = Mixer(clock)
    begin = clock.time
    play(mixer, clock, 60)
    mixer.add(array("h", [1]), begin + 2.0)  # due while the device stands still
    mixer.add(array("h", [2]), begin + 10.0)
    clock.time = begin + 9.0
    line = play(mixer, clock, 100)
    assert [(i, line[i]) for i in places(line)] == [(RATE, 2)]


def test_speech_gives_way_to_a_sound_that_meets_it(clock) -> None:
    mixer = Mixer(clock)
    mixer.add(array("h", [1000] * 5 * BLOCK), clock.time, is_speech=True)
    mixer.add(array("h", [1] * BLOCK), clock.time + 2 * BLOCK_S)
    line = play(mixer, clock, 5)
    assert set(line[: 2 * BLOCK]) == {1000}
    assert line[3 * BLOCK - 1] == pytest.approx(1 + 1000 * DUCKED, abs=3)
    assert line[4 * BLOCK - 1] == pytest.approx(1000, abs=3)
    assert max(abs(b - a) for a, b in pairwise(line)) < 5  # nothing clicks


def test_speech_that_is_hushed_fades_within_a_block_and_sounds_go_on(clock) -> None:
    mixer = Mixer(clock)
    begin = clock.time
    mixer.add(array("h", [1000] * 9 * BLOCK), clock.time, is_speech=True)
    mixer.add(array("h", [3] * 9 * BLOCK), clock.time)
    play(mixer, clock, 2)
    mixer.hush()
    clock.time = begin + 2 * BLOCK_S
    line = play(mixer, clock, 3)
    assert line[0] > 200
    assert max(abs(b - a) for a, b in pairwise(line)) < 5
    assert set(line[BLOCK:]) == {3}


def test_hushing_leaves_speech_that_has_not_begun(clock) -> None:
    mixer = Mixer(clock)
    mixer.add(array("h", [7]), clock.time + 0.5, is_speech=True)
    mixer.hush()
    assert places(play(mixer, clock, 50)) == [round(0.5 * RATE)]
