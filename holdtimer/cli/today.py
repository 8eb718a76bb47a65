"""The screens of bare `holdtimer`: who trains, what is due, and the way into the session."""

import os
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from holdtimer.cli.parser import build_parser
from holdtimer.cli.paths import (
    DEFAULT_PERSON,
    bundled_programs,
    data_folder,
    last_program,
    person_named,
    remembered,
    tests_due_too,
    usable_program,
)
from holdtimer.cli.run import ScreenFlow
from holdtimer.config import read_config
from holdtimer.errors import ExitCode
from holdtimer.live.preflight import early_question, hold_question, left_question
from holdtimer.log.clocks import local_now
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import persons, unfinished
from holdtimer.program.loading import Loaded, lasting_name
from holdtimer.progression.due import due
from holdtimer.report.due import due_page
from holdtimer.report.pages import NOT_TODAY, TAP, PageText, lost_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import ChoicePage, Page

_ANOTHER_PROGRAM, _ANOTHER_PERSON = "p", "w"


class Flow:
    """The person and the program, then what is due."""

    def __init__(self, args: Namespace) -> None:
        self._data = data_folder(args)
        self._named = person_named(args, self._data) if args.person else None
        self._session: ScreenFlow | None = None

    async def show(self, app: HoldtimerApp) -> int:
        """Ask who and what if not known, show what is due, run the session begun; return the exit code."""
        app.theme = read_config(self._named or DEFAULT_PERSON).values.theme
        person = self._named or await self._person(app)
        program = await self._program(app, person) if person is not None else None
        while person is not None and program is not None:
            own = read_config(person).values
            app.theme, app.settings = own.theme, own.keys
            page = self._page(person, program)
            answer = await app.push_screen_wait(Page(page))
            if answer == _ANOTHER_PERSON:
                person = await self._chosen_person(app) or person
                program = last_program(self._data, person) or program
            elif answer == _ANOTHER_PROGRAM:
                program = await self._chosen_program(app, program) or program
            elif answer == TAP and page.tap == NOT_TODAY:
                return ExitCode.STOPPED
            else:
                self._session = self._begun(person, program, page, answer)
                return await self._session.show(app)
        return ExitCode.STOPPED

    def finish(self, code: int) -> int:
        """Return the exit code once the terminal is given back: as the session that was begun ended."""
        return code if self._session is None else self._session.finish(code)

    async def _person(self, app: HoldtimerApp) -> str | None:
        known = list(persons(self._data))
        if len(known) <= 1:
            return known[0] if known else DEFAULT_PERSON
        return await self._chosen_person(app)

    async def _chosen_person(self, app: HoldtimerApp) -> str | None:
        known = list(persons(self._data))
        last = remembered(self._data).person
        marked = known.index(last) if last in known else 0
        chosen = await app.push_screen_wait(ChoicePage("Who trains?", known, marked))
        return None if chosen is None else known[chosen]

    async def _program(self, app: HoldtimerApp, person: str) -> Loaded | None:
        last = last_program(self._data, person)
        if last is not None:
            return last
        name = remembered(self._data).program
        if name is not None and usable_program(name) is None:
            await app.push_screen_wait(Page(lost_page(name, is_gone=not os.path.exists(name))))
        return await self._chosen_program(app)

    async def _chosen_program(self, app: HoldtimerApp, now: Loaded | None = None) -> Loaded | None:
        known = bundled_programs()
        if now is not None and now.program.id not in {each.program.id for each in known}:
            known.insert(0, now)
        titles, about = [each.program.title for each in known], [each.program.about or "" for each in known]
        chosen = await app.push_screen_wait(ChoicePage("Which program?", titles, about=about))
        return None if chosen is None else known[chosen]

    def _page(self, person: str, loaded: Loaded) -> PageText:
        now = local_now()
        past = read_summaries(self._data, person, rehearsals=True).sessions
        coming = due(loaded.program, past, now)
        keys = [(_ANOTHER_PROGRAM, "another program")]
        if len(persons(self._data)) > 1:
            keys.append((_ANOTHER_PERSON, "somebody else"))
        left = unfinished(self._data, person, now)
        page = left_question(left) if left is not None else None
        if page is None and coming.hold is not None:
            page = hold_question(self._data, past, coming, now)
        elif page is None and not coming.ready:
            page = early_question(loaded.program, coming)
        elif page is None:
            tests_too = tests_due_too(self._data, person, loaded.program, past, now)
            page = due_page(coming, loaded.program, person, tests_too)
            return replace(page, keys=tuple(keys))
        return replace(page, lines=(*page.lines, "", person), keys=(*page.keys, *keys))

    def _begun(self, person: str, program: Loaded, page: PageText, answer: str) -> ScreenFlow:
        """Return the session that `holdtimer run` would run, where this page is answered already."""
        from holdtimer.cli.run_screen import Flow as SessionFlow

        name = lasting_name(Path(program.name))
        args = build_parser().parse_args(["run", f"--person={person}", f"--data={self._data}", "--", name])
        return SessionFlow(args, {page.kind: answer} if page.kind is not None else {})
