"""The text of the pages around a session: what each says, what a tap does on it, and its other keys."""

from collections.abc import Sequence
from dataclasses import dataclass

from holdtimer.report.text import CAUTIONS, EMERGENCY, ON_HOLD, STOP_SIGNS, WHEN_EMERGENCY
from holdtimer.session.words import CALL_FOR_HELP

TAP = "tap"


@dataclass(frozen=True, slots=True)
class PageText:
    """A page: headline, lines (an empty one starts a paragraph), what a tap does, and other keys.

    On an urgent page the first line must be read at once and from afar. A notice asks nothing: plain lines
    do not wait for its tap.
    """

    headline: str
    lines: tuple[str, ...]
    tap: str
    keys: tuple[tuple[str, str], ...] = ()
    is_urgent: bool = False
    is_notice: bool = False


def cautions_page() -> PageText:
    """Return the cautions before a program is run for the first time."""
    lines = (*CAUTIONS, "", "Stop at once if you notice:", *_signs(), "", *CALL_FOR_HELP)
    return PageText("Before you begin", lines, "I have read this", is_notice=True)


def symptom_page() -> PageText:
    """Return the stop signs and when to call for help."""
    calm, _, *later = CALL_FOR_HELP
    lines = (EMERGENCY, WHEN_EMERGENCY, "", calm, *later, "", "Stop signs:", *_signs(), "", ON_HOLD)
    return PageText("Stop and rest", lines, "I have read this", is_urgent=True)


def _signs() -> Sequence[str]:
    return [f"  {sign}" for sign in STOP_SIGNS]


def left_words(age_s: float) -> str:
    """Return that a session was left `age_s` seconds ago."""
    return f"You left a session {max(1, round(age_s / 60))} min ago"


def left_page(program: str, script: str, age_s: float) -> PageText:
    """Return the question what to do with a session that was left `age_s` seconds ago."""
    lines = (f"{left_words(age_s)}:", f"{program}: {script}", "", "Every stamp in it is saved.")
    return PageText("Go on?", lines, "go on with it", (("c", "close it and start a new one"),))


def lost_page(name: str, is_gone: bool) -> PageText:
    """Return the notice that the program of last time, by its `name`, cannot be used any more."""
    if is_gone:
        advice = ("Moved or renamed? Start it once from where it is now:", "holdtimer run PATH")
        return PageText("Not found", ("Your last program is gone:", name, "", *advice), "choose another")
    advice = ("See what is wrong with it, line by line:", "holdtimer check PATH")
    return PageText("Not usable", ("Your last program has errors:", name, "", *advice), "choose another")


def hold_page(why: str) -> PageText:
    """Return the question whether a program on hold may go on; no tap releases it."""
    lines = (
        f"This program is on hold: {why}.",
        "",
        "It starts again only when you say that it has settled or been checked.",
        "If in doubt, ask your doctor or the team that treats you first.",
    )
    keys = (("s", "it has settled"), ("d", "a doctor or therapist has checked it"))
    return PageText("On hold", lines, "not today", keys)


def paused_page(paused: Sequence[tuple[str, str]]) -> PageText:
    """Return the question what to do with paused exercises: their names, and why they are paused."""
    lines = (
        "Paused and left out today:",
        "",
        *(f"  {name}: {why}" for name, why in paused),
        "",
        "Restore them only when the pain has settled or been checked.",
    )
    keys = (("r", "restore them: settled or checked"),)
    return PageText("Left out", lines, "go on without", keys)


def early_page(warning: str, when: str, easy_day: str | None) -> PageText:
    """Return the warning of a start too soon after the last hard session."""
    lines = (
        f"{warning}. The next one is due {when}.",
        "",
        "You get stronger while you recover: more is not better.",
    )
    easy = (("y", f"do the easy day instead: {easy_day}"),) if easy_day else ()
    return PageText("Too early", lines, "not today", (*easy, ("e", "start anyway; the log notes it")))
