"""What is always said in the same words: numbers by their parts, and the fixed phrases.

All of it ships as recordings, so that it can be said where no speech synthesiser is installed.
"""

from holdtimer.session import words
from holdtimer.session.menu import Choice
from holdtimer.session.trials import Means
from holdtimer.session.words import CALL_FOR_HELP, CHOICE_WORDS
from holdtimer.text import whole_seconds

Pieces = tuple[str, ...]
"""What is said in one breath, cut where the voice puts recordings together."""

SMALL: Pieces = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
TENS: Pieces = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

READY = "ready"
NOT_READY = "not ready"
FAILED_AT = "failed at"
BACK_IN = "back in"
TAKEN_BACK = "taken back"
TO_THE_END = CHOICE_WORDS[Choice.TO_THE_END]
AFTER_THE_END = "noted, after the end"
WAY_OUT = "way out"
KEEP_PUSHING = words.KEEP_PUSHING
EASE_OFF = words.EASE_OFF
BREATHE = words.BREATHE
BACK_IN_WHEN_READY = words.BACK_IN_WHEN_READY
SET_OVER = words.SET_OVER
TO_THE_END_OF_IT = "to the end"
THIRTY_SECONDS = "thirty seconds"
IN_THE_BAND = "in the band"
NEXT = "next"
SET = "set"
SIDES = {"left": "left side", "right": "right side"}
EASY_MOVEMENT = "easy movement"
LAST_TIME = "last time"
SECONDS = "seconds"
MINUTE, MINUTES = "minute", "minutes"
NEARLY_OVER = "rest nearly over"
POSITION = "get into position"
TAP_WHEN_READY = "tap when ready"
TAP_WHEN_FAILED = "tap when you fail"
TAP_WHEN_BACK = "tap when you are back in"
TAP_NOT_READY = "tap if not ready"
DID_YOU = "tap if you worked to the end"
IF_NOT = "back space if not"  # in two words, as speech programs and recognisers know it
OR_HOLD = "or hold a key"
NOT_TO_THE_END = CHOICE_WORDS[Choice.NOT_TO_THE_END]
KEYS_LOST = "your keys do not reach me"
CHANGED = "changed"
OFF_DAY = "an off day"
SKIPPED = "skipped"
AGAIN = CHOICE_WORDS[Choice.REDO]
STOPPED = "stopped"
INTERRUPTED = "interrupted"
TAP_IF_SO = "tap if so"
STANDS = "stands"
POINT = "point"
OFFERS: dict[Means, str] = {Means.NOT_ABLE: "not able", Means.AGAIN: "once more", Means.NOT_KEPT: "not kept"}
ENDED = "the session is over"

FIXED: Pieces = (
    READY, NOT_READY, FAILED_AT, BACK_IN, TAKEN_BACK, TO_THE_END, AFTER_THE_END, WAY_OUT, KEEP_PUSHING,
    EASE_OFF, BREATHE, BACK_IN_WHEN_READY, SET_OVER, TO_THE_END_OF_IT, THIRTY_SECONDS, IN_THE_BAND, NEXT, SET,
    *SIDES.values(), EASY_MOVEMENT, LAST_TIME, SECONDS, MINUTE, MINUTES, NEARLY_OVER, POSITION,
    TAP_WHEN_READY, TAP_WHEN_FAILED, TAP_WHEN_BACK, TAP_NOT_READY, DID_YOU, IF_NOT, OR_HOLD,
    NOT_TO_THE_END, KEYS_LOST, CHANGED, OFF_DAY,
    SKIPPED, AGAIN, STOPPED, INTERRUPTED, ENDED,
    TAP_IF_SO, STANDS, POINT, *OFFERS.values(),
    *CHOICE_WORDS.values(),
    *CALL_FOR_HELP[:2],
)  # fmt: skip
EVERY: Pieces = tuple(dict.fromkeys((*SMALL, *TENS, *FIXED)))
"""All that is recorded."""


def number(count: int) -> Pieces:
    """Return a whole number from 0 to 99 in its parts. Raises ValueError for another one."""
    if not 0 <= count <= 99:
        raise ValueError(f"{count} is not said in one number")
    if count < len(SMALL):
        return (SMALL[count],)
    tens, ones = TENS[count // 10 - 2], count % 10
    return (tens, SMALL[ones]) if ones else (tens,)


def duration(seconds: float) -> Pieces:
    """Return how long something is, or when it was, in whole seconds; minutes and seconds from 100 s on."""
    whole = whole_seconds(seconds)
    if whole < 100:
        return (*number(whole), SECONDS)
    minutes, rest = divmod(min(whole, 5999), 60)
    said = (*number(minutes), MINUTE if minutes == 1 else MINUTES)
    return (*said, *number(rest)) if rest else said


def with_tenths(seconds: float) -> Pieces:
    """Return seconds to the tenth that has passed; whole ones from 100 s on."""
    if seconds >= 100:
        return duration(seconds)
    tenths = whole_seconds(seconds * 10)
    return (*number(tenths // 10), POINT, *number(tenths % 10), SECONDS)


def moment(seconds: float) -> Pieces:
    """Return when in a window something was: as the clock shows it, without a unit below 100 s."""
    said = duration(seconds)
    return said[:-1] if said[-1] == SECONDS else said
