"""A set as somebody wrote it down on paper: one row, read but not yet held against a program."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

from holdtimer.script.timeline import Side
from holdtimer.session.events import StopReason

StartKey = date | datetime  # the day where only that is known, else the instant in UTC


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One row. An empty cell is None; `started` and `ended` are aware, at midnight where `date_only`.

    `faults` tells by column what could not be read; such a cell is None too.
    """

    line: int
    faults: Mapping[str, str] = field(default_factory=dict)
    started: datetime | None = None
    date_only: bool = False
    ended: datetime | None = None
    ended_date_only: bool = False
    program: str | None = None
    script: str | None = None
    set: int | None = None
    attempt: int | None = None
    exercise: str | None = None
    side: Side | None = None
    rung: str | None = None
    window_s: float | None = None
    band_low_s: float | None = None
    band_high_s: float | None = None
    first_failure_s: float | None = None
    ran_to_end: bool | None = None
    confirmed: bool | None = None
    late_tap_s: float | None = None
    tension_s: float | None = None
    reentries: int | None = None
    interrupted: bool | None = None
    skipped: bool | None = None
    stopped: StopReason | None = None
    effort: int | None = None
    form_broke: bool | None = None
    pain: bool | None = None
    off_day: bool | None = None
    note: str | None = None

    @property
    def start_key(self) -> StartKey | None:
        """What tells one session from another."""
        return None if self.started is None else start_key(self.started, date_only=self.date_only)


def start_key(started: datetime, *, date_only: bool) -> StartKey:
    """Return what tells a session from others by its start."""
    return started.date() if date_only else started.astimezone(UTC)
