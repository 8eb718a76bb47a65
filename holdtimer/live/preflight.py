"""The questions before a session: pages, each answered by a tap or a key, whatever shows them."""

from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from holdtimer.errors import UnknownScriptError
from holdtimer.live.answers import AnswerBook
from holdtimer.live.setup import RESUME_WITHIN_S, Opening, RunRequest
from holdtimer.log.history import read_answered, read_summaries
from holdtimer.log.reader import Unfinished, find_session
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.due import Due, DueSet, due, was_run
from holdtimer.report import pages
from holdtimer.report.pages import TAP, PageText
from holdtimer.report.session import program_of, titles_of
from holdtimer.report.text import script_title, with_side
from holdtimer.session.summary import SessionSummary
from holdtimer.text import at_words

Ask = Callable[[PageText], Awaitable[str]]
"""Shows a page and returns its answer: `TAP` or one of its keys."""


async def preflight(request: RunRequest, now: datetime, ask: Ask) -> Opening | None:
    """Ask what needs an answer before the session, and return how it opens; None for not today."""
    left, loaded = request.resumable, request.loaded
    if left is not None and (loaded is None or await _resumes(left, ask)):
        opened = left.log.opened
        program = program_of(opened.program_text, opened.session) if opened is not None else None
        if program is None:
            return Opening(resumes=True)
        questions = _Questions(request, program, now, ask)
        return questions.resumed(left) if await questions.may_go_on() else None
    if loaded is None:
        return Opening()
    return await _Questions(request, loaded.program, now, ask).new_session()


async def _resumes(left: Unfinished, ask: Ask) -> bool:
    page = left_question(left)
    return page is not None and await ask(page) == TAP


def left_question(left: Unfinished) -> PageText | None:
    """Return the question what to do with a session that was left; None where it is too late."""
    opened = left.log.opened
    if left.age_s > RESUME_WITHIN_S or opened is None:
        return None
    titles = titles_of(opened)
    return pages.left_page(titles.program, titles.script, left.age_s)


def hold_question(data: Path, past: Iterable[SessionSummary], coming: Due, now: datetime) -> PageText:
    """Return the question whether a person on hold may go on, after their `past` sessions."""
    held = _Held.by(data, past, coming, now)
    return pages.hold_page(held.stops, held.is_today)


def early_question(program: Program, coming: Due) -> PageText:
    """Return the question whether to start too early: recovery is not over, or tests are not due yet."""
    easy_day = script_title(program, coming.easy_day) if coming.easy_day else None
    return pages.early_page(coming.warning or "", coming.when, easy_day, is_hard=coming.tests_from is None)


async def release_hold(data: Path, person: str, program: Program, now: datetime, ask: Ask) -> bool:
    """Ask in two steps whether what holds every program is gone or was checked; return whether it is free."""
    return await _Questions(RunRequest(data, person), program, now, ask).may_go_on()


async def restore(data: Path, person: str, program: Program, now: datetime, exercise: str, ask: Ask) -> bool:
    """Ask whether the pain that paused an exercise has settled or was checked; whether it is restored."""
    questions = _Questions(RunRequest(data, person), program, now, ask)
    return await questions.restore([each for each in questions.paused() if each.exercise == exercise])


@dataclass(frozen=True, slots=True)
class _Held:
    """What holds every program of a person: in words, and whether any of it was stopped on this day."""

    stops: tuple[str, ...]
    is_today: bool

    @classmethod
    def by(cls, data: Path, past: Iterable[SessionSummary], coming: Due, now: datetime) -> "_Held":
        stopped = [each for each in past if each.session in coming.held_by]
        words = tuple(_stop_words(data, each, now) for each in stopped)
        days = [each.astimezone(now.tzinfo).date() for each in map(_stopped_at, stopped) if each is not None]
        return cls(words, any(day >= now.date() for day in days))


def _stopped_at(session: SessionSummary) -> datetime | None:
    """Return when a session was stopped; on paper only its start is sure."""
    return session.started if session.on_paper else session.ended


def _stop_words(data: Path, session: SessionSummary, now: datetime) -> str:
    """Return what was stopped and when: "Legs was stopped today at 18:21 in set 2, wall sit, ..."."""
    opened, at = find_session(data, session.person, session.session).opened, _stopped_at(session)
    program = program_of(opened.program_text, session.session) if opened is not None else None
    title = titles_of(opened).script if opened is not None else session.script
    when = f" {at_words(at, now, has_time=not session.date_only)}" if at is not None else ""
    last = next((each for each in session.results if each.stopped == "symptom"), None)
    where = ""
    if last is not None:
        known = program.exercises.get(last.exercise) if program is not None else None
        where = f" in set {last.set}, {with_side(known.name if known else last.exercise, last.side)}"
    return f"{title} was stopped{when}{where}: something felt wrong."


class _Questions:
    """The questions before a session of a program."""

    def __init__(self, request: RunRequest, program: Program, now: datetime, ask: Ask) -> None:
        self._request, self._program, self._now, self._ask = request, program, now, ask
        self._past = self._read()

    async def new_session(self) -> Opening | None:
        """Ask in turn about cautions, a hold, pauses and recovery; None for not today."""
        done = [each for each in self._past if each.program == self._program.id and was_run(each)]
        if not done:
            await self._ask(pages.cautions_page())
        if self._request.is_rehearsal:
            return _opening(self._due(self._request.script))
        if not await self.may_go_on():
            return None
        coming = await self._without_pauses(self._due(self._request.script))
        is_early = not coming.ready and coming.warning is not None
        opening = await self._too_early(coming) if is_early else _opening(coming)
        has_trained = any(each.results and not each.rehearsal for each in done)
        return opening and replace(opening, tries_key=not has_trained)

    async def may_go_on(self) -> bool:
        """Ask whether what holds every program has settled or was checked; a rehearsal asks nothing."""
        coming = self._due(None)
        if self._request.is_rehearsal or coming.hold is None:
            return True
        answer = await self._released(coming)
        if answer is None:
            return False
        return await self._release([(session, None) for session in coming.held_by], answer)

    async def _released(self, coming: Due) -> str | None:
        """Ask in two steps whether what holds every program has settled or was checked; else None."""
        held = _Held.by(self._request.data, self._past, coming, self._now)
        answer = await self._ask(pages.hold_page(held.stops, held.is_today))
        if answer == TAP:
            return None
        is_checked = answer == pages.CHECKED
        page = pages.checked_page(held.stops) if is_checked else pages.settled_page()
        words = pages.CHECKED_WORDS if is_checked else pages.SETTLED_WORDS
        return words if await self._ask(page) == pages.YES else None

    async def _without_pauses(self, coming: Due) -> Due:
        """Ask whether to restore exercises that are paused because of pain."""
        paused = [each for each in coming.sets if each.outlook.verdict.paused]
        if not paused or await self._ask(pages.paused_page(self._reasons(paused))) != pages.RESTORE:
            return coming
        return self._due(self._request.script) if await self.restore(paused) else coming

    def paused(self) -> list[DueSet]:
        """Return what is paused in any script of the program."""
        due_sets = (each for script in self._program.scripts for each in self._due(script.id).sets)
        found = {(each.exercise, each.side): each for each in due_sets}
        return [each for each in found.values() if each.outlook.verdict.paused]

    def _reasons(self, paused: Iterable[DueSet]) -> list[tuple[str, str]]:
        names = self._program.exercises
        return [(with_side(names[s.exercise].name, s.side), s.outlook.verdict.because) for s in paused]

    async def restore(self, paused: Sequence[DueSet]) -> bool:
        """Ask the last time before these are done again, and write it down; return whether they are."""
        if not paused or await self._ask(pages.restore_page(self._reasons(paused))) != pages.YES:
            return False
        hurt = {(one.session, one.done.set) for each in paused for one in each.outlook.verdict.evidence}
        return await self._release(sorted(hurt), "restored: the pain is gone or was checked")

    async def _too_early(self, coming: Due) -> Opening | None:
        """Warn of a start before recovery is over."""
        answer = await self._ask(early_question(self._program, coming))
        if answer == TAP:
            return None
        if answer == pages.EASY_DAY:
            return _opening(self._due(coming.easy_day))
        return _opening(coming, early_h=round(coming.spacing.since_h or 0.0, 2))

    def resumed(self, left: Unfinished) -> Opening:
        """Return how a session that was left opens again: with last time's first failures from before it."""
        opened = left.log.opened
        earlier = [each for each in self._past if each.session != left.log.session]
        try:
            script = opened.script if opened is not None else None
            last = _last(due(self._program, earlier, self._now, script))
        except UnknownScriptError:
            last = {}
        return Opening(resumes=True, last=last)

    def _read(self) -> tuple[SessionSummary, ...]:
        return tuple(read_summaries(self._request.data, self._request.person, rehearsals=True).sessions)

    def _due(self, script: str | None) -> Due:
        return due(self._program, self._past, self._now, script)

    async def _release(self, found: Sequence[tuple[str, int | None]], answer: str) -> bool:
        """Write down that stops (no set) or sets that hurt have settled or been checked, and a note.

        Return whether all of it is in the log; where it is not, that is said, and nothing is released.
        """
        is_written = True
        for session, number in found:
            log, earlier = read_answered(self._request.data, self._request.person, session)
            if log is not None and log.opened is not None:
                book = AnswerBook(self._request.data, log.opened, earlier)
                book.say(field="released", value=True, set=number)
                book.say(field="note", value=answer)
                is_written &= book.close()
        self._past = self._read()
        if not is_written:
            await self._ask(pages.not_saved_page())
        return is_written


def _opening(coming: Due, early_h: float | None = None) -> Opening:
    return Opening(
        script=coming.script,
        rungs=coming.rungs,
        first_sides=coming.first_sides,
        without=frozenset((s.exercise, s.side) for s in coming.sets if s.outlook.verdict.paused),
        early_h=early_h,
        last=_last(coming),
        remarks=coming.new_series,
    )


def _last(coming: Due) -> dict[SetKey, float]:
    found: dict[SetKey, float] = {}
    for each in coming.sets:
        failed = each.outlook.last.failed_s if each.outlook.last is not None else None
        if failed is not None:
            found[each.exercise, each.side] = failed
    return found
