"""The pages of words around a session."""

from holdtimer.log.reading import Unfinished
from holdtimer.report.session_text import session_lines
from holdtimer.report.words import CALL_FOR_HELP, CAUTIONS, ON_HOLD, STOP_SIGNS
from holdtimer.screens.page import Page, Words
from holdtimer.script.timeline import Timeline
from holdtimer.session.past import past_session
from holdtimer.session.state import Session


def cautions_page() -> Page:
    """Return what is shown before a program is run for the first time."""
    lines = (*CAUTIONS, "", "Stop at once at:", *(f"  {sign}" for sign in STOP_SIGNS), "", *CALL_FOR_HELP)
    return Page(Words("Before you begin", lines, "I have read this"))


def left_page(left: Unfinished) -> Page:
    """Return the question what to do with a session that was left."""
    minutes = max(1, round(left.age_s / 60))
    opened = left.log.opened
    program = f"{opened.program}, script {opened.script}" if opened else ""
    lines = (f"A session was left {minutes} min ago:", program, "", "All that was stamped in it is kept.")
    return Page(Words("Go on?", lines, "go on with it", (("c", "close it and begin anew"),)))


def symptom_page() -> Page:
    """Return the stop signs and when to call for help."""
    lines = (*CALL_FOR_HELP, "", "Stop signs:", *(f"  {sign}" for sign in STOP_SIGNS), "", ON_HOLD)
    return Page(Words("Stop and rest", lines, "I have read this"))


def summary_page(session: Session, timeline: Timeline, is_written: bool) -> Page:
    """Return what came of a session, once its log is closed."""
    names = {part.exercise: part.name for part in timeline.sets}
    past = past_session(session)
    lines = tuple(session_lines(past, names)) if past is not None else ()
    kept = () if is_written else ("NOT ALL OF IT IS IN THE LOG. See the message after this screen.", "")
    return Page(Words("Done" if session.stopped is None else "Ended", kept + lines, "close"))
