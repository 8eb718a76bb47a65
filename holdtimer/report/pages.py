"""The text of the pages around a session: what each says, what a tap does on it, and its other keys."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from holdtimer.report.table import Table
from holdtimer.report.text import CAUTIONS, ON_HOLD, STOP_SIGNS, WHEN_EMERGENCY
from holdtimer.session.words import CALL_FOR_HELP

TAP = "tap"
NOT_TODAY = "not today"
DOCTOR_FIRST = "After chest pain, fainting or trouble speaking, ask a doctor first."


class PageKind(Enum):
    """A question that is asked by the page of what is due too, and is not asked twice."""

    LEFT = "a session was left"
    HOLD = "something felt wrong"
    EARLY = "recovery is not over"


@dataclass(frozen=True, slots=True)
class PageText:
    """A page: headline, lines (an empty one starts a paragraph), what a tap does, and other keys.

    So many `urgent` lines at its beginning must be read at once and from afar. Where it `is_even` no line is
    set smaller than another, but for those. A `table` stands under the lines.
    """

    headline: str
    lines: tuple[str, ...]
    tap: str
    keys: tuple[tuple[str, str], ...] = ()
    urgent: int = 0
    is_even: bool = False
    kind: PageKind | None = None
    table: Table | None = None

    def key(self, name: str) -> str | None:
        """Return which of its keys was pressed, with Shift or Caps Lock too; None for any other."""
        return next((key for key, _ in self.keys if key == name.lower()), None)


def cautions_page() -> PageText:
    """Return the cautions before a program is run for the first time."""
    lines = (*CAUTIONS, "", "Stop at once if you notice:", *_signs(), "", *CALL_FOR_HELP)
    return PageText("Before you begin", lines, "I have read this", is_even=True)


def symptom_page() -> PageText:
    """Return when to call for help, and the stop signs."""
    calm, _, *later = CALL_FOR_HELP
    lines = (*WHEN_EMERGENCY, "", calm, *later, "", "Stop signs:", *_signs(), "", ON_HOLD)
    return PageText("Stop and rest", lines, "I have read this", urgent=len(WHEN_EMERGENCY), is_even=True)


def _signs() -> Sequence[str]:
    return [f"  {sign}" for sign in STOP_SIGNS]


def left_page(program: str, script: str, age_s: float) -> PageText:
    """Return the question what to do with a session, by its titles, that was left `age_s` seconds ago."""
    minutes = max(1, round(age_s / 60))
    lines = (f"You left it {minutes} min ago:", f"{program}: {script}", "", "Every stamp in it is saved.")
    keys = (("c", "close it and start a new one"),)
    return PageText("Go on?", lines, "go on with it", keys, kind=PageKind.LEFT)


def lost_page(name: str, is_gone: bool) -> PageText:
    """Return the notice that the program of last time, by its `name`, cannot be used any more."""
    if is_gone:
        advice = ("Moved or renamed? Start it once from where it is now:", "holdtimer run PATH")
        return PageText("Not found", ("Your last program is gone:", name, "", *advice), "choose another")
    advice = ("See what is wrong with it, line by line:", "holdtimer check PATH")
    return PageText("Not usable", ("Your last program has errors:", name, "", *advice), "choose another")


SETTLED, CHECKED, RESTORE, YES = "s", "d", "r", "y"
SETTLED_WORDS, CHECKED_WORDS = "it has settled", "a doctor or therapist has checked it"


def hold_page(stops: Sequence[str], is_today: bool) -> PageText:
    """Return the question whether a person on hold may go on; no tap releases it.

    `stops` say what was stopped and when; where that `is_today`, having settled is no answer yet.
    """
    checked = (CHECKED, CHECKED_WORDS)
    if is_today:
        advice = ("No more today, even if it has settled.", "Only a doctor or therapist can say otherwise.")
        return PageText("On hold", (*stops, "", *advice), NOT_TODAY, (checked,), kind=PageKind.HOLD)
    lines = (*stops, "", "Has it fully settled?", DOCTOR_FIRST)
    keys = ((SETTLED, SETTLED_WORDS), checked)
    return PageText("On hold", lines, NOT_TODAY, keys, kind=PageKind.HOLD)


def settled_page() -> PageText:
    """Return the page that confirms that what was stopped has settled."""
    lines = (DOCTOR_FIRST, "", "Is all of it gone?", *_signs())
    return PageText("Fully settled?", lines, NOT_TODAY, ((YES, "yes, all of it is gone"),), is_even=True)


def checked_page(stops: Sequence[str]) -> PageText:
    """Return the page that confirms that what was stopped was checked."""
    lines = ("Did they say that you may train hard again?", "", *stops)
    return PageText("Checked?", lines, NOT_TODAY, ((YES, "yes, I may train hard again"),))


def not_saved_page() -> PageText:
    """Return the notice that an answer could not be written down, so that nothing has changed."""
    lines = (
        "Your answer could not be saved, so nothing has changed.",
        "",
        "See to the disk, then try again.",
    )
    return PageText("Not saved", lines, NOT_TODAY)


def paused_page(paused: Sequence[tuple[str, str]]) -> PageText:
    """Return the question what to do with paused exercises: their names, and why they are paused."""
    lines = ("Paused and left out today:", "", *(f"  {name}: {why}" for name, why in paused))
    return PageText("Left out", lines, "go on without", ((RESTORE, "restore: settled or checked"),))


def restore_page(paused: Sequence[tuple[str, str]]) -> PageText:
    """Return the page that confirms that paused exercises are done again."""
    lines = (
        "Has the pain fully settled, or has a doctor or therapist checked it?",
        "",
        *(f"  {name}: {why}" for name, why in paused),
    )
    return PageText("Restore?", lines, "go on without", ((YES, "yes, restore: gone or checked"),))


EASY_DAY, START_ANYWAY = "y", "e"


def early_page(warning: str, when: str, easy_day: str | None, *, is_hard: bool = True) -> PageText:
    """Return the warning of a start too soon: after the last hard session, or after the last tests."""
    why = ("", "You get stronger while you recover.") if is_hard else ()
    lines = (f"{warning}.", f"The next one is due {when}.", *why)
    easy = ((EASY_DAY, f"do the easy day instead: {easy_day}"),) if easy_day else ()
    keys = (*easy, (START_ANYWAY, "start anyway; the log notes it"))
    return PageText("Not yet due", lines, NOT_TODAY, keys, kind=PageKind.EARLY)
