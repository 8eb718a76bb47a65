"""The process that plays: takes orders line by line, and answers how it is.

Orders: `play DUE SOUND`, `say DUE FILE`, `hush`, `forget AFTER`, `ask`; times in seconds of the machine's
steady clock.
Answers: `well`, or `trouble TEXT`, after which the process ends. It also ends with its input, and when nobody
asks any more: then the program is stopped or gone, and it would be wrong to go on sounding for it.
"""

import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread, Timer

from holdtimer.errors import SoundError
from holdtimer.paths import sounds_folder
from holdtimer.sound.miniaudio_player import MiniaudioPlayer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Clock, Player, steady
from holdtimer.sound.samples import Samples, read_all
from holdtimer.sound.simpleaudio_player import SimpleaudioPlayer

UNASKED_S = 2.0
CLOSING_S = 1.0
MAKERS: dict[str, Callable[[dict[Sound, Samples], Clock], Player]] = {
    "miniaudio": MiniaudioPlayer,
    "simpleaudio": SimpleaudioPlayer,
}

NextOrder = Callable[[], str | None]
Answer = Callable[[str], None]


def serve(player: Player, next_order: NextOrder, answer: Answer) -> None:
    """Open the player and do what is ordered until there are no more orders or there is trouble."""
    try:
        player.open()
    except SoundError as trouble:
        answer(f"trouble {trouble}")
        return
    answer("well")
    while order := next_order():
        if order == "ask":
            trouble_now = player.trouble()
            answer(f"trouble {trouble_now}" if trouble_now else "well")
            if trouble_now:
                return
        else:
            _obey(player, order.split(" ", 2))


def _obey(player: Player, words: list[str]) -> None:
    match words:
        case ["play", due, sound]:
            player.schedule(Sound(sound), float(due))
        case ["say", due, file]:
            player.say(Path(file), float(due))
        case ["hush"]:
            player.hush()
        case ["forget", after]:
            player.withdraw(float(after))


def _order_from(lines: SimpleQueue[str]) -> str | None:
    """Return the next order; None at the end of the input, or when none came for too long."""
    try:
        return lines.get(timeout=UNASKED_S).strip() or None
    except Empty:
        return None


def _read_into(lines: SimpleQueue[str]) -> None:
    for line in sys.stdin:
        lines.put(line)
    lines.put("")


def _answer(text: str) -> None:
    print(text, flush=True)


def main(name: str, volume: str) -> None:
    """Play with the named library until told to end. Never returns: a device that hangs can't hold it."""
    gc.disable()
    lines: SimpleQueue[str] = SimpleQueue()
    Thread(target=_read_into, args=(lines,), daemon=True).start()
    try:
        player = MAKERS[name](read_all(sounds_folder(), float(volume)), steady)
        serve(player, lambda: _order_from(lines), _answer)
        Timer(CLOSING_S, os._exit, [0]).start()
        player.close()
    except SoundError as trouble:
        _answer(f"trouble {trouble}")
    finally:
        os._exit(0)
