"""Who trains today, what is due, and the way into the session."""

from argparse import Namespace
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.parser import build_parser
from holdtimer.cli.paths import DEFAULT_PERSON, data_folder, remembered
from holdtimer.cli.run import run
from holdtimer.config import read_config
from holdtimer.live.setup import RESUME_WITHIN_S
from holdtimer.log.clocks import local_now
from holdtimer.log.history import read_past
from holdtimer.log.reader import persons, unfinished
from holdtimer.paths import programs_folder
from holdtimer.program.faults import ProgramFaults
from holdtimer.program.loading import Loaded, find, lasting_name, load
from holdtimer.progression.due import due
from holdtimer.report.pages import TAP, Words, left_words, lost_page
from holdtimer.report.text import due_lines
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import ChoicePage, Page

_ANOTHER_PROGRAM, _ANOTHER_PERSON = "p", "w"


class Story:
    """What is settled before a session: the person and the program."""

    def __init__(self, args: Namespace) -> None:
        self._begun: Namespace | None = None
        self._args, self._data = args, data_folder(args)
        self._remembered = remembered(self._data)

    async def tell(self, app: HoldtimerApp) -> int:
        """Ask who and what, show what is due, and return the exit code."""
        app.theme = read_config(self._args.person or DEFAULT_PERSON).values.theme
        person = self._args.person or await self._person(app, asks=False)
        program = await self._program(app, asks=False)
        while person is not None and program is not None:
            answer = await app.push_screen_wait(Page(self._words(person, program)))
            if answer == TAP:
                self._begun = self._run(person, lasting_name(Path(program.name)))
                return exits.DONE
            if answer == _ANOTHER_PERSON:
                person = await self._person(app, asks=True) or person
            else:
                program = await self._program(app, asks=True) or program
        return exits.STOPPED

    def after(self, code: int) -> int:
        """Lead the session that was begun, once the screen is given back."""
        return code if self._begun is None else run(self._begun)

    async def _person(self, app: HoldtimerApp, asks: bool) -> str | None:
        known = list(persons(self._data))
        if len(known) <= 1 and not asks:
            return known[0] if known else DEFAULT_PERSON
        if not known:
            return DEFAULT_PERSON
        last = self._remembered.person
        marked = known.index(last) if last in known else 0
        chosen = await app.push_screen_wait(ChoicePage("Who trains?", known, marked))
        return None if chosen is None else known[chosen]

    async def _program(self, app: HoldtimerApp, asks: bool) -> Loaded | None:
        name = self._remembered.program
        last = _loaded(name)
        if last is not None and not asks:
            return last
        if last is None and name is not None and not asks:
            await app.push_screen_wait(Page(lost_page(name, is_gone=not Path(name).exists())))
        known = [each for path in sorted(programs_folder().glob("*.toml")) if (each := _loaded(path.stem))]
        if last is not None and last.program.id not in {each.program.id for each in known}:
            known.insert(0, last)
        titles, about = [each.program.title for each in known], [each.program.about or "" for each in known]
        chosen = await app.push_screen_wait(ChoicePage("Which program?", titles, about=about))
        return None if chosen is None else known[chosen]

    def _words(self, person: str, loaded: Loaded) -> Words:
        now = local_now()
        past = read_past(self._data, person, rehearsals=True, until=now).sessions
        coming = due(loaded.program, past, now)
        script = next((s.title for s in loaded.program.scripts if s.id == coming.script), coming.script)
        keys = [(_ANOTHER_PROGRAM, "another program")]
        if len(persons(self._data)) > 1:
            keys.append((_ANOTHER_PERSON, "somebody else"))
        lines = due_lines(coming, loaded.program)
        left = unfinished(self._data, person, now)
        if left is not None and left.age_s <= RESUME_WITHIN_S:
            told = f"{left_words(left.age_s)}: tap to go on or close it."
            return Words("Go on?", (told, "", person, *lines), "go on or close it", tuple(keys))
        headline = script if coming.ready else "Not yet due" if coming.hold is None else "On hold"
        return Words(headline, (person, *lines), "begin", tuple(keys))

    def _run(self, person: str, program: str) -> Namespace:
        """Return what `holdtimer run` would be asked for, so that nothing it needs is forgotten here."""
        return build_parser().parse_args(["run", f"--person={person}", f"--data={self._data}", "--", program])


def _loaded(name: str | None) -> Loaded | None:
    """Return a program by name, None where it is gone or has faults."""
    if name is None:
        return None
    try:
        return load(find(name))
    except ProgramFaults:
        return None
