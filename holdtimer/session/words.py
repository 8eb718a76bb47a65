"""The words of a session that are both seen and heard: what a tap does, the menu, when to call for help."""

from holdtimer.session.rules import Choice, Tap

TAP_WORDS: dict[Tap, str] = {
    Tap.TRY: "try your key",
    Tap.BEGIN: "ready",
    Tap.READY: "ready",
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

REHEARSAL = "rehearsal, never counted"

CALL_FOR_HELP: tuple[str, ...] = (
    "Stop, sit or lie down, cool down.",
    "Not better within minutes, or chest pain, fainting or trouble speaking: call the emergency number.",
    "If it settles but comes back with effort, see a doctor before the next session.",
    "New or worse weakness that lasts over a day: tell the team that treats you.",
)
