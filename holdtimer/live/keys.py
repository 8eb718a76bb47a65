"""Bytes from a terminal or a pipe, decoded to keys by name. Names are those Textual uses."""

import codecs
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

ESCAPE_S = 0.1  # a lone Escape is one after this long
PASTE_S = 0.5  # a paste whose end was lost is over after this much silence
_LONGEST = 64  # characters of an escape sequence
_OLD_POINTER_BYTES = 3  # of an old report of the pointer: button, column and row, whatever bytes they are

FOCUS_IN, FOCUS_OUT = "focus-in", "focus-out"
LEAVE = frozenset({"ctrl+c", "ctrl+q"})

_CONTROLS = {
    "\x00": "ctrl+@",
    "\x03": "ctrl+c",
    "\x08": "backspace",
    "\t": "tab",
    "\n": "enter",
    "\r": "enter",
    "\x11": "ctrl+q",
    "\x1b": "escape",
    "\x7f": "backspace",
    " ": "space",
}
_SHORTER = {
    "plus_sign": "plus",
    "hyphen_minus": "minus",
    "solidus": "slash",
    "reverse_solidus": "backslash",
    "commercial_at": "at",
    "low_line": "underscore",
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
    "[2~": "insert",
    "[3~": "delete",
    "[5~": "pageup",
    "[6~": "pagedown",
    "[H": "home",
    "[1~": "home",
    "[F": "end",
    "[4~": "end",
    **{f"O{letter}": f"f{n}" for n, letter in enumerate("PQRS", 1)},
    **{f"[[{letter}": f"f{n}" for n, letter in enumerate("ABCDE", 1)},  # on the console of Linux
    **{f"[{code}~": f"f{n}" for n, code in enumerate((*range(11, 16), *range(17, 22), 23, 24), 1)},
    "[I": FOCUS_IN,
    "[O": FOCUS_OUT,
}
_COMPLETE = re.compile(r"\[[0-?]*[ -/]*[@-Z\\-~]|\[\[[A-E]|O[ -~]")
_BEGUN = re.compile(r"\[[0-?]*[ -/]*|\[\[|O")
_POINTER = re.compile(r"\[<(\d+);\d+;\d+([Mm])")
_OLD_POINTER, _NO_BUTTON = "[M", 3
_GOES_UP = re.compile(r"\[\d*;\d*:3[A-Z~]")  # an arrow or the like that is let go
_REPLY = re.compile(r"\[[<=>?]")  # the terminal's answer to a question: never a key
_PASTE_BEGINS, _PASTE_ENDS = "[200~", "[201~"

# keys as numbers, from terminals that report them all: code, modifiers + 1, press 1, repeat 2, release 3
_NUMBERED = re.compile(r"\[(\d{1,7})(?::\d*)*(?:;(\d{0,4})(?::([123]))?)?(?:;[\d:]*)?u")
_MODIFIERS_ALONE = frozenset((57358, 57359, 57360, *range(57441, 57455)))
_CTRL = 4


@dataclass(frozen=True, slots=True)
class Key:
    """One key press, when its bytes reached the program (real seconds of the steady clock), what it types."""

    name: str
    at: float
    text: str = ""


class KeyParser:
    """Decodes bytes as they come; feed it each piece with the time it was read."""

    def __init__(self) -> None:
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")
        self._escape: str | None = None  # what followed an Escape so far
        self._escape_at = 0.0
        self._old_pointer: bytes | None = None  # what has come of an old report of the pointer
        self._pasting = False
        self._fed_at = 0.0

    @property
    def is_waiting(self) -> bool:
        """Whether it holds bytes back, to see what follows them."""
        return self._escape is not None or self._old_pointer is not None or bool(self._decoder.getstate()[0])

    def feed(self, data: bytes, at: float) -> list[Key]:
        """Return the keys that are complete with these bytes."""
        keys = list(self.settle(at))
        self._fed_at = at
        for byte in data:
            keys.extend(self._byte(bytes((byte,)), at))
        return keys

    def settle(self, now: float) -> Iterator[Key]:
        """Yield an Escape that nothing followed in time, or what was never completed."""
        if self._pasting and now - self._fed_at >= PASTE_S:
            self._pasting = False
        if self._escape is not None and now - self._escape_at >= ESCAPE_S:
            yield from self._no_sequence()
        if now - self._fed_at >= ESCAPE_S:
            yield from self._no_old_pointer()
            for char in self._decoder.decode(b"", final=True):
                yield from self._char(char, self._fed_at)

    def _byte(self, byte: bytes, at: float) -> Iterator[Key]:
        if self._old_pointer is None:
            for char in self._decoder.decode(byte):
                yield from self._char(char, at)
            return
        self._old_pointer += byte
        if len(self._old_pointer) == _OLD_POINTER_BYTES:
            button, self._old_pointer = self._old_pointer[0] - 32, None
            if _goes_down(button) and button & _NO_BUTTON != _NO_BUTTON:
                yield Key("pointer", at)

    def _no_old_pointer(self) -> Iterator[Key]:
        """Yield what began like an old report of the pointer and was none: a key, and those after it."""
        begun, self._old_pointer = self._old_pointer, None
        if begun is not None:
            yield Key(f"key{_OLD_POINTER}", self._fed_at)
            for byte in begun:
                yield from self._byte(bytes((byte,)), self._fed_at)

    def _char(self, char: str, at: float) -> Iterator[Key]:
        if self._escape is not None:
            yield from self._after_escape(self._escape, char, at)
        elif char == "\x1b":
            self._escape, self._escape_at = "", at
        elif not self._pasting:
            yield _typed(char, at)

    def _after_escape(self, begun: str, char: str, at: float) -> Iterator[Key]:
        sequence = begun + char
        if _COMPLETE.fullmatch(sequence):
            self._escape = None
            yield from self._sequence(sequence, at)
        elif _BEGUN.fullmatch(sequence) and len(sequence) < _LONGEST:
            self._escape = sequence
        elif not begun and char != "\x1b":
            self._escape = None
            if not self._pasting:
                yield Key(f"alt+{_name(char)}", at)
        else:
            yield from self._no_sequence()
            yield from self._char(char, at)

    def _no_sequence(self) -> Iterator[Key]:
        """Yield what was taken for the beginning of a sequence as the keys it is made of."""
        began, self._escape = self._escape or "", None
        if not self._pasting:
            yield from (_typed(char, self._escape_at) for char in "\x1b" + began)

    def _sequence(self, sequence: str, at: float) -> Iterator[Key]:
        if sequence in (_PASTE_BEGINS, _PASTE_ENDS):
            self._pasting = sequence == _PASTE_BEGINS
        elif sequence == _OLD_POINTER and not self._pasting:
            self._old_pointer = b""
        elif not self._pasting:
            name = _pointer(sequence) or _numbered(sequence) or _SEQUENCES.get(sequence, f"key{sequence}")
            if name != _NOTHING and not (_REPLY.match(sequence) and name.startswith("key")):
                yield Key(name, at)


_NOTHING = "nothing"


def _pointer(sequence: str) -> str | None:
    """Return what a report of the pointer is: a button going down, or nothing."""
    pointer = _POINTER.fullmatch(sequence)
    if pointer is None:
        return _NOTHING if _GOES_UP.fullmatch(sequence) else None
    return "pointer" if pointer[2] == "M" and _goes_down(int(pointer[1][:6])) else _NOTHING


def _goes_down(button: int) -> bool:
    return button >= 0 and button & 0b11100000 == 0  # no motion, no wheel


def _numbered(sequence: str) -> str | None:
    """Return the name of a key reported by its number; a modifier alone or a release is nothing."""
    key = _NUMBERED.fullmatch(sequence)
    if key is None:
        return None
    code, modifiers = int(key[1]), int(key[2] or 1) - 1
    if code in _MODIFIERS_ALONE or key[3] == "3":
        return _NOTHING
    name = _name(chr(code)) if code <= 0x10FFFF else f"key{sequence}"
    return f"ctrl+{name}" if modifiers & _CTRL else name


def _typed(char: str, at: float) -> Key:
    return Key(_name(char), at, char if char.isprintable() else "")


def _name(char: str) -> str:
    """Return the name of a character's key; what is no letter and no digit goes by its name in Unicode."""
    if char in _CONTROLS:
        return _CONTROLS[char]
    if char < " ":
        return f"ctrl+{_name(chr(ord(char) + 64).lower())}"  # such as ctrl+x, ctrl+backslash
    if not char.isprintable():
        return f"ctrl+{ord(char):02x}"
    if char.isalnum():
        return char
    long = unicodedata.name(char, char).lower().replace("-", "_").replace(" ", "_")
    return _SHORTER.get(long, long)


# ---- the names themselves

_MODIFIERS = frozenset({"ctrl", "alt", "shift", "super", "hyper", "meta"})
_OWN_NAMES = frozenset({*_CONTROLS.values(), *_SHORTER.values(), *_SEQUENCES.values(), "pointer"}) - {
    FOCUS_IN,
    FOCUS_OUT,
}
_UNNAMED = re.compile(r"f(1\d|2[0-4]|[1-9])|key[\[O][ -~]+")
_NAMED_CHARACTERS = range(0x20, 0x3000)  # above them are next to only letters, which go by themselves


def character(name: str) -> str | None:
    """Return the character that a key of this name types; None where it types none."""
    if len(name) == 1 or name == "space":
        return name if len(name) == 1 else " "
    return next((chr(code) for code in _NAMED_CHARACTERS if _name(chr(code)) == name), None)


def is_key_name(name: str) -> bool:
    """Whether a key can have this name, in lines of text or on the full screen."""
    *modifiers, key = name.split("+") if name not in _OWN_NAMES else [name]
    if not set(modifiers) <= _MODIFIERS:
        return False
    if key in _OWN_NAMES or _UNNAMED.fullmatch(key) or (len(key) == 1 and _name(key) == key):
        return True
    return any(_name(chr(code)) == key for code in _NAMED_CHARACTERS)
