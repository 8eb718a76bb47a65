"""Results that were kept on paper, written into files of their own, made like every other log."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from holdtimer import __version__
from holdtimer.errors import NotWrittenError
from holdtimer.log.clocks import take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.reader import SessionLog
from holdtimer.log.writer import LogWriter
from holdtimer.session.events import Anchor, AnyEvent, Closed, Opened
from holdtimer.session.paper import PaperSession


@dataclass(frozen=True, slots=True)
class Binder:
    """Where results on paper are kept: whose they are, and the program they were held against."""

    data: Path
    person: str
    program: str
    program_text: str

    def keep(self, sessions: Sequence[PaperSession], logs: Iterable[SessionLog]) -> None:
        """Write a file for each session, by the name of the one in `logs` it adds to.

        Raises NotWrittenError.
        """
        known = {log.session: log for log in logs}
        folder = session_folder(self.data, self.person)
        for index, session in enumerate(sessions):
            log = known.get(session.known or "")
            begun = self._begun(session) if log is None or log.opened is None else [log.opened]
            following = len(begun) if log is None else log.events[-1].n + 1
            events = [*begun, *_results(session, following)]
            _write(
                folder, events, f"{index} of {len(sessions)} sessions were kept, a second try adds the rest"
            )

    def _begun(self, session: PaperSession) -> list[AnyEvent]:
        reading = take_anchor()
        opened = Opened(
            n=0,
            t=0.0,
            kind="paper",
            session=new_session_id(session.started),
            person=self.person,
            program=self.program,
            script=session.script,
            program_text=self.program_text,
            mono_ns=reading.mono_ns,
            version=__version__,
        )
        return [opened, Anchor(n=1, t=0.0, why="opening", **reading._asdict())]


def _results(session: PaperSession, n: int) -> list[AnyEvent]:
    results: list[AnyEvent] = [
        each.model_copy(update={"n": number}) for number, each in enumerate(session.results, start=n)
    ]
    return [*results, Closed(n=n + len(results), t=0.0, reason="finished")]


def _write(folder: Path, events: Sequence[AnyEvent], so_far: str) -> None:
    opened = events[0]
    assert isinstance(opened, Opened)  # noqa: S101
    writer = LogWriter(folder, opened.session)
    for event in events:
        writer.append(event)
    if not writer.close():
        raise NotWrittenError(f"{writer.why_not_saved}: {so_far}")
