"""Times given on the command line."""

from datetime import datetime

from holdtimer.cli.faults import BadInput
from holdtimer.log.anchors import YEARS, local_now, local_zone


def moment(text: str | None) -> datetime:
    """Return the time `--at` names, in the local zone, which knows of clock changes; else now."""
    if text is None:
        return local_now()
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(f"--at {text}: not a time; write it like 2026-03-29T18:00+01:00") from None
    if found.year not in YEARS:
        raise BadInput(f"--at {text}: a year from {YEARS[0]} to {YEARS[-1]} is needed")
    zone = local_zone()
    return found.replace(tzinfo=zone) if found.tzinfo is None else found.astimezone(zone)
