"""A session as the weeks see it: when it was, what it was, and the results of its sets."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

from holdtimer.session.corrections import corrected
from holdtimer.session.events import Anchor, Answer
from holdtimer.session.results import SetResult, results
from holdtimer.session.state import Phase, Session, SetState

HARD_AFTER_S = 30.0  # a window open this long makes a session hard, failure or not


@dataclass(frozen=True, slots=True)
class PastSession:
    """One session that happened. Times are aware; `ended` is when its last event was."""

    session: str
    person: str
    program: str
    script: str
    started: datetime | None
    ended: datetime | None
    complete: bool
    rehearsal: bool
    off_day: bool
    is_hard: bool
    symptom: bool  # stopped because something felt wrong
    released: bool  # and later said to have settled or been checked
    results: tuple[SetResult, ...]


def past_session(session: Session, later: Iterable[Answer] = ()) -> PastSession | None:
    """Return what the weeks need of a session; None when its first line is missing."""
    if session.opened is None:
        return None
    later = tuple(later)
    truth = corrected(session, later)
    return PastSession(
        session=session.opened.session,
        person=session.opened.person,
        program=session.opened.program,
        script=session.opened.script,
        started=wall_time(session, session.opened.t),
        ended=wall_time(session, session.t),
        complete=session.phase is Phase.CLOSED and session.finished == "finished",
        rehearsal=session.opened.speed != 1,
        off_day=truth.off_day,
        is_hard=any(_is_hard(session, each) for each in truth.sets),
        symptom=session.stopped == "symptom",
        released=any(answer.field == "released" and answer.value is True for answer in later),
        results=results(session, later),
    )


def wall_time(session: Session, t: float) -> datetime | None:
    """Return the wall time at session time `t` (s), from the nearest anchor; None where there is none."""
    anchor = min(session.anchors, key=lambda each: abs(each.t - t), default=None)
    if anchor is None or session.opened is None:
        return None
    return anchored(anchor) + timedelta(seconds=(t - anchor.t) / session.opened.speed)


def anchored(anchor: Anchor) -> datetime:
    """Return the wall time of an anchor, in the offset it was taken in."""
    moment = datetime.fromisoformat(anchor.wall)
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.astimezone(timezone(timedelta(seconds=anchor.offset_s)))


def _is_hard(session: Session, each: SetState) -> bool:
    if each.paper is not None:
        return not each.paper.skipped
    if each.opened_t is None:
        return False
    ended = each.ended_at if each.ended_at is not None else session.t - each.opened_t
    return each.first_failure_s is not None or ended >= HARD_AFTER_S
