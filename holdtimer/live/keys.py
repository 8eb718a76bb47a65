"""Bytes from a terminal or a pipe, decoded to keys by name. Names are those Textual uses."""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass

ESCAPE_S = 0.1  # a lone Escape is one after this long
_LONGEST = 64  # bytes of an escape sequence

FOCUS_IN, FOCUS_OUT = "focus-in", "focus-out"
LEAVE = frozenset({"ctrl+c", "ctrl+q"})

_CONTROLS = {
    "\x03": "ctrl+c",
    "\x08": "backspace",
    "\t": "tab",
    "\n": "enter",
    "\r": "enter",
    "\x11": "ctrl+q",
    "\x7f": "backspace",
    " ": "space",
    "?": "question_mark",
    "+": "plus",
    "-": "minus",
}
_SEQUENCES = {
    "[A": "up",
    "[B": "down",
    "[C": "right",
    "[D": "left",
    "OA": "up",
    "OB": "down",
    "OC": "right",
    "OD": "left",
    "OM": "enter",
    "[5~": "pageup",
    "[6~": "pagedown",
    "[H": "home",
    "[F": "end",
    "[15~": "f5",
    "[I": FOCUS_IN,
    "[O": FOCUS_OUT,
}
_COMPLETE = re.compile(r"\[[0-?]*[ -/]*[@-~]|O[ -~]")
_POINTER = re.compile(r"\[<(\d+);\d+;\d+([Mm])")
_PASTE_BEGINS, _PASTE_ENDS = "[200~", "[201~"


@dataclass(frozen=True, slots=True)
class Key:
    """One key press, and when its bytes reached the program (real seconds of the steady clock)."""

    name: str
    at: float


class KeyParser:
    """Decodes bytes as they come; feed it each piece with the time it was read."""

    def __init__(self) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._escape: str | None = None  # what followed an Escape so far
        self._escape_at = 0.0
        self._pasting = False

    def feed(self, data: bytes, at: float) -> list[Key]:
        """Return the keys that are complete with these bytes."""
        keys = list(self.settle(at))
        for char in self._decoder.decode(data):
            keys.extend(self._char(char, at))
        return keys

    def settle(self, now: float) -> Iterator[Key]:
        """Yield an Escape that nothing followed in time, or a sequence that was never completed."""
        if self._escape is not None and now - self._escape_at >= ESCAPE_S:
            began, self._escape = self._escape, None
            yield Key("escape", self._escape_at)
            yield from (Key(_name(char), self._escape_at) for char in began)

    def _char(self, char: str, at: float) -> Iterator[Key]:
        if self._escape is not None:
            yield from self._in_sequence(char, at)
        elif char == "\x1b":
            self._escape, self._escape_at = "", at
        elif not self._pasting:
            yield Key(_name(char), at)

    def _in_sequence(self, char: str, at: float) -> Iterator[Key]:
        if char == "\x1b":
            yield Key("escape", self._escape_at)
            self._escape, self._escape_at = "", at
            return
        sequence = (self._escape or "") + char
        if _COMPLETE.fullmatch(sequence):
            self._escape = None
            yield from self._sequence(sequence, at)
        elif sequence[0] in "[O" and len(sequence) < _LONGEST:
            self._escape = sequence
        else:
            self._escape = None
            yield Key(f"alt+{_name(char)}", at)

    def _sequence(self, sequence: str, at: float) -> Iterator[Key]:
        pointer = _POINTER.fullmatch(sequence)
        if sequence in (_PASTE_BEGINS, _PASTE_ENDS):
            self._pasting = sequence == _PASTE_BEGINS
        elif pointer is not None:
            is_press = pointer[2] == "M" and int(pointer[1]) & 0b11100000 == 0
            if is_press:
                yield Key("pointer", at)
        elif not self._pasting:
            yield Key(_SEQUENCES.get(sequence, f"key{sequence}"), at)


def _name(char: str) -> str:
    return _CONTROLS.get(char, char if char.isprintable() else f"ctrl+{ord(char):02x}")
