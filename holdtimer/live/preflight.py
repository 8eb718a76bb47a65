"""What is asked before a session: pages of words, each answered by a tap or a key, whatever shows them."""

from collections.abc import Generator, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from holdtimer.live.answers import AnswerBook
from holdtimer.live.setup import RESUME_WITHIN_S, Key, Opening
from holdtimer.log.history import read_past
from holdtimer.log.reader import Unfinished, find_session
from holdtimer.program.compiling import UnknownScriptError
from holdtimer.program.faults import ProgramFaults
from holdtimer.program.loading import Loaded, loads
from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.progression.due import Due, due, was_led
from holdtimer.report.pages import TAP, Words, cautions_page, early_page, hold_page, left_page, paused_page


@dataclass(frozen=True, slots=True)
class Request:
    """What a run was asked for."""

    data: Path
    person: str
    loaded: Loaded | None  # None where only a session that was left matters
    script: str | None
    is_rehearsal: bool
    now: datetime
    left: Unfinished | None = None

    @property
    def program(self) -> Program:
        """The program asked for. Raises ValueError where none was."""
        if self.loaded is None:
            raise ValueError("no program was asked for")
        return self.loaded.program


Asking = Generator[Words, str, Opening | None]


def before_run(request: Request) -> Asking:
    """Yield each page that is needed, take its answer, and return how to open; None for not today."""
    if request.left is not None and (request.loaded is None or (yield from _goes_on(request.left))):
        return Opening(goes_on=True, last=_last_before(request, request.left))
    past = read_past(request.data, request.person, rehearsals=True).sessions
    if not any(each.program == request.program.id and was_led(each) for each in past):
        yield cautions_page()
    if request.is_rehearsal:
        return _opening(_due(request, request.script))
    coming = yield from _released(request)
    if coming is None:
        return None
    coming = yield from _restored(request, coming)
    return (yield from _in_time(request, coming))


def _goes_on(left: Unfinished) -> Generator[Words, str, bool]:
    if left.age_s > RESUME_WITHIN_S or left.log.opened is None:
        return False
    opened = left.log.opened
    return (yield left_page(opened.program, opened.script, left.age_s)) == TAP


def _due(request: Request, script: str | None) -> Due:
    past = read_past(request.data, request.person, rehearsals=True).sessions
    return due(request.program, past, request.now, script)


def _released(request: Request) -> Generator[Words, str, Due | None]:
    """Ask whether a program on hold may go on."""
    coming = _due(request, request.script)
    if coming.hold is None:
        return coming
    if (yield hold_page(coming.hold)) == TAP:
        return None
    _release(request, coming.held_by)
    return _due(request, request.script)


def _restored(request: Request, coming: Due) -> Generator[Words, str, Due]:
    """Ask what to do with exercises that are paused because of pain."""
    paused = [each for each in coming.sets if each.outlook.verdict.paused]
    if not paused:
        return coming
    named = [
        (_name(request.program, each.exercise, each.side), each.outlook.verdict.because) for each in paused
    ]
    if (yield paused_page(named)) == TAP:
        return coming
    _release(request, {result.session for each in paused for result in each.outlook.verdict.evidence})
    return _due(request, request.script)


def _in_time(request: Request, coming: Due) -> Asking:
    """Warn of a start before recovery is over."""
    if coming.ready or coming.spacing.warning is None:
        return _opening(coming)
    easy_day = next((s.title for s in request.program.scripts if s.id == coming.easy_day), None)
    answer = yield early_page(coming.spacing.warning, coming.when, easy_day)
    if answer == TAP:
        return None
    if answer == "y":
        return _opening(_due(request, coming.easy_day))
    return _opening(coming, early_h=round(coming.spacing.since_h or 0.0, 2))


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


def _last_before(request: Request, left: Unfinished) -> dict[Key, float]:
    """Return last time's first failures as they were before the session that was left."""
    opened = left.log.opened
    if opened is None:
        return {}
    try:
        program = loads(opened.program_text, left.log.session).program
        past = read_past(request.data, request.person, rehearsals=True).sessions
        earlier = [each for each in past if each.session != left.log.session]
        return _last(due(program, earlier, request.now, opened.script))
    except (ProgramFaults, UnknownScriptError):
        return {}


def _release(request: Request, sessions: Iterable[str]) -> None:
    """Write down that what stopped or hurt has settled or was checked."""
    for session in sessions:
        opened = find_session(request.data, request.person, session).opened
        if opened is not None:
            book = AnswerBook(request.data, opened)
            book.say(field="released", value=True)
            book.close()


def _name(program: Program, exercise: str, side: Side) -> str:
    name = program.exercises[exercise].name
    return name if side == "both" else f"{name}, {side}"
