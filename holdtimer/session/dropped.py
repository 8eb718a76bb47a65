"""Presses that did not count: seen, not heard, and logged once a train with their count."""

from dataclasses import dataclass, replace

from holdtimer.session import events as ev
from holdtimer.session.recorder import Recorder


@dataclass(frozen=True, slots=True)
class Train:
    """A train of presses that did not count. Session times in seconds."""

    reason: ev.DropReason
    since: float
    last: float
    count: int = 1


class Drops:
    """Gathers dropped presses into trains."""

    def __init__(self, recorder: Recorder, silence_s: float) -> None:
        self.latest: Train | None = None
        self._recorder = recorder
        self._silence_s = silence_s
        self._open = False

    def add(self, reason: ev.DropReason, at: float) -> None:
        """Take a press that did not count."""
        self.flush(at)
        if self._open and self.latest is not None:
            first = self.latest.reason
            kept = first if reason == "guard" else reason
            self.latest = replace(
                self.latest, reason=kept, last=max(at, self.latest.last), count=self.latest.count + 1
            )
        else:
            self.latest = Train(reason, at, at)
        self._open = True

    def flush(self, now: float, is_over: bool = False) -> None:
        """Log the open train when it has fallen silent, or is over for another reason."""
        train = self.latest
        if (
            train is None
            or not self._open
            or not (is_over or ev.round_time(now - train.last) >= self._silence_s)
        ):
            return
        self._open = False
        since = ev.round_time(train.since)
        self._recorder.emit(ev.Dropped, train.last, reason=train.reason, count=train.count, since=since)
