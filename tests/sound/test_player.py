import subprocess
import sys

import pytest

from holdtimer.sound.player import AT_ONCE, OffPlayer, Pace, Player
from holdtimer.sound.players import BellPlayer, WorkerPlayer
from tests.invented.recording import RecordingPlayer


def test_every_player_can_do_what_a_player_can(clock) -> None:
    pace = Pace(clock)
    players: list[Player] = [
        WorkerPlayer("miniaudio", pace),
        BellPlayer(pace, None),
        OffPlayer(),
        RecordingPlayer(),
    ]
    methods = ("open", "schedule", "withdraw", "trouble", "close")
    assert all(callable(getattr(player, method)) for player in players for method in methods)
    assert [player.name for player in players] == ["miniaudio", "bell", "off", "recording"]


def test_a_due_time_in_the_past_is_now(clock) -> None:
    assert Pace(clock).start(AT_ONCE) == clock.time
    assert Pace(clock).start(clock.time + 5) == clock.time + 5


def test_speed_and_delay_bring_a_start_forward(clock) -> None:
    pace = Pace(clock, speed=4.0, speaker_delay_s=0.2)
    assert pace.now() == clock.time / 4
    assert pace.start(clock.time + 40) == pytest.approx(clock.time / 4 + 10 - 0.2)
    assert pace.limit(clock.time + 40) == pytest.approx(pace.start(clock.time + 40))


def test_knowing_the_players_loads_no_sound_library() -> None:
    check = (
        "import sys, holdtimer.sound.players, holdtimer.sound.voice\n"
        "loaded = {'miniaudio', 'simpleaudio', 'cffi', 'textual', 'numpy'} & set(sys.modules)\n"
        "sys.exit(' '.join(loaded) or None)"
    )
    subprocess.run([sys.executable, "-c", check], check=True)
