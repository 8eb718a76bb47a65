"""The pages of words around a session: what each says, what a tap does on it, and its other keys."""

from collections.abc import Sequence
from dataclasses import dataclass

from holdtimer.report.text import CAUTIONS, EMERGENCY, ON_HOLD, STOP_SIGNS, WHEN_EMERGENCY
from holdtimer.session.words import CALL_FOR_HELP

TAP = "tap"


@dataclass(frozen=True, slots=True)
class Words:
    """A page: headline, lines (an empty one parts paragraphs), what a tap does, and other keys.

    On an urgent page the first line must be read at once and from afar.
    """

    headline: str
    lines: tuple[str, ...]
    tap: str
    keys: tuple[tuple[str, str], ...] = ()
    is_urgent: bool = False
    only_tells: bool = False  # where lines of text stay in sight, nothing is waited for


def cautions_page() -> Words:
    """Return what is said before a program is run for the first time."""
    lines = (*CAUTIONS, "", "Stop at once at:", *(f"  {sign}" for sign in STOP_SIGNS), "", *CALL_FOR_HELP)
    return Words("Before you begin", lines, "I have read this", only_tells=True)


def left_words(age_s: float) -> str:
    """Return that a session was left `age_s` seconds ago."""
    return f"A session was left {max(1, round(age_s / 60))} min ago"


def left_page(program: str, script: str, age_s: float) -> Words:
    """Return the question what to do with a session that was left `age_s` seconds ago."""
    lines = (
        f"{left_words(age_s)}:",
        f"{program}, script {script}",
        "",
        "All that was stamped in it is kept.",
    )
    return Words("Go on?", lines, "go on with it", (("c", "close it and begin anew"),))


def lost_page(name: str, is_gone: bool) -> Words:
    """Return what is said where the program of last time, by its `name`, cannot be used any more."""
    if is_gone:
        told = ("Moved or renamed? Begin with it once where it is now:", "holdtimer run PATH")
        return Words("Not found", ("The program of last time is gone:", name, "", *told), "choose another")
    told = ("What is wrong with it, line by line:", "holdtimer check PATH")
    return Words("Not usable", ("The program of last time has faults:", name, "", *told), "choose another")


def symptom_page() -> Words:
    """Return the stop signs and when to call for help."""
    signs = ("Stop signs:", *(f"  {sign}" for sign in STOP_SIGNS))
    calm, _, *later = CALL_FOR_HELP
    lines = (EMERGENCY, WHEN_EMERGENCY, "", calm, *later, "", *signs, "", ON_HOLD)
    return Words("Stop and rest", lines, "I have read this", is_urgent=True)


def hold_page(why: str) -> Words:
    """Return the question whether a program on hold may go on; no tap releases it."""
    lines = (
        f"This program is on hold: {why}.",
        "",
        "It starts again only when you say that it has settled, or that it was checked.",
        "In doubt ask your doctor or the team that treats you first.",
    )
    keys = (("s", "it has settled"), ("d", "a doctor or therapist has checked it"))
    return Words("On hold", lines, "not today", keys)


def paused_page(paused: Sequence[tuple[str, str]]) -> Words:
    """Return the question what to do with paused exercises: their names, and why they are paused."""
    lines = (
        "Paused and left out today:",
        "",
        *(f"  {name}: {why}" for name, why in paused),
        "",
        "Restore them only when the pain has settled or was checked.",
    )
    return Words("Left out", lines, "go on without", (("r", "restore them: settled or checked"),))


def early_page(warning: str, when: str, easy_day: str | None) -> Words:
    """Return the warning of a start too soon after the last hard session."""
    lines = (
        f"It is {warning}. The next hard session is due {when}.",
        "",
        "Strength comes with the recovery: more is not better.",
    )
    easy = (("y", f"do the easy day instead: {easy_day}"),) if easy_day else ()
    return Words("Too early", lines, "not today", (*easy, ("e", "start anyway; it is noted in the log")))
