from queue import SimpleQueue

import pytest

from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import TimedThread, steady

LONG = 5.0


@pytest.fixture
def played() -> SimpleQueue:
    return SimpleQueue()


@pytest.fixture
def thread(played):
    thread = TimedThread(lambda sound: played.put((sound, steady())), steady)
    thread.start()
    yield thread
    thread.stop()


def test_sounds_are_played_in_the_order_they_are_due_and_never_early(thread, played) -> None:
    now = steady()
    dues = {Sound.BAND: now + 0.06, Sound.TICK: now + 0.03, Sound.FAILURE: now}
    for sound, due in dues.items():
        thread.add(sound, due)
    heard = [played.get(timeout=LONG) for _ in dues]
    assert [sound for sound, _ in heard] == [Sound.FAILURE, Sound.TICK, Sound.BAND]
    assert all(at >= dues[sound] for sound, at in heard)


def test_a_sooner_sound_is_not_held_up_by_a_later_one(thread, played) -> None:
    thread.add(Sound.BAND, steady() + 1000)
    thread.add(Sound.FAILURE, steady())
    assert played.get(timeout=LONG)[0] == Sound.FAILURE


def test_a_withdrawn_sound_is_not_played(thread, played) -> None:
    now = steady()
    thread.add(Sound.BAND, now + 0.1)
    thread.withdraw(now + 0.05)
    thread.add(Sound.TICK, now + 0.15)
    assert played.get(timeout=LONG)[0] == Sound.TICK
