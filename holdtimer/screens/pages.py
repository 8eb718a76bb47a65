"""The pages of words around a session."""

from holdtimer.report.pages import Words
from holdtimer.report.session_text import session_lines
from holdtimer.screens.page import Page
from holdtimer.script.timeline import Timeline
from holdtimer.session.past import past_session
from holdtimer.session.state import Session


def summary_page(session: Session, timeline: Timeline, is_written: bool) -> Page:
    """Return what came of a session, once its log is closed."""
    names = {part.exercise: part.name for part in timeline.sets}
    past = past_session(session)
    lines = tuple(session_lines(past, names)) if past is not None else ()
    kept = () if is_written else ("NOT ALL OF IT IS IN THE LOG. See the message after this screen.", "")
    return Page(Words("Done" if session.stopped is None else "Ended", kept + lines, "close"))
