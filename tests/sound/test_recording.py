from holdtimer.sound.patterns import Sound
from holdtimer.sound.recording import RecordingPlayer


def test_it_remembers_what_was_asked_and_what_is_still_scheduled() -> None:
    player = RecordingPlayer()
    player.open()
    for at in (1.0, 2.0, 3.0):
        player.schedule(Sound.TICK, at)
    player.withdraw(2.0)
    assert player.scheduled == [(Sound.TICK, 1.0), (Sound.TICK, 2.0)]
    assert [at for _, at in player.asked] == [1.0, 2.0, 3.0]
    player.close()
    assert not player.is_open
