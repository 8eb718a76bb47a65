"""Text as people write and read it: what a stranger's file may contain; days, times and seconds in words.

Seconds are rounded here alone, always down: nobody failed at 9 s who failed at 8.7 s, and nothing is rounded
up across a limit. Only what is still left counts up to the next second, so that 0 is the end itself.
"""

import difflib
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

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
STEERING = re.compile(rf"(?![\n\b]){CONTROLS.pattern}")
"""The same but for what ends a line, and what takes back a letter that was typed."""


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


_GRAIN = 1e-6  # what floating point may lack of a whole number
_MINUTES_FROM = 100  # below it a clock shows seconds alone


def whole_seconds(seconds: float) -> int:
    """Return the whole seconds that have passed."""
    return int(seconds + _GRAIN)


def tenths_passed(seconds: float) -> str:
    """Return the tenths of a second that have passed: "7.4"."""
    return f"{int(seconds * 10 + _GRAIN) / 10:.1f}"


def tenths(seconds: float) -> str:
    """Return seconds to the tenth that has been reached, at least 0.1: "0.6 s"."""
    return f"{tenths_passed(max(0.1, seconds))} s"


def clock(seconds: float) -> str:
    """Return whole seconds as a clock shows them, as m:ss from 100 s on: "65", "1:45"."""
    whole = whole_seconds(seconds)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= _MINUTES_FROM else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left as a clock shows them, up to the next whole one."""
    return clock(max(0, -int(-(seconds - _GRAIN) // 1)))


def with_unit(shown: str) -> str:
    """Return what a clock shows with its unit, where it has no minutes: "65 s", "1:45"."""
    return shown if ":" in shown else f"{shown} s"


def in_seconds(seconds: float) -> str:
    """Return whole seconds with their unit: "65 s", "1:45"."""
    return with_unit(clock(seconds))


def at_least(seconds: float) -> str:
    """Return seconds that may have been more, as few as are certain: "90+ s", "2:00+"."""
    return with_unit(f"{clock(seconds)}+")


def two_times(first: float, between: str, second: float) -> str:
    """Return two times, the unit said once where both have it: "60 to 85 s", "65 s to 1:45"."""
    one, other = clock(first), clock(second)
    return f"{one if ':' not in other else with_unit(one)} {between} {with_unit(other)}"


_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def day_words(moment: datetime, now: datetime) -> str:
    """Return a day in words at `now`, in its zone: "12 May", with the year where it is another one."""
    day = moment.astimezone(now.tzinfo)
    year = "" if day.year == now.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def at_words(moment: datetime, now: datetime, *, has_time: bool = True) -> str:
    """Return "today at 18:21" or "on Tuesday 24 November at 18:21", in the zone of `now`."""
    local = moment.astimezone(now.tzinfo)
    time = f" at {local:%H:%M}" if has_time else ""
    if local.date() == now.date():
        return f"today{time}"
    return f"on {_WEEKDAYS[local.weekday()]} {day_words(moment, now)}{time}"


def from_words(moment: datetime, now: datetime) -> str:
    """Return "from Thursday 18:40" or "today from 18:40", in the zone of `now`, with the date where far.

    It is rounded up to the next minute.
    """
    up = timedelta(seconds=59, microseconds=999_999)
    local = (moment.astimezone(UTC) + up).astimezone(now.tzinfo)
    days = (local.date() - now.date()).days
    at = f"{local.hour:02d}:{local.minute:02d}"
    if days == 0:
        return f"today from {at}"
    date = f" {local.day} {MONTHS[local.month - 1]}" if days > 6 else ""
    return f"from {_WEEKDAYS[local.weekday()]}{date} {at}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return "1 result", "2 results"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
