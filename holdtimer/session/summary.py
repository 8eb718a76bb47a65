"""The summary of one session that a forecast rests on: when it was, what it was, the results of its sets."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, timezone
from itertools import islice

from holdtimer.errors import ProgramError
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.session.corrections import corrected, standing
from holdtimer.session.events import Anchor, Answer, DueRung, Opened, PaperResult
from holdtimer.session.results import (
    FunctionResult,
    SetResult,
    function_results,
    known_to_run,
    results_of,
    tension_s,
)
from holdtimer.session.state import Phase, Session, SetState

HARD_AFTER_S = 30.0  # a window open this long makes a session hard, failure or not


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """One session that happened.

    Times are aware, to the millisecond. `ended` is when its last event was; on paper, the end that was
    written down, the end of the day where only a date was (`date_only`), or None. `planned` is what was to be
    done when it opened, in order; where it was stopped for a symptom before any set and that was not noted,
    the first set its program has.
    """

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
    on_paper: bool = False
    date_only: bool = False
    planned: tuple[DueRung, ...] = ()
    tests: tuple[FunctionResult, ...] = ()
    restored: frozenset[int] = frozenset()  # the sets that hurt, and were later said to have settled
    is_early: bool = False  # it was started before recovery was over


def summarize(session: Session, later: Iterable[Answer] = ()) -> SessionSummary | None:
    """Return the summary of a session; None if its first line is missing."""
    if session.opened is None:
        return None
    later = tuple(later)
    truth = corrected(session, later)
    papers = [each.paper for each in session.sets if each.paper is not None]
    releases = [each for each in standing((*session.answers, *later)) if each.field == "released"]
    last = {each.set: each.value is True for each in releases}  # None: the session as a whole
    is_day = any(each.date_only for each in papers) or any(each.date_only for each in session.anchors)
    started, ended = _on_paper(papers) if papers else _by_anchors(session)
    if not papers and session.opened.kind == "paper":  # function tests, whose anchor says when they were
        ended = end_of_day(started) if started and is_day else None
    results = results_of(truth)
    symptom = _is_symptom(session) or any(each.stopped == "symptom" for each in results)
    is_hard = any(_is_hard(known_to_run(session, each)) for each in truth.sets)
    planned = session.opened.rungs
    return SessionSummary(
        session=session.opened.session,
        person=session.opened.person,
        program=session.opened.program,
        script=session.opened.script,
        started=started,
        ended=ended,
        complete=bool(papers) or (session.phase is Phase.CLOSED and session.finished == "finished"),
        rehearsal=session.is_rehearsal,
        off_day=truth.off_day,
        # in doubt it was hard: the lines of a whole set may be lost
        is_hard=is_hard or (session.has_gaps and bool(planned or results)),
        symptom=symptom,
        released=last.get(None, False),
        results=results,
        on_paper=session.opened.kind == "paper",
        date_only=is_day,
        planned=_first_set(session.opened) if symptom and not (results or planned) else planned,
        tests=function_results(session),
        restored=frozenset(number for number, is_true in last.items() if number is not None and is_true),
        is_early=session.opened.early_h is not None,
    )


def _is_symptom(session: Session) -> bool:
    """Whether something felt wrong; in doubt it did: a session closed as stopped whose stop is lost."""
    is_lost = session.has_gaps and session.finished == "stopped" and session.stopped is None
    return is_lost or session.stopped == "symptom"


def _first_set(opened: Opened) -> tuple[DueRung, ...]:
    """Return the first set of a session by its program, of any other script where its own has none."""
    try:
        program = loads(opened.program_text, opened.session).program
    except ProgramError:
        return ()
    scripts = sorted(program.scripts, key=lambda script: script.id != opened.script)
    sets = (each for script in scripts for each in compile_script(program, script.id).sets)
    return tuple(DueRung(exercise=s.exercise, side=s.side, rung=s.rung.name) for s in islice(sets, 1))


def wall_time(session: Session, t: float) -> datetime | None:
    """Return the wall time at session time `t` (s); None where no anchor fixes it.

    It derives from the last anchor at or before `t`, since only just before an anchor may the steady clock
    have stood still; before the first one from the first.
    """
    known = sorted((each for each in session.anchors if anchored(each)), key=lambda each: each.t)
    anchor = next((each for each in reversed(known) if each.t <= t), known[0] if known else None)
    moment = anchored(anchor) if anchor else None
    if anchor is None or moment is None or session.opened is None:
        return None
    try:
        return moment + timedelta(seconds=(t - anchor.t) / session.opened.speed)
    except (ArithmeticError, ValueError):  # not in a log of ours, but in a stranger's
        return None


def anchored(anchor: Anchor) -> datetime | None:
    """Return the wall time of an anchor, in the offset it was taken in; None where it cannot be read."""
    moment = _moment(anchor.wall)
    try:
        return moment and moment.astimezone(timezone(timedelta(seconds=anchor.offset_s)))
    except (ValueError, OverflowError):
        return None


def _moment(text: str | None) -> datetime | None:
    """Return a time in ISO 8601, in UTC where it names no offset; None where it cannot be read."""
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _by_anchors(session: Session) -> tuple[datetime | None, datetime | None]:
    start = session.opened.t if session.opened else 0.0
    return _to_the_ms(wall_time(session, start)), _to_the_ms(wall_time(session, session.t))


def _to_the_ms(moment: datetime | None) -> datetime | None:
    return moment and moment.replace(microsecond=moment.microsecond // 1000 * 1000)


def _on_paper(papers: list[PaperResult]) -> tuple[datetime | None, datetime | None]:
    started = [moment for paper in papers if (moment := _moment(paper.started))]
    ended = [moment for paper in papers if (moment := _moment(paper.ended))]
    days = [moment for paper in papers if paper.date_only and (moment := _moment(paper.started))]
    ended += map(end_of_day, days)
    return min(started, default=None), max(ended, default=None)


def end_of_day(day: datetime) -> datetime:
    """Return the midnight that a day ends with, in the offset of the time given."""
    return datetime.combine(day.date() + timedelta(days=1), time(), day.tzinfo)


def _is_hard(each: SetState) -> bool:
    """Whether the window of a set saw a failure or 30 s of time; who got back in had failed before.

    A row on paper that says neither how long nor that the set was skipped may have been hard, so it is.
    """
    if each.paper is not None:
        failed = each.paper.first_failure_s is not None or bool(each.paper.reentries)
        unknown = each.paper.tension_s is None and not (each.paper.ran_to_end or each.skipped)
        return failed or unknown or each.first_failure_s is not None or tension_s(each) >= HARD_AFTER_S
    return each.first_failure_s is not None or (each.ended_at or 0.0) >= HARD_AFTER_S
