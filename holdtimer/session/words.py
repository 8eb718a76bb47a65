"""The words of a session that are both seen and heard: what a tap does, the menu, when to call for help."""

from collections.abc import Iterable

from holdtimer.program.timeline import Part, Timeline
from holdtimer.session import events as ev
from holdtimer.session.menu import Choice
from holdtimer.session.results import Tempo
from holdtimer.session.state import Tap, TrialState
from holdtimer.session.trials import Means, Offer, stands
from holdtimer.text import clock, counted, tenths_passed

TAP_WORDS: dict[Tap, str] = {
    Tap.TRY: "try your key",
    Tap.BEGIN: "ready",
    Tap.READY: "ready for the next",
    Tap.NOT_READY: "not ready",
    Tap.FAILURE: "I have failed",
    Tap.RE_ENTRY: "I am back in",
    Tap.LATE: "I have failed",
    Tap.CONFIRM: "I worked to the end",
    Tap.TRUE: "true",
    Tap.IN_PLACE: "I am in place",
    Tap.START: "over the first line",
    Tap.STAND: "I stand upright",
    Tap.SEATED: "I am seated again",
    Tap.ACROSS: "over the line",
    Tap.TAKE: "this is right",
    Tap.CHOOSE: "choose this",
    Tap.NOT_YET: "nothing yet",
    Tap.NOTHING: "nothing now",
}

CHOICE_WORDS: dict[Choice, str] = {
    Choice.SYMPTOM: "something feels wrong",
    Choice.STOP_SET: "stop this set",
    Choice.STOP_TEST: "stop this test",
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

NO = "I did not"
NOT_TRUE = "not true"

_NOTED: dict[type, str] = {
    ev.Ready: "ready",
    ev.NotReady: "not ready",
    ev.ReEntry: "back in",
    ev.Confirmed: "worked to the end",
    ev.LateTap: "after the end",
    ev.TakenBack: "taken back",
}


def noted_words(event: ev.Acknowledged) -> str:
    """Return what a key that counted is acknowledged with."""
    if isinstance(event, ev.Failure):
        return f"failed at {clock(event.at)}"
    if isinstance(event, (ev.Asked, ev.Mark, ev.TrialClosed, ev.TrialResult, ev.TrialVoid)):
        return _trial_noted(event)
    if isinstance(event, ev.Answer):
        return "not to the end" if event.value is False else "no answer yet"
    return _NOTED[type(event)]


_VOID: dict[str, str] = {
    "not-confirmed": "not confirmed",
    "not-kept": "not kept",
    "again": "once more",
    "stopped": "stopped",
    "skipped": "left out",
    "not-today": "not today",
    "gap": "broken off",
    "left": "broken off",
}


def void_words(reason: str) -> str:
    """Return why a trial has no result."""
    return _VOID.get(reason, reason)


def _trial_noted(event: ev.Asked | ev.Mark | ev.TrialClosed | ev.TrialResult | ev.TrialVoid) -> str:
    match event:
        case ev.Asked():
            return TAP_WORDS[Tap.TRUE] if event.answer else NOT_TRUE
        case ev.Mark():
            return "stand"
        case ev.TrialClosed():
            return "over"
        case ev.TrialResult():  # no result is shown before a test, nor between its trials
            return trial_result_words(event) if event.over else "kept"
    return void_words(event.reason)


def trial_result_words(result: ev.TrialResult) -> str:
    """Return the result of a trial: "12 stands", "7.4 s", "0.81 m/s", "not able"."""
    if not result.able:
        return "not able"
    if result.stands is not None:
        return counted(result.stands, "stand")
    if result.speed_m_s is not None:
        return f"{result.speed_m_s:.2f} m/s"
    return f"{tenths_passed(result.seconds or 0.0)} s"


def offer_words(trial: TrialState, offer: Offer) -> str:
    """Return one answer after a trial."""
    match offer.means:
        case Means.NOT_ABLE:
            return "I used my hands, or stopped" if trial.variant == "crossed" else "I stopped, or was helped"
        case Means.AGAIN:
            return "do it once more"
        case Means.NOT_KEPT:
            return "do not keep it"
    if offer.stands is None and trial.trial < trial.planned:
        return "done, without a stop or a hand"
    if offer.stands is None:
        return f"{tenths_passed(trial.ended_at or 0.0)} s, without a stop or a hand"
    half_up = ", the last one more than half-way up" if offer.stands == stands(trial.marks) + 1 else ""
    return counted(offer.stands, "stand") + half_up


ALWAYS_NEEDED = ("water", "something cool", "a phone within reach")


def needed_words(parts: Iterable[Part]) -> str:
    """Return all that these parts need at the rungs they are done at, and what is always needed."""
    return ", ".join(dict.fromkeys((*(need for part in parts for need in part.needs), *ALWAYS_NEEDED)))


def length_words(timeline: Timeline) -> str:
    """Return how many tests and sets there are and how long they take."""
    minutes = max(1, round(timeline.least_s / 60))
    counts = ((len(timeline.tests), "test"), (len(timeline.sets), "set"), (minutes, "minute"))
    *done, time = (counted(n, what) for n, what in counts if n)
    return ", ".join((*done, f"{time} or more")) if done else time


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
