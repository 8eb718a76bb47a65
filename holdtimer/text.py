"""Text from a stranger's file: what it may contain, and how to answer what it may not."""

import difflib
import unicodedata
from collections.abc import Iterable

YEARS = range(1900, 3000)  # a time beyond them is a slip of the pen

# folded into single spaces, so that a text may run over several lines of a file
_LAYOUT = frozenset("\t\n\r")
_JOINERS = frozenset("\u200c\u200d")  # needed to spell some languages
_REFUSED = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})  # controls, invisible marks, surrogates, separators


def is_control(char: str) -> bool:
    """Return whether a character could steer a terminal or hide or reorder its neighbours."""
    return unicodedata.category(char) in _REFUSED and char not in _JOINERS


def control_in(text: str) -> str | None:
    """Return the first control character of a text (line breaks and tabs aside), or None."""
    return next((char for char in text if is_control(char) and char not in _LAYOUT), None)


def one_line(text: str) -> str:
    """Return the text with every run of white space, line breaks included, as one space."""
    return " ".join(text.split())


def sanitize(text: str) -> str:
    """Return text fit to be shown: control characters as `?`."""
    return text if text.isascii() and text.isprintable() else "".join(map(_shown, text))


def harmless(text: str, limit: int = 40) -> str:
    """Return text fit to be shown, and cut after `limit` characters."""
    return sanitize(text[:limit]) + "..." if len(text) > limit else sanitize(text)


def _shown(char: str) -> str:
    return "?" if is_control(char) else char


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
