"""The sounds: what each is for and how it goes: which notes, when, and how loud."""

from dataclasses import dataclass
from enum import StrEnum


class Sound(StrEnum):
    """One sound; its value is also the name of its file in `sounds/`."""

    TESTED = "tested"
    COUNT_IN = "count-in"
    WINDOW_OPEN = "window-open"
    BAND = "band"
    FINAL_STRETCH = "final-stretch"
    LAST_TEN = "last-ten"
    TICK = "tick"
    WINDOW_OVER = "window-over"
    FAILURE = "failure"
    RE_ENTRY = "re-entry"
    TAKEN_BACK = "taken-back"
    READY = "ready"
    NOT_READY = "not-ready"
    REST_OVER = "rest-over"
    ASKS = "asks"
    BREATHE = "breathe"
    LOWER = "lower"
    LIFT = "lift"
    PAUSE = "pause"
    KEYS_LOST = "keys-lost"
    SESSION_OVER = "session-over"


SOUND_TEXTS: dict[Sound, str] = {
    Sound.TESTED: "two low notes on the ready screen: the sound works",
    Sound.COUNT_IN: "counts the last seconds before the window opens",
    Sound.WINDOW_OPEN: "the work window is open: begin",
    Sound.BAND: "you have reached the band: failing from here on is the aim",
    Sound.FINAL_STRETCH: "the final stretch of the window begins",
    Sound.LAST_TEN: "ten seconds to go in the window",
    Sound.TICK: "each of the last five seconds of the window",
    Sound.WINDOW_OVER: "the window is over: ease off",
    Sound.FAILURE: "noted: you have failed",
    Sound.RE_ENTRY: "noted: you are back in; in a test: a stand, or its end",
    Sound.TAKEN_BACK: "the last stamp is taken back",
    Sound.READY: "your tap was heard: on to the next part",
    Sound.NOT_READY: "the count-in has stopped: take your time",
    Sound.REST_OVER: "the rest is over",
    Sound.ASKS: "there is a question on the screen",
    Sound.BREATHE: "keep breathing",
    Sound.LOWER: "the rhythm of repetitions: lower",
    Sound.LIFT: "the rhythm of repetitions: lift",
    Sound.PAUSE: "the rhythm of repetitions: pause there",
    Sound.KEYS_LOST: "your keys do not reach the program",
    Sound.SESSION_OVER: "the session is over",
}


HIGHEST_HZ = 2350.0
"""No partial lies above it, so that with its spread it stays under 2500 Hz, the limit of ISO 24500."""

G4, A4, C5, D5, E5, G5, A5, C6 = 392.00, 440.00, 523.25, 587.33, 659.26, 783.99, 880.00, 1046.50


@dataclass(frozen=True, slots=True)
class Partial:
    """One pure tone of a note: its multiple of the pitch, its share, and how fast it fades (time to 1/e)."""

    ratio: float
    share: float
    fade_s: float


@dataclass(frozen=True, slots=True)
class Timbre:
    """What a note is made of: its partials, how fast it rises and how long it lasts."""

    partials: tuple[Partial, ...]
    rise_s: float
    length_s: float


# a bar free at both ends has its second partial at 2.76 times the first
BAR = Timbre((Partial(1, 1.0, 0.055), Partial(2, 0.22, 0.030), Partial(2.756, 0.14, 0.012)), 0.004, 0.21)
SHORT_BAR = Timbre(
    (Partial(1, 1.0, 0.028), Partial(2, 0.22, 0.015), Partial(2.756, 0.14, 0.008)), 0.004, 0.13
)
BELL = Timbre((Partial(1, 1.0, 0.14), Partial(2, 0.34, 0.09), Partial(3, 0.10, 0.05)), 0.006, 0.44)
LONG_BELL = Timbre((Partial(1, 1.0, 0.26), Partial(2, 0.34, 0.15), Partial(3, 0.10, 0.07)), 0.006, 0.84)
BREATH = Timbre((Partial(1, 1.0, 9.0), Partial(2, 0.12, 9.0)), 0.40, 0.9)
TAP = Timbre((Partial(1, 1.0, 0.030), Partial(2, 0.16, 0.015)), 0.016, 0.13)
HUM = Timbre((Partial(1, 1.0, 0.30), Partial(2, 0.20, 0.20)), 0.06, 0.45)


@dataclass(frozen=True, slots=True)
class Note:
    """One note of a pattern: when it begins, its pitch in hertz, its timbre and its strength."""

    at_s: float
    pitch_hz: float
    timbre: Timbre
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Pattern:
    """The notes of a sound, and its loudness: the highest effective level of any 125 ms (1: full scale)."""

    notes: tuple[Note, ...]
    loudness: float = 0.20

    @property
    def length_s(self) -> float:
        """When the last of its notes has faded."""
        return max(note.at_s + note.timbre.length_s for note in self.notes)


PATTERNS: dict[Sound, Pattern] = {
    Sound.TESTED: Pattern((Note(0, A4, BELL), Note(0.62, G4, BELL))),
    Sound.COUNT_IN: Pattern((Note(0, G5, BAR),), 0.15),
    Sound.WINDOW_OPEN: Pattern((Note(0, C5, BELL), Note(0.24, G5, LONG_BELL))),
    Sound.BAND: Pattern((Note(0, C5, BELL), Note(0.12, E5, BELL), Note(0.48, A5, BELL))),
    Sound.FINAL_STRETCH: Pattern(
        (Note(0, A5, BAR), Note(0.15, G5, BAR), Note(0.45, A5, BAR), Note(0.60, G5, BAR))
    ),
    Sound.LAST_TEN: Pattern((Note(0, E5, BAR), Note(0.20, A5, BAR), Note(0.30, A5, BAR))),
    Sound.TICK: Pattern((Note(0, A5, SHORT_BAR, 0.7), Note(0.085, A5, BAR)), 0.15),
    Sound.WINDOW_OVER: Pattern(
        (Note(0, G5, LONG_BELL), Note(0.38, E5, LONG_BELL), Note(0.76, C5, LONG_BELL))
    ),
    Sound.FAILURE: Pattern((Note(0, A5, BAR), Note(0.15, C5, BELL))),
    Sound.RE_ENTRY: Pattern((Note(0, C5, SHORT_BAR), Note(0.07, G5, SHORT_BAR), Note(0.14, C6, BAR))),
    Sound.TAKEN_BACK: Pattern(tuple(Note(0.09 * i, p, SHORT_BAR) for i, p in enumerate((G5, E5, D5, C5)))),
    Sound.READY: Pattern((Note(0, E5, SHORT_BAR, 0.8), Note(0.06, G5, BAR), Note(0.30, G5, BAR))),
    Sound.NOT_READY: Pattern((Note(0, G5, BAR), Note(0.34, E5, SHORT_BAR, 0.8), Note(0.40, C5, BAR))),
    Sound.REST_OVER: Pattern(
        (Note(0, E5, BELL), Note(0.30, G5, BAR), Note(0.45, G5, BAR), Note(0.75, A5, BELL))
    ),
    Sound.ASKS: Pattern((Note(0, D5, BELL), Note(0.40, A5, BELL))),
    Sound.BREATHE: Pattern((Note(0, A4, BREATH),), 0.05),
    Sound.LOWER: Pattern((Note(0, G4, HUM),), 0.06),
    Sound.LIFT: Pattern((Note(0, E5, SHORT_BAR, 0.6), Note(0.055, A5, SHORT_BAR)), 0.06),
    Sound.PAUSE: Pattern((Note(0, C5, TAP),), 0.06),
    Sound.KEYS_LOST: Pattern(
        tuple(Note(pair + step, p, BAR) for pair in (0, 0.45, 0.9) for step, p in ((0, E5), (0.10, C5)))
    ),
    Sound.SESSION_OVER: Pattern(
        (*(Note(0.16 * i, p, BELL) for i, p in enumerate((C5, E5, G5, A5))), Note(0.95, C5, LONG_BELL))
    ),
}
