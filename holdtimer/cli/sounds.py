"""`sounds`: every sound and what it means."""

import time
from argparse import Namespace

from holdtimer.errors import ExitCode
from holdtimer.sound.choosing import choose, play_all
from holdtimer.sound.player import steady


def sounds(args: Namespace) -> int:
    """Play every sound in turn and print its name and meaning."""
    player, remarks = choose(args.sound or "auto", steady)
    try:
        for remark in remarks:
            print(remark)
        print(f"played by: {player.name}")
        play_all(player, _say, time.sleep)
        trouble = player.trouble()
        if trouble:
            print(f"nothing was heard: {trouble}")
    finally:
        player.close()
    return ExitCode.DONE


def _say(line: str) -> None:
    print(line, flush=True)
