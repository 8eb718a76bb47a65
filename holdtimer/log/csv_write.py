"""Sessions as a CSV file (RFC 4180): one row a set, corrections in force.

Two things have no column of their own. A very early failure that may be a slip of the key is no result yet:
its cell stays empty, and the re-entries beside it tell that there was one. A session that was stopped because
something felt wrong says so in its last row, or in the row of the set that was to come first. That it has
settled since is not told: whoever takes the file in is asked again.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import datetime

from holdtimer.log.csv_columns import COLUMNS, guarded
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

Cells = dict[str, str]


def csv_text(sessions: Iterable[SessionSummary]) -> str:
    """Return the file that holds these sessions, its header first."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, COLUMNS, restval="")
    writer.writeheader()
    for session in sessions:
        writer.writerows(_rows(session))
    return file.getvalue()


def is_placed(session: SessionSummary) -> bool:
    """Whether a session knows when it was; without that no row can be told from another."""
    return session.started is not None


def has_lost_its_stop(session: SessionSummary) -> bool:
    """Whether no row can tell that a session was stopped for a symptom: it names no set at all."""
    return session.symptom and not session.results and not session.planned


def _rows(session: SessionSummary) -> Iterator[Cells]:
    sets = [_set(result) for result in session.results] or _first_planned(session)
    if session.symptom and sets and not any(cells["stopped"] == "symptom" for cells in sets):
        sets[-1]["stopped"] = "symptom"
    for cells in sets:
        yield _day(session) | cells


def _first_planned(session: SessionSummary) -> list[Cells]:
    """Return the set a session would have begun with, where it was stopped for a symptom before any."""
    if not session.symptom or not session.planned:
        return []
    due = session.planned[0]
    named = {"exercise": guarded(due.exercise), "side": due.side, "rung": guarded(due.rung)}
    return [{"set": "1", "attempt": "1", **named, "ran_to_end": "false", "skipped": "true", "stopped": ""}]


def _day(session: SessionSummary) -> Cells:
    return {
        "started": _moment(session.started, session.date_only),
        "ended": "" if session.date_only or _is_set_back(session) else _moment(session.ended),
        "program": guarded(session.program),
        "script": guarded(session.script),
        "off_day": _flag(session.off_day),
    }


def _set(result: SetResult) -> Cells:
    in_doubt = result.perhaps_slip is not None
    began = not result.skipped or result.tension_s > 0
    return {
        "set": str(result.set),
        "attempt": str(result.attempt),
        "exercise": guarded(result.exercise),
        "side": result.side,
        "rung": guarded(result.rung),
        "window_s": _plain(result.window_s),
        "band_low_s": _plain(result.band_s[0]),
        "band_high_s": _plain(result.band_s[1]),
        "first_failure_s": "" if in_doubt else _stamped(result.first_failure_s),
        "ran_to_end": _flag(result.ran_to_end),
        "confirmed": _flag(result.confirmed),
        "late_tap_s": _stamped(result.late_tap_s),
        "tension_s": _stamped(result.tension_s if began else None),
        "reentries": "" if result.reentries is None else str(result.reentries),
        "interrupted": _flag(result.interrupted),
        "skipped": _flag(result.skipped),
        "stopped": result.stopped or "",
        "effort": "" if result.effort is None else str(result.effort),
        "form_broke": _flag(result.form_broke),
        "pain": _flag(result.pain),
        "note": guarded(result.note or ""),
    }


def _is_set_back(session: SessionSummary) -> bool:
    """Whether a clock that was set back made the end the earlier of the two: then it tells nothing."""
    return session.started is not None and session.ended is not None and session.ended < session.started


def _moment(moment: datetime | None, date_only: bool = False) -> str:
    if moment is None:
        return ""
    return moment.date().isoformat() if date_only else moment.isoformat("T", "milliseconds")


def _flag(value: bool | None) -> str:
    return "" if value is None else str(value).lower()


def _stamped(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds:.3f}"


def _plain(seconds: float) -> str:
    return f"{seconds:.4f}".rstrip("0").rstrip(".")
