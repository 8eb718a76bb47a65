"""One session as `show --json` gives it."""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

Verdicts = dict[int, tuple[str, str]]  # by set number: the verdict and its because

_INNER = ("kind", "final_s", "push_s", "reentry", "estimated", "perhaps_slip", "reentries")


def session_json(past: SessionSummary | None, verdicts: Verdicts | None = None) -> dict[str, Any]:
    """Return the document of format 1; an empty one where there is no session yet."""
    if past is None:
        return {"format": 1, "session": None, "sets": []}
    return {
        "format": 1,
        "session": past.session,
        "program": past.program,
        "script": past.script,
        "person": past.person,
        "started": iso(past.started),
        "ended": iso(past.ended),
        "complete": past.complete,
        "rehearsal": past.rehearsal,
        "off_day": past.off_day,
        "sets": [_set(result, (verdicts or {}).get(result.set)) for result in past.results],
    }


def iso(moment: datetime | None) -> str | None:
    """Return a time in ISO 8601 with its offset, to the millisecond."""
    return None if moment is None else moment.isoformat(timespec="milliseconds")


def _set(result: SetResult, verdict: tuple[str, str] | None) -> dict[str, Any]:
    fields = {name: value for name, value in asdict(result).items() if name not in _INNER}
    word, because = verdict or (None, None)
    return fields | {"verdict": word, "verdict_because": because}
