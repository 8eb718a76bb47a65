"""The questions before a session: pages, each answered by a tap or a key, whatever shows them."""

from collections.abc import Awaitable, Callable, Iterable
from datetime import datetime

from holdtimer.errors import ProgramError, UnknownScriptError
from holdtimer.live.answers import AnswerBook
from holdtimer.live.setup import RESUME_WITHIN_S, Key, Opening, RunRequest
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import Unfinished, find_session
from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.progression.due import Due, due, was_led
from holdtimer.report.pages import (
    TAP,
    PageText,
    cautions_page,
    early_page,
    hold_page,
    left_page,
    paused_page,
)
from holdtimer.report.session import titles_of
from holdtimer.report.text import with_side

Ask = Callable[[PageText], Awaitable[str]]
"""Shows a page and returns its answer: `TAP` or one of its keys."""


async def preflight(request: RunRequest, now: datetime, ask: Ask) -> Opening | None:
    """Ask what needs an answer before the session, and return how it opens; None for not today."""
    left, loaded = request.resumable, request.loaded
    if left is not None and (loaded is None or await _resumes(left, ask)):
        return Opening(resumes=True, last=_last_before(request, left, now))
    if loaded is None:
        return Opening()
    return await _Questions(request, loaded.program, now, ask).new_session()


async def _resumes(left: Unfinished, ask: Ask) -> bool:
    opened = left.log.opened
    if left.age_s > RESUME_WITHIN_S or opened is None:
        return False
    titles = titles_of(opened)
    return await ask(left_page(titles.program, titles.script, left.age_s)) == TAP


class _Questions:
    """The questions before a new session of a program."""

    def __init__(self, request: RunRequest, program: Program, now: datetime, ask: Ask) -> None:
        self._request, self._program, self._now, self._ask = request, program, now, ask

    async def new_session(self) -> Opening | None:
        """Ask in turn about cautions, a hold, pauses and recovery; None for not today."""
        past = read_summaries(self._request.data, self._request.person, rehearsals=True).sessions
        if not any(each.program == self._program.id and was_led(each) for each in past):
            await self._ask(cautions_page())
        coming = self._due(self._request.script)
        if self._request.is_rehearsal:
            return _opening(coming)
        if coming.hold is not None:
            if await self._ask(hold_page(coming.hold)) == TAP:
                return None
            self._release(coming.held_by)
            coming = self._due(self._request.script)
        coming = await self._without_pauses(coming)
        if coming.ready or coming.spacing.warning is None:
            return _opening(coming)
        return await self._too_early(coming, coming.spacing.warning)

    async def _without_pauses(self, coming: Due) -> Due:
        """Ask whether to restore exercises that are paused because of pain."""
        paused = [each for each in coming.sets if each.outlook.verdict.paused]
        names = self._program.exercises
        reasons = [(with_side(names[s.exercise].name, s.side), s.outlook.verdict.because) for s in paused]
        if not paused or await self._ask(paused_page(reasons)) == TAP:
            return coming
        self._release({result.session for each in paused for result in each.outlook.verdict.evidence})
        return self._due(self._request.script)

    async def _too_early(self, coming: Due, warning: str) -> Opening | None:
        """Warn of a start before recovery is over."""
        easy_day = next((s.title for s in self._program.scripts if s.id == coming.easy_day), None)
        answer = await self._ask(early_page(warning, coming.when, easy_day))
        if answer == TAP:
            return None
        if answer == "y":
            return _opening(self._due(coming.easy_day))
        return _opening(coming, early_h=round(coming.spacing.since_h or 0.0, 2))

    def _due(self, script: str | None) -> Due:
        past = read_summaries(self._request.data, self._request.person, rehearsals=True).sessions
        return due(self._program, past, self._now, script)

    def _release(self, sessions: Iterable[str]) -> None:
        """Write down that what stopped or hurt has settled or been checked."""
        for session in sessions:
            opened = find_session(self._request.data, self._request.person, session).opened
            if opened is not None:
                book = AnswerBook(self._request.data, opened)
                book.say(field="released", value=True)
                book.close()


def _opening(coming: Due, early_h: float | None = None) -> Opening:
    return Opening(
        script=coming.script,
        rungs=coming.rungs,
        first_sides=coming.first_sides,
        without=frozenset((s.exercise, s.side) for s in coming.sets if s.outlook.verdict.paused),
        early_h=early_h,
        last=_last(coming),
    )


def _last(coming: Due) -> dict[Key, float]:
    found: dict[Key, float] = {}
    for each in coming.sets:
        failed = each.outlook.last.failed_s if each.outlook.last is not None else None
        if failed is not None:
            found[each.exercise, each.side] = failed
    return found


def _last_before(request: RunRequest, left: Unfinished, now: datetime) -> dict[Key, float]:
    """Return last time's first failures as they were before the session that was left."""
    opened = left.log.opened
    if opened is None:
        return {}
    try:
        program = loads(opened.program_text, left.log.session).program
        past = read_summaries(request.data, request.person, rehearsals=True).sessions
        earlier = [each for each in past if each.session != left.log.session]
        return _last(due(program, earlier, now, opened.script))
    except (ProgramError, UnknownScriptError):
        return {}
