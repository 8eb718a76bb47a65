"""One session with all that is told of it: its results, the verdicts after it, its exercises."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from holdtimer.progression.outlook import verdicts_after
from holdtimer.report.session_json import Verdicts
from holdtimer.report.session_text import session_lines
from holdtimer.report.verdict_text import by_set
from holdtimer.script.compiling import seconds_of
from holdtimer.script.faults import ProgramFaults
from holdtimer.script.loading import loads
from holdtimer.script.models import Program
from holdtimer.session.past import PastSession
from holdtimer.session.repetitions import Tempo


@dataclass(frozen=True, slots=True)
class Told:
    """A session as it is told; names and tempos are those of its own program."""

    session: PastSession
    verdicts: Verdicts
    names: dict[str, str]
    tempos: dict[str, Tempo] = field(default_factory=dict)

    def lines(self) -> Iterator[str]:
        """Yield it in words."""
        return session_lines(self.session, self.names, self.verdicts, self.tempos)


def tell(session: PastSession, past: Iterable[PastSession], program: Program | None) -> Told:
    """Return what is told of a session among the `past` ones; `program` as it was, None where it is lost."""
    if program is None:
        return Told(session, {}, {})
    names = {key: exercise.name for key, exercise in program.exercises.items()}
    return Told(session, by_set(session, verdicts_after(session, past, program)), names, _tempos(program))


def _tempos(program: Program) -> dict[str, Tempo]:
    tempos = {key: seconds_of(exercise.tempo) for key, exercise in program.exercises.items()}
    return {key: tempo for key, tempo in tempos.items() if tempo is not None}


def program_of(text: str, session: str) -> Program | None:
    """Return the program a log was opened with; None where its text can't be read any more."""
    try:
        return loads(text, session).program
    except ProgramFaults:
        return None
