"""Results that were kept on paper, written into files of their own, made like every other log."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from holdtimer import __version__
from holdtimer.errors import NotWrittenError
from holdtimer.log.clocks import take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.session_log import SessionLog
from holdtimer.log.writer import LogWriter
from holdtimer.program.loading import Loaded
from holdtimer.session.events import Anchor, AnyEvent, Closed, Opened
from holdtimer.session.paper import PaperSession


def keep_paper_sessions(
    data: Path, person: str, loaded: Loaded, sessions: Sequence[PaperSession], logs: Iterable[SessionLog]
) -> None:
    """Write a file for each session, named after the one in `logs` it adds to. Raises NotWrittenError.

    `loaded` is the program the rows were checked against.
    """
    known = {log.session: log for log in logs}
    for index, session in enumerate(sessions):
        log = known.get(session.known or "")
        opened = (log.opened if log else None) or _opened(person, loaded, session)
        begun: list[AnyEvent] = [opened]
        if log is None or log.opened is None:
            begun.append(Anchor(n=1, t=0.0, why="opening", **take_anchor()._asdict()))
        first = log.end + 1 if log else len(begun)
        results = [each.model_copy(update={"n": n}) for n, each in enumerate(session.results, start=first)]
        writer = LogWriter(session_folder(data, person), opened.session)
        for event in (*begun, *results, Closed(n=first + len(results), t=0.0, reason="finished")):
            writer.append(event)
        if not writer.close():
            kept = f"{index} of {len(sessions)} sessions were kept; import the file again to add the rest"
            raise NotWrittenError(f"{writer.why_not_saved}: {kept}")


def _opened(person: str, loaded: Loaded, session: PaperSession) -> Opened:
    return Opened(
        n=0,
        t=0.0,
        kind="paper",
        session=new_session_id(session.started),
        person=person,
        program=loaded.program.id,
        script=session.script,
        program_text=loaded.text,
        mono_ns=take_anchor().mono_ns,
        version=__version__,
    )
