"""Sessions as a CSV file (RFC 4180): one row a set, corrections in force.

Two things have no column of their own. A very early failure that may be a slip of the key is no result yet:
its cell stays empty, and the re-entries beside it show that there was one. A session that was stopped because
something felt wrong says so in its last row, or in the row of the set that was to come first. That it has
settled since is not in the file: whoever imports it is asked again.
"""

import csv
import io
from collections.abc import Iterable, Iterator

from holdtimer.log.csv_columns import COLUMNS, guarded
from holdtimer.session.summary import SessionSummary


def csv_text(sessions: Iterable[SessionSummary]) -> str:
    """Return the file that holds these sessions, its header first."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(COLUMNS), restval="")
    writer.writeheader()
    for session in sessions:
        writer.writerows(_rows(session))
    return file.getvalue()


def has_lost_its_stop(session: SessionSummary) -> bool:
    """Whether no row can show that a session was stopped for a symptom: it names no set at all."""
    return session.symptom and not session.results and not session.planned


def _rows(session: SessionSummary) -> Iterator[dict[str, str]]:
    set_columns = [column for column in COLUMNS.values() if not column.of_session]
    sets = [{each.name: each.write(result) for each in set_columns} for result in session.results]
    sets = sets or _first_planned(session)
    if session.symptom and sets and not any(cells["stopped"] == "symptom" for cells in sets):
        sets[-1]["stopped"] = "symptom"
    day = {each.name: each.write(session) for each in COLUMNS.values() if each.of_session}
    for cells in sets:
        yield day | cells


def _first_planned(session: SessionSummary) -> list[dict[str, str]]:
    """Return the set a session would have begun with, where it was stopped for a symptom before any."""
    if not session.symptom or not session.planned:
        return []
    due = session.planned[0]
    named = {"exercise": guarded(due.exercise), "side": due.side, "rung": guarded(due.rung)}
    return [{"set": "1", "attempt": "1", **named, "ran_to_end": "false", "skipped": "true", "stopped": ""}]
