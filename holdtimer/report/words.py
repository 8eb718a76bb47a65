"""The words of a session: what a tap does, what the menu offers, the cautions and the stop signs."""

from holdtimer.script.timeline import PlannedSet
from holdtimer.session.menu import Choice
from holdtimer.session.taps import Tap

TAP_WORDS: dict[Tap, str] = {
    Tap.BEGIN: "ready",
    Tap.READY: "ready",
    Tap.NOT_READY: "not ready",
    Tap.FAILURE: "I have failed",
    Tap.RE_ENTRY: "I am back in",
    Tap.LATE: "I have failed",
    Tap.CONFIRM: "I worked to the end",
    Tap.CHOOSE: "choose this",
    Tap.NOTHING: "nothing now",
}

CHOICE_WORDS: dict[Choice, str] = {
    Choice.SYMPTOM: "something feels wrong",
    Choice.STOP_SET: "stop this set",
    Choice.REDO: "do this set again",
    Choice.NOT_TO_THE_END: "I did not work to the end",
    Choice.HURRY: "no more rest, I am ready",
    Choice.EASIER: "an easier rung",
    Choice.HARDER: "a harder rung",
    Choice.SKIP: "skip this",
    Choice.END: "end the session",
    Choice.LEAVE: "leave, to go on later",
    Choice.GO_ON: "go on",
    Choice.ADVISED: "my coach or therapist said so",
    Choice.NOT_POSSIBLE: "the due one is not possible here",
    Choice.OWN_CHOICE: "I want to try it",
}

CAUTIONS: tuple[str, ...] = (
    "Ask your doctor or physiotherapist before you train to failure; their word and local rules go first.",
    "Have something solid to hold, a chair behind you, shoes that grip, and a phone within reach.",
    "Keep breathing: never hold your breath. Keep the room cool, with water at hand.",
    "Burning in the working muscle is expected. Sharp, new or joint pain is not: stop.",
    "Not today when you are ill, feverish, dizzy or unusually weak.",
)
STOP_SIGNS: tuple[str, ...] = (
    "pain, pressure or tightness in the chest, neck, jaw, arm or back",
    "fainting or nearly, dizziness, confusion",
    "breathlessness so that you cannot speak",
    "a racing or irregular heartbeat, cold sweat, sickness",
    "a sudden severe headache",
    "sudden weakness, numbness or tingling, trouble speaking, seeing or swallowing",
    "sharp or new pain in a joint, a severe cramp",
)
CALL_FOR_HELP: tuple[str, ...] = (
    "Stop, sit or lie down, cool down.",
    "Not better within minutes, or chest pain, fainting or trouble speaking: call the emergency number.",
    "If it settles but comes back with effort, see a doctor before the next session.",
    "New or worse weakness that lasts over a day: tell the team that treats you.",
)
ON_HOLD = "This program is on hold until you say that it has settled or was checked."


def clock(seconds: float) -> str:
    """Return whole seconds counted up, as m:ss from 100 s on."""
    whole = int(seconds + 1e-6)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= 100 else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left, rounded up, as m:ss from 100 s on."""
    whole = max(0, -int(-(seconds - 1e-6) // 1))
    return clock(whole)


def side_words(part: PlannedSet) -> str:
    """Return the side of a set in words; empty where both work together."""
    return "" if part.side == "both" else part.side
