"""One session with all that is told of it: its results, the verdicts after it, its exercises."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from holdtimer.program.compiling import seconds_of
from holdtimer.program.faults import ProgramFaults
from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.progression.forecast import verdicts_after, verdicts_in
from holdtimer.progression.history import History, Key, read_history
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.json import Verdicts
from holdtimer.report.text import by_set, session_lines
from holdtimer.session.results import Tempo
from holdtimer.session.summary import SessionSummary


@dataclass(frozen=True, slots=True)
class Told:
    """A session as it is told; names and tempos are those of its own program."""

    session: SessionSummary
    verdicts: Verdicts
    names: dict[str, str]
    tempos: dict[str, Tempo] = field(default_factory=dict)

    def lines(self) -> Iterator[str]:
        """Yield it in words."""
        return session_lines(self.session, self.names, self.verdicts, self.tempos)


def tell(session: SessionSummary, past: Iterable[SessionSummary], program: Program | None) -> Told:
    """Return what is told of a session among the `past` ones; `program` as it was, None where it is lost."""
    if program is None:
        return Told(session, {}, {})
    return _told(session, verdicts_after(session, past, program), program)


def tell_each(past: Iterable[SessionSummary], texts: Mapping[str, str]) -> Iterator[Told]:
    """Yield what is told of each of the `past` sessions; `texts` are their programs', by session.

    Each program and its history are read once, however long the log is.
    """
    past = tuple(past)
    read: dict[str, tuple[Program, History] | None] = {}
    for session in past:
        text = texts.get(session.session, "")
        if text not in read:
            program = program_of(text, session.session)
            read[text] = (program, read_history(program, past)) if program else None
        known = read[text]
        yield Told(session, {}, {}) if known is None else _from_history(session, *known)


def _from_history(session: SessionSummary, program: Program, history: History) -> Told:
    return _told(session, verdicts_in(history, session, program), program)


def _told(session: SessionSummary, verdicts: Mapping[Key, Verdict], program: Program) -> Told:
    names = {key: exercise.name for key, exercise in program.exercises.items()}
    return Told(session, by_set(session, verdicts), names, _tempos(program))


def _tempos(program: Program) -> dict[str, Tempo]:
    tempos = {key: seconds_of(exercise.tempo) for key, exercise in program.exercises.items()}
    return {key: tempo for key, tempo in tempos.items() if tempo is not None}


def program_of(text: str, session: str) -> Program | None:
    """Return the program a log was opened with; None where its text can't be read any more."""
    try:
        return loads(text, session).program
    except ProgramFaults:
        return None
