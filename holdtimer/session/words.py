"""The words of a session that are both seen and heard: what a tap does, the menu, when to call for help."""

from collections.abc import Iterable

from holdtimer.program.timeline import Part, Timeline
from holdtimer.seconds import clock
from holdtimer.session import events as ev
from holdtimer.session.menu import Choice
from holdtimer.session.results import Tempo
from holdtimer.session.rules import Tap

TAP_WORDS: dict[Tap, str] = {
    Tap.TRY: "try your key",
    Tap.BEGIN: "ready",
    Tap.READY: "ready for the next",
    Tap.NOT_READY: "not ready",
    Tap.FAILURE: "I have failed",
    Tap.RE_ENTRY: "I am back in",
    Tap.LATE: "I have failed",
    Tap.CONFIRM: "I worked to the end",
    Tap.CHOOSE: "choose this",
    Tap.NOT_YET: "nothing yet",
    Tap.NOTHING: "nothing now",
}

CHOICE_WORDS: dict[Choice, str] = {
    Choice.SYMPTOM: "something feels wrong",
    Choice.STOP_SET: "stop this set",
    Choice.REDO: "do this set again",
    Choice.NOT_TO_THE_END: "I did not work to the end",
    Choice.TO_THE_END: TAP_WORDS[Tap.CONFIRM],
    Choice.HURRY: "skip the rest, I am ready",
    Choice.EASIER: "an easier rung",
    Choice.HARDER: "a harder rung",
    Choice.SKIP: "skip this one",
    Choice.END: "end the session",
    Choice.LEAVE: "leave and resume later",
    Choice.GO_ON: "go on",
    Choice.ADVISED: "my coach or therapist said so",
    Choice.NOT_POSSIBLE: "the due one can't be done here",
    Choice.OWN_CHOICE: "I want to try it",
}

KEEP_PUSHING, EASE_OFF, BREATHE = "keep pushing", "ease off", "breathe"
BACK_IN_WHEN_READY = "back in when ready"
SET_OVER = "this set is over"
TRY_KEY = "press the key you will use at failure, once, to try it"  # not recorded: in one session only
TAKE_BACK = "Backspace once more takes the last stamp back"
NOT_YET_SAVED = "noted, not yet saved"

NO = "I did not"  # beside "I worked to the end"

_NOTED: dict[type, str] = {
    ev.Ready: "ready",
    ev.NotReady: "not ready",
    ev.ReEntry: "back in",
    ev.Confirmed: "worked to the end",
    ev.LateTap: "after the end",
    ev.TakenBack: "taken back",
}


def noted_words(event: ev.Answered) -> str:
    """Return what a key that counted is acknowledged with."""
    if isinstance(event, ev.Failure):
        return f"failed at {clock(event.at)}"
    if isinstance(event, ev.Answer):
        return "not to the end" if event.value is False else "no answer yet"
    return _NOTED[type(event)]


ALWAYS_NEEDED = ("water", "something cool", "a phone within reach")


def needed_words(parts: Iterable[Part]) -> str:
    """Return all that these parts need at the rungs they are done at, and what is always needed."""
    return ", ".join(dict.fromkeys((*(need for part in parts for need in part.needs), *ALWAYS_NEEDED)))


def length_words(timeline: Timeline) -> str:
    """Return how many sets there are and how long they take."""
    count, minutes = len(timeline.sets), max(1, round(timeline.least_s / 60))
    sets, time = (f"{n} {what}{'' if n == 1 else 's'}" for n, what in ((count, "set"), (minutes, "minute")))
    return f"{sets}, {time} or more" if count else time


def tempo_words(tempo: Tempo) -> tuple[str, ...]:
    """Return how one repetition goes, what takes no time left out."""
    does = zip(("lower", "hold", "lift", "hold"), tempo, strict=True)
    return tuple(f"{what} {seconds:g} s" for what, seconds in does if seconds)


REHEARSAL = "rehearsal, never counted"

CALL_FOR_HELP: tuple[str, ...] = (
    "Stop, sit or lie down, cool down.",
    "Not better within minutes, or chest pain, fainting or trouble speaking: call the emergency number.",
    "If it settles but comes back with effort, see a doctor before the next session.",
    "New or worse weakness that lasts over a day: call the team that treats you.",
)
