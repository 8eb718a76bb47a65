"""Where a row on paper says otherwise than the set that is kept of it already."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from holdtimer.script.text import one_line, shown
from holdtimer.session.paper_row import PaperRow
from holdtimer.session.paper_rules import ROUNDED, Book, to_the_end
from holdtimer.session.past import PastSession
from holdtimer.session.results import SetResult

_SAID_AS_KEPT = (
    "attempt", "window_s", "late_tap_s", "tension_s", "reentries", "interrupted", "skipped",
    "effort", "form_broke", "pain",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """What the rows of one session say of it together: its end, and whether it was an off day."""

    ended: datetime | None
    off_day: bool | None


def day_of(rows: Iterable[PaperRow]) -> Day:
    """Return what the rows of one session say together: the latest end, an off day where one row says so."""
    rows = tuple(rows)
    ends = [row.ended for row in rows if row.ended is not None and not row.date_only]
    said = [row.off_day for row in rows if row.off_day is not None]
    return Day(max(ends, default=None), any(said) if said else None)


def otherwise(row: PaperRow, day: Day, session: PastSession, kept: SetResult, book: Book) -> list[str]:
    """Return the columns in which a row says otherwise than what is kept; an empty cell says nothing."""
    said: dict[str, tuple[object, object]] = {name: (getattr(row, name), getattr(kept, name))
                                              for name in _SAID_AS_KEPT}  # fmt: skip
    said |= {
        "band_low_s": (row.band_low_s, kept.band_s[0]),
        "band_high_s": (row.band_high_s, kept.band_s[1]),
        "rung": (_rung(row.rung, kept, book), _rung(kept.rung, kept, book)),
        "note": (shown(row.note) if row.note else None, shown(kept.note or "")),
    }
    columns = [*_outcome(row, kept), *(name for name, (new, old) in said.items() if _differs(new, old))]
    if row.stopped not in (None, kept.stopped) and not (row.stopped == "symptom" and session.symptom):
        columns.append("stopped")
    return [*columns, *_of_the_day(row, day, session)]


def _outcome(row: PaperRow, kept: SetResult) -> Iterable[str]:
    """Yield where the result itself differs: an empty cell says here that there was none."""
    in_doubt = kept.perhaps_slip is not None and row.first_failure_s is None
    if row.first_failure_s is None or kept.first_failure_s is None:
        if row.first_failure_s != kept.first_failure_s and not in_doubt:
            yield "first_failure_s"
    elif _differs(row.first_failure_s, kept.first_failure_s):
        yield "first_failure_s"
    to_end = to_the_end(row)
    if to_end != kept.ran_to_end:
        yield "ran_to_end"
    elif to_end and kept.confirmed != (row.confirmed is not False or row.late_tap_s is not None):
        yield "confirmed"


def _of_the_day(row: PaperRow, day: Day, session: PastSession) -> Iterable[str]:
    """Yield where the session differs, in a row that does not say of it what is kept."""
    if session.script and row.script not in (None, session.script):
        yield "script"
    if not row.date_only and row.ended not in (None, session.ended) and day.ended != session.ended:
        yield "ended"
    if row.off_day not in (None, session.off_day) and day.off_day != session.off_day:
        yield "off_day"


def _rung(name: str | None, kept: SetResult, book: Book) -> str | None:
    """Return a rung as it is called now, or as it is written where the program has it no more."""
    exercise = book.program.exercises.get(kept.exercise)
    known = book.rung(exercise, name) if exercise is not None else None
    return known or (None if name is None else shown(one_line(name)).casefold())


def _differs(new: object, old: object) -> bool:
    """Whether a cell that says something says another thing; seconds are the same to the millisecond."""
    if isinstance(new, float) and isinstance(old, float):
        return abs(new - old) > ROUNDED
    return new is not None and new != old
