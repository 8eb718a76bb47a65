"""Every sound, one after the other, with what it means: for the command that teaches them."""

from collections.abc import Callable

from holdtimer.sound.names import MEANINGS, Sound
from holdtimer.sound.patterns import PATTERNS
from holdtimer.sound.player import AT_ONCE, Player

PAUSE_S = 0.8


def play_all(player: Player, say: Callable[[str], None], wait: Callable[[float], None]) -> None:
    """Say each sound's name and meaning as one line and play it; `wait` waits so many real seconds."""
    for sound in Sound:
        say(f"{sound} - {MEANINGS[sound]}")
        player.schedule(sound, AT_ONCE)
        wait(PATTERNS[sound].length_s + PAUSE_S)
        if trouble := player.trouble():
            say(f"not heard: {trouble}")
