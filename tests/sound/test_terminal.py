"""What a person sees on the terminal while a sound library complains: nothing."""

import os
import subprocess
import sys

import pytest

from holdtimer.sound import helper

pty = pytest.importorskip("pty", reason="terminals of this kind are not on Windows")

PROGRAM = """
import os, sys, time
from holdtimer.sound.choosing import choose
from holdtimer.sound.patterns import Sound
os.environ["PULSE_SERVER"] = "unix:/nowhere/at/all"
for wanted in ("miniaudio", "auto"):
    player, remarks = choose(wanted, time.monotonic)
    player.schedule(Sound.BREATHE, time.monotonic() + 60)
    player.close()
os.write(2, b"drawn by the program")
"""


def seen_on_terminal(program: str) -> bytes:
    near, far = pty.openpty()
    process = subprocess.Popen([sys.executable, "-c", program], stdin=far, stdout=far, stderr=far)
    os.close(far)
    seen = b""
    try:
        while piece := os.read(near, 4096):
            seen += piece
    except OSError:  # how Linux tells that the other end is closed
        pass
    os.close(near)
    assert process.wait() == 0
    return seen


def test_opening_with_no_sound_server_writes_nothing_on_the_screen_and_the_program_ends() -> None:
    assert seen_on_terminal(PROGRAM) == b"drawn by the program"


def test_a_process_that_plays_has_no_terminal_to_write_to_or_take_signals_from() -> None:
    """It has an output for its answers alone, and a session of its own."""
    words = [sys.executable, "-c", "import os; print('trouble', os.isatty(2), os.getsid(0) == os.getpid())"]
    with pytest.raises(helper.SoundError, match="False True"):
        helper.Helper(words)
