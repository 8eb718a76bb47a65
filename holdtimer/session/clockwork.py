"""What time alone brings about: parts begin, windows open and close, rests follow."""

from holdtimer.program.timeline import Easy, PlannedSet
from holdtimer.session import events as ev
from holdtimer.session.recorder import Recorder, before, within
from holdtimer.session.rules import Boundary, Due, next_boundary
from holdtimer.session.state import Session


class Clockwork:
    """Lets boundaries happen, each at the time it was due."""

    def __init__(self, recorder: Recorder) -> None:
        self._recorder = recorder

    def settle(self, until: float) -> None:
        """Let every boundary that was due by then happen."""
        recorder = self._recorder
        while recorder.is_live:
            boundary = next_boundary(recorder.session, recorder.part(), recorder.heard_at)
            if boundary is None or boundary.due > until:
                return
            self._cross(boundary)

    def rest(self, t: float) -> None:
        """Rest before the part the session now stands before, counted from the end of the last window."""
        part, ended = self._recorder.part(), last_ended(self._recorder.session)
        if part is not None:
            seconds = 0.0 if ended is None else max(0.0, ended + part.rest_s - t)
            self._recorder.emit(ev.Rest, t, part=part.part, seconds=ev.round_time(seconds))

    def after_easy(self, t: float) -> None:
        """Go on after easy movement, done or skipped: rest before what follows."""
        recorder = self._recorder
        index = recorder.session.part + 1
        following = recorder.timeline.parts[index] if index < recorder.parts else None
        recorder.emit(ev.Rest, t, part=index, seconds=following.rest_s if following else 0.0)

    def interrupt(self, why: str, last_known: float, now: float) -> None:
        """End an open window that was broken off; it is known to have run until `last_known`."""
        current = self._recorder.session.open_set
        if current is not None:
            at = min(within(current, last_known)["at"], current.closes_at)
            self._recorder.emit(ev.Interrupted, now, **within(current, now) | {"at": at}, why=why)
            self.rest(now)

    def _cross(self, boundary: Boundary) -> None:
        emit, due, current = self._recorder.emit, boundary.due, self._recorder.session.open_set
        match boundary.what:
            case Due.NEXT_PART:
                self._begin_part(due)
            case Due.EASY_OVER:
                self.after_easy(due)
            case Due.WINDOW_OPENS:
                self._open_window(due)
            case Due.SILENCE:
                emit(ev.Left, due, reason="silence")
            case Due.BAND if current:
                emit(ev.Band, due, **within(current, due))
            case Due.FINAL_STRETCH if current:
                emit(ev.FinalStretch, due, **within(current, due))
            case Due.WINDOW_CLOSES if current:
                emit(ev.WindowClosed, due, **within(current, due))
                self.rest(due)

    def _begin_part(self, t: float) -> None:
        part = self._recorder.part()
        if isinstance(part, Easy):
            self._recorder.emit(ev.EasyBegun, t, part=part.part, title=part.title, seconds=part.seconds)
        elif part is not None:
            self._recorder.emit(ev.CountIn, t, **before(part), part=part.part, seconds=part.count_in_s)

    def _open_window(self, t: float) -> None:
        part = self._recorder.part()
        if isinstance(part, PlannedSet):
            self._recorder.emit(ev.WindowOpen, t, **before(part) | self._recorder.target(part))


def last_ended(session: Session) -> float | None:
    """Return when the last window ended (session time, s); None before the first."""
    ends = [each.opened_t + (each.ended_at or 0.0) for each in session.sets if each.opened_t is not None]
    return ev.round_time(max(ends)) if ends else None
