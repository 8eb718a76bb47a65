"""`keys`: what each press would do, how this hand and this keyboard press, and a guard that fits."""

import sys
from argparse import Namespace

from holdtimer.cli import exits
from holdtimer.cli.faults import BadInput
from holdtimer.cli.places import data_folder, person_named
from holdtimer.config import keep, read_config
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, Key
from holdtimer.live.terminal import KeySource, Leave
from holdtimer.resources import config_path
from holdtimer.session.key_study import KeyStudy, study
from holdtimer.session.presses import Presses

_CONTROLS = {
    "escape": "opens the menu; here it ends the test",
    "backspace": "pressed twice: takes the last stamp back",
    "question_mark": "help",
    FOCUS_IN: "keys reach this window again",
    FOCUS_OUT: "keys do not reach this window",
}
_ADJUSTS = {
    "plus": "a tap; while ready or resting: a harder rung",
    "minus": "a tap; while ready or resting: an easier rung",
    "o": "a tap; while ready or resting: marks an off day",
}
_DOUBTS = {"guard": "not a tap: too soon after the last key", "held": "not a tap: a key is held down"}


def keys(args: Namespace) -> int:
    """Show what each press does until Escape, then offer a guard to keep."""
    if not sys.stdin.isatty():
        raise BadInput("this needs a terminal: it listens to your keys")
    person = person_named(args, data_folder(args))
    values = read_config(person).values
    presses = Presses(values.guard_s)
    heard: list[tuple[str, float]] = []
    print("Press your tap key some times as in a set. Then hold it down for 3 s. Esc ends.")
    print(f"A press counts after {values.guard_s:g} s without a key.")
    with KeySource(sys.stdin.fileno()) as source:
        key = _listen(source, presses, values.not_taps, heard)
        if isinstance(key, Leave):
            return exits.STOPPED
        found = study(heard)
        _tell(found)
        if found.presses and abs(found.guard_s - values.guard_s) >= 0.05:
            return _offer(source, person, found.guard_s)
    return exits.DONE


def _listen(
    source: KeySource, presses: Presses, not_taps: frozenset[str], heard: list[tuple[str, float]]
) -> Key | Leave:
    while True:
        for given in source.take(0.05):
            if isinstance(given, Leave) or given.name == "escape":
                return given
            print(f"{given.name}: {_does(given, presses, not_taps, heard)}", flush=True)


def _does(key: Key, presses: Presses, not_taps: frozenset[str], heard: list[tuple[str, float]]) -> str:
    if key.name in _CONTROLS:
        return _CONTROLS[key.name]
    if key.name in not_taps:
        return "nothing: your settings say it is no tap"
    heard.append((key.name, key.at))
    doubt = presses.hear(key.name, key.at).among
    return _DOUBTS[doubt] if doubt is not None else _ADJUSTS.get(key.name, "a tap")


def _tell(found: KeyStudy) -> None:
    print(f"\npresses heard: {found.presses}")
    if found.repeat_delay_s is not None:
        every = f", then every {found.repeat_every_s * 1000:.0f} ms" if found.repeat_every_s else ""
        print(f"this keyboard repeats a held key after {found.repeat_delay_s:.2f} s{every}")
    if found.doubles_s:
        slowest = max(found.doubles_s)
        print(f"presses too soon to be meant: {len(found.doubles_s)}, the slowest after {slowest:.2f} s")
    print(f"a guard that fits: {found.guard_s:g} s")


def _offer(source: KeySource, person: str, guard_s: float) -> int:
    print(f"Enter: keep {guard_s:g} s for {person}. Any other key: leave it as it is.", flush=True)
    while True:
        for given in source.take(0.05):
            if isinstance(given, Leave):
                return exits.STOPPED
            if given.name != "enter":
                print("left as it is")
                return exits.DONE
            print(f"kept in {keep(person, 'guard_s', guard_s, config_path())}")
            return exits.DONE
