"""The names of what is heard: one sound for each cue, and what each of them means to the person."""

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


MEANINGS: dict[Sound, str] = {
    Sound.TESTED: "two low notes on the ready screen: the sound works",
    Sound.COUNT_IN: "the last seconds before the window opens",
    Sound.WINDOW_OPEN: "the work window is open: begin",
    Sound.BAND: "the band has begun: failing from here on is the aim",
    Sound.FINAL_STRETCH: "the final stretch of the window has begun",
    Sound.LAST_TEN: "ten seconds to the end of the window",
    Sound.TICK: "each of the last five seconds of the window",
    Sound.WINDOW_OVER: "the window is over: ease off",
    Sound.FAILURE: "your failure is noted",
    Sound.RE_ENTRY: "you are back in, and it is noted",
    Sound.TAKEN_BACK: "the last stamp is taken back",
    Sound.READY: "your tap is heard: on to the next part",
    Sound.NOT_READY: "the count-in is stopped: back to waiting",
    Sound.REST_OVER: "the rest is over",
    Sound.ASKS: "a question waits on the screen",
    Sound.BREATHE: "keep breathing",
    Sound.LOWER: "the rhythm of repetitions: lower now",
    Sound.LIFT: "the rhythm of repetitions: lift now",
    Sound.PAUSE: "the rhythm of repetitions: stay there",
    Sound.KEYS_LOST: "your keys do not reach the program",
    Sound.SESSION_OVER: "the session is over",
}
