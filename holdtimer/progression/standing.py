"""Where one exercise on one side stands: all that the verdict on it depends on."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property

from holdtimer.progression.history import Result, Stop


@dataclass(frozen=True)
class Standing:
    """All a verdict depends on: results (oldest first, those that don't count among them), stops, the ladder.

    `rungs` is how many there are, `start` the place of the first one to be done; `now` is aware.
    """

    results: tuple[Result, ...]
    stops: tuple[Stop, ...]
    rungs: int
    start: int
    now: datetime

    @cached_property
    def counted(self) -> tuple[Result, ...]:
        """The results that count."""
        return tuple(each for each in self.results if each.counted)

    @property
    def newest(self) -> Result | None:
        """The newest result that counts; its rung is the present one."""
        return next((each for each in reversed(self.results) if each.counted), None)

    @property
    def present(self) -> int:
        """The present rung, or where to start."""
        return self.newest.rung if self.newest else self.start

    @property
    def before(self) -> Result | None:
        """The counted result before the newest, where it was at the present rung too: in a row with it."""
        last = self.counted[-2:]
        return last[0] if len(last) == 2 and last[0].rung == last[1].rung else None

    def since(self, moment: datetime) -> timedelta:
        """Return the time that has really passed since `moment`."""
        return self.now.astimezone(UTC) - moment.astimezone(UTC)
