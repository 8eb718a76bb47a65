"""`keys`, `sounds` and `config`: the keyboard, what is heard, and the settings.

`keys` shows what each press would do, and finds a guard that fits this hand and this keyboard.
"""

import sys
import time
from argparse import Namespace
from math import inf

from holdtimer.cli.output import print_warnings
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.config import Config, keep, read_config
from holdtimer.errors import BadInputError, ExitCode
from holdtimer.files import config_path
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, Key
from holdtimer.live.terminal import KeySource, Leave
from holdtimer.session.debounce import Doubt, KeyStudy, Presses, study
from holdtimer.sound.player import steady
from holdtimer.sound.players import choose, play_all

_CONTROLS = {
    "escape": "opens the menu; here it ends the test",
    "backspace": "pressed twice: takes the last stamp back",
    "question_mark": "help",
    FOCUS_IN: "keys reach this window again",
    FOCUS_OUT: "keys do not reach this window",
}
_BESIDES = {
    "plus": "a tap; while ready or resting: a harder rung",
    "minus": "a tap; while ready or resting: an easier rung",
    "o": "a tap; while ready or resting: marks an off day",
    "up": "a tap; in the menu: moves the mark up",
    "down": "a tap; in the menu: moves the mark down",
    "enter": "a tap; in the menu: takes the marked line",
}
_DOUBTS = {"guard": "not a tap: too soon after the last key", "held": "not a tap: a key is held down"}


def keys(args: Namespace) -> int:
    """Show what each press does until Escape, then offer to save a guard that fits."""
    if not sys.stdin.isatty():
        raise BadInputError("this needs a terminal: it listens to your keys")
    person = person_named(args, data_folder(args))
    config = read_config(person)
    print_warnings(config.others)
    values = config.values
    test = _Test(values.guard_s, values.not_taps)
    print("Press your tap key a few times, as you would in a set. Then hold it down for 3 s.")
    print("Esc ends.")
    print(f"A press counts after {values.guard_s:g} s without any key.")
    with KeySource(sys.stdin.fileno()) as source:
        key = _listen(source, test)
        if isinstance(key, Leave):
            return ExitCode.STOPPED
        found = study(test.heard)
        _print_study(found)
        if found.presses and abs(found.guard_s - values.guard_s) >= 0.05:
            return _offer(source, person, found.guard_s)
    return ExitCode.DONE


class _Test:
    """Prints what each press does; a train of those that do not count is one line with their number."""

    def __init__(self, guard_s: float, not_taps: frozenset[str]) -> None:
        self.heard: list[tuple[str, float]] = []
        self._not_taps = not_taps
        self._presses = Presses(guard_s)
        self._key, self._words, self._count, self._last = "", "", 0, 0.0

    def press(self, key: Key) -> None:
        """Print what a press does; one that does not count, or repeats, once its train is over."""
        words, doubt = self._does(key)
        is_repeat = key.name == self._key and key.at - self._last < self._presses.guard_s
        is_delayed = doubt is not None or is_repeat
        if not (is_delayed and key.name == self._key):
            self._flush()
        self._key, self._last = key.name, key.at
        if not is_delayed:
            _say(f"{key.name}: {words}")
            return
        if not self._count or doubt == "held":
            self._words = words
        self._count += 1

    def settle(self, now: float) -> None:
        """Print a train that has been quiet for the guard of a press (s)."""
        if now - self._last >= self._presses.guard_s:
            self._flush()

    def _flush(self) -> None:
        if self._count:
            times = f" ({self._count} times)" if self._count > 1 else ""
            _say(f"{self._key}: {self._words}{times}")
        self._count = 0

    def _does(self, key: Key) -> tuple[str, Doubt | None]:
        if key.name in _CONTROLS:
            return _CONTROLS[key.name], None
        if key.name in self._not_taps:
            return "nothing: your settings say that it is not a tap", None
        self.heard.append((key.name, key.at))
        doubt = self._presses.hear(key.name, key.at).among
        return (_DOUBTS[doubt] if doubt is not None else _BESIDES.get(key.name, "a tap")), doubt


def _listen(source: KeySource, test: _Test) -> Key | Leave:
    while True:
        for given in source.take(0.05):
            if isinstance(given, Leave) or given.name == "escape":
                test.settle(inf)
                return given
            test.press(given)
        test.settle(steady())


def _say(line: str) -> None:
    print(line, flush=True)


def _print_study(found: KeyStudy) -> None:
    print(f"\npresses heard: {found.presses}")
    if found.repeat_delay_s is not None:
        every = f", then every {found.repeat_every_s * 1000:.0f} ms" if found.repeat_every_s else ""
        print(f"this keyboard repeats a held key after {found.repeat_delay_s:.2f} s{every}")
    if found.doubles_s:
        slowest = max(found.doubles_s)
        print(f"presses that came too soon: {len(found.doubles_s)}, the slowest after {slowest:.2f} s")
    print(f"a guard that fits: {found.guard_s:g} s")


def _offer(source: KeySource, person: str, guard_s: float) -> int:
    print(f"Enter: keep {guard_s:g} s for {person}. Any other key: change nothing.", flush=True)
    while True:
        for given in source.take(0.05):
            if isinstance(given, Leave):
                return ExitCode.STOPPED
            if given.name != "enter":
                print("nothing changed")
                return ExitCode.DONE
            print(f"saved in {keep(person, 'guard_s', guard_s, config_path())}")
            return ExitCode.DONE


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


_SOURCES = {"default": "default", "file": "from the file", "person": "from the file, for {person}"}


def config(args: Namespace) -> int:
    """Print the settings in force for a person.

    Raises ProgramError with every fault of the file, but for those that concern others where one is named.
    """
    data = data_folder(args)
    person = person_named(args, data)
    found = read_config(person, whole=args.person is None)
    print_warnings(found.others)
    print(f"file: {found.path}{'' if found.exists else ' (not there yet)'}")
    print(f"data: {data}")
    print(f"person: {person}")
    for name in sorted(found.sources):
        print(f"{name} = {_value(found, name)}  # {_SOURCES[found.sources[name]].format(person=person)}")
    return ExitCode.DONE


def _value(found: Config, name: str) -> str:
    value = getattr(found.values, name)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, frozenset):
        return "[" + ", ".join(f'"{each}"' for each in sorted(value)) + "]"
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"
