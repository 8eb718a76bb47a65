"""The coming sessions as a calendar file, as in RFC 5545: it says nothing about health unless asked to.

A file that is imported again has to move what an earlier one brought. So a session keeps its `UID`, whatever
becomes known: it is made from the person, the program and its number among the hard sessions. `SEQUENCE`
rises whenever its time can have moved: with each file that the log has gained, since files are only ever
added, and with each day that passes without the session that was due. Both follow from the log alone.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

from holdtimer import __version__
from holdtimer.program.models import Program
from holdtimer.progression.due import ComingSession, Due
from holdtimer.report.text import script_title, with_side

_NAME = "-//holdtimer//"
BEGINNING = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:{_NAME}"
AHEAD = timedelta(weeks=4)
_MOST_DAYS = 20_000  # moved since the newest file of the log
_EARLIEST = "The earliest time that leaves enough rest after the session before. Later is fine."
_NO_TIME = "On hold: this session is off until you confirm in holdtimer that it has settled or was checked."


def calendar_text(
    coming: Sequence[ComingSession],
    program: Program,
    due: Due,
    *,
    of: str,
    files: int,
    now: datetime,
    has_details: bool = False,
) -> str:
    """Return the calendar of the sessions to come, called off where `due` is on hold.

    `of` names the person without saying who it is, the same on every machine; `files` is how many files
    their log has. With details it says what is to be done, and at which rungs as far as that is known.
    """
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", f"{_NAME}{__version__}//EN")
    calendar.add("method", "PUBLISH")
    for each in coming:
        event = Event()
        event.add("uid", str(uuid5(NAMESPACE_URL, f"holdtimer:{of}/{program.id}/{each.number}")))
        event.add("sequence", files * _MOST_DAYS + min(each.moved_days, _MOST_DAYS - 1))
        event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", each.start.astimezone(UTC))
        event.add("dtend", each.end.astimezone(UTC))
        event.add("status", "CANCELLED" if due.hold else "CONFIRMED")
        event.add("class", "PRIVATE")
        is_next = each is coming[0]
        event.add("summary", _title(each, program) if has_details else "Training")
        about = _sets(due, program) if has_details and is_next and not due.hold else []
        event.add("description", "\n".join([_NO_TIME if due.hold else _EARLIEST, *about]))
        calendar.add_component(event)
    content: bytes = calendar.to_ical(sorted=False)
    return content.decode()


def _title(coming: ComingSession, program: Program) -> str:
    return f"{program.title}: {script_title(program, coming.script)}"


def _sets(due: Due, program: Program) -> list[str]:
    """Return the sets that are due, each with its rung."""
    shown = [each for each in due.sets if not each.outlook.verdict.paused]
    names = [with_side(program.exercises[each.exercise].name, each.side) for each in shown]
    return [f"{name}: {each.rung}" for name, each in zip(names, shown, strict=True)]
