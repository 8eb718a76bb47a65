"""Answers given after a session is closed: in a file of their own, made with the first of them."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from holdtimer import __version__
from holdtimer.log.anchors import take_anchor
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.writing import LogWriter
from holdtimer.session.events import Anchor, Answer, AnyEvent, Closed, Opened

CLOSE_WAIT_S = 3.0


class AnswerBook:
    """Writes what is said of one session; nothing is written until something is said."""

    def __init__(self, data: Path, session: Opened) -> None:
        self._data = data
        self._about = session
        self._writer: LogWriter | None = None
        self._id = ""
        self._n = 0
        self.answers: tuple[Answer, ...] = ()

    def say(self, **fields: Any) -> Answer:
        """Write down one answer (`field`, `value`, and `set` or `of`) and return it."""
        if self._writer is None:
            self._begin()
        answer = Answer(n=self._n, t=0.0, id=f"{self._id}:{self._n}", session=self._about.session, **fields)
        self._write(answer)
        self.answers += (answer,)
        return answer

    def close(self) -> bool:
        """Close the file; return whether all that was said is in it."""
        if self._writer is None:
            return True
        self._write(Closed(n=self._n, t=0.0, reason="finished"))
        return self._writer.close(CLOSE_WAIT_S)

    def _begin(self) -> None:
        self._id = new_session_id(datetime.now(UTC))
        folder = session_folder(self._data, self._about.person, rehearsal=self._about.speed != 1)
        self._writer = LogWriter(folder, self._id)
        reading = take_anchor()
        self._write(
            Opened(
                n=0,
                t=0.0,
                kind="answers",
                session=self._id,
                about=self._about.session,
                person=self._about.person,
                program=self._about.program,
                speed=self._about.speed,
                mono_ns=reading.mono_ns,
                version=__version__,
            )
        )
        self._write(Anchor(n=1, t=0.0, why="opening", **reading._asdict()))

    def _write(self, event: AnyEvent) -> None:
        if self._writer is not None:
            self._writer.append(event)
            self._n = event.n + 1
