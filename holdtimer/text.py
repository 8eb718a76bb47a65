"""Text from a stranger's file: what it may contain, and how to answer what it may not."""

import difflib
import re
from collections.abc import Iterable

YEARS = range(1900, 3000)  # a time beyond them is a slip of the pen

# folded into single spaces, so that a text may run over several lines of a file
_LAYOUT = frozenset("\t\n\r")

CONTROLS = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e\u200b\u200e\u200f"
    "\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb\U000110bd\U000110cd\U00013430-\U0001343f"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e007f]"
)
"""What could steer a terminal, or hide or reorder its neighbours: controls, invisible marks, separators of
lines, halves of characters and tags. U+200C and U+200D are none: some languages need them."""


def is_control(char: str) -> bool:
    """Return whether a character could steer a terminal or hide or reorder its neighbours."""
    return CONTROLS.match(char) is not None


def control_in(text: str) -> str | None:
    """Return the first control character of a text (line breaks and tabs aside), or None."""
    return next((char for char in text if is_control(char) and char not in _LAYOUT), None)


def capital(words: str) -> str:
    """Return words that begin with a capital letter."""
    return words[:1].upper() + words[1:]


def sentence(words: str) -> str:
    """Return words as a sentence: a capital first, a full stop at the end."""
    return capital(words) + ("" if words.endswith((".", "?", "!")) else ".")


def one_line(text: str) -> str:
    """Return the text with every run of white space, line breaks included, as one space."""
    return " ".join(text.split())


def sanitize(text: str) -> str:
    """Return text fit to be shown: control characters as `?`."""
    return CONTROLS.sub("?", text)


def harmless(text: str, limit: int = 40) -> str:
    """Return text fit to be shown, and cut after `limit` characters."""
    return sanitize(text[:limit]) + "..." if len(text) > limit else sanitize(text)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the most alike of the known words, or None where none is much alike."""
    return next(iter(difflib.get_close_matches(word[:60], list(known), n=1)), None)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return the end of a message: the nearest right word as a question, or all right ones."""
    names = list(known)
    close = nearest(word, names)
    if close is not None:
        return f'; did you mean "{harmless(close)}"?'
    if not names:
        return "; there is none yet"
    return "; choose one of: " + ", ".join(map(harmless, names[:20]))
