"""`show`, `next` and `trend`: what happened, what is due, and what changed over the weeks."""

import shlex
from argparse import Namespace
from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from textwrap import wrap
from typing import Any

from holdtimer.cli.output import print_json, print_lines, print_warnings
from holdtimer.cli.parser import moment
from holdtimer.cli.paths import data_folder, last_program, person_named
from holdtimer.errors import ExitCode, NoSuchSessionError
from holdtimer.log.clocks import local_now
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import find_session, last_session
from holdtimer.log.session_log import SessionLog
from holdtimer.program.loading import find, load
from holdtimer.program.models import Program
from holdtimer.report.session import NO_SESSION_JSON, program_of, session_report, titles_of
from holdtimer.report.text import due_lines, trend_lines
from holdtimer.session.summary import SessionSummary

COLUMNS = 80
NOTHING_DUE_JSON: dict[str, Any] = {
    "format": 1,
    "program": None,
    "script": None,
    "week": None,
    "ready": False,
    "hold": None,
    "earliest_start": None,
    "done_last_7_days": 0,
    "sets": [],
}


def show(args: Namespace) -> int:
    """Print one session, by its day or its id, the last when none is named. Raises NoSuchSessionError."""
    data = data_folder(args)
    person = person_named(args, data)
    log = _named_session(args, data, person)
    report = session_report(data, person, log) if log is not None else None
    print_warnings(log.damage if log is not None else ())
    if report is None:
        return _print(args, lambda: NO_SESSION_JSON, [f"no session of {person} yet"])
    return _print(args, report.to_json, report.lines())


def next(args: Namespace) -> int:  # noqa: A001 - the command's own name
    """Print what is due, of the last program when none is named. Raises BadInputError for a bad time."""
    from holdtimer.progression.due import due, due_to_json

    data = data_folder(args)
    person = person_named(args, data)
    program = _program(args, data, person)
    now = moment(args.at)
    past = read_summaries(data, person, rehearsals=True, until=_until(args, now))
    print_warnings(past.damage)
    if program is None:
        hint = "name a program: holdtimer next chair-and-counter"
        return _print(args, lambda: NOTHING_DUE_JSON, [f"no session of {person} yet; {hint}"])
    coming = due(program, past.sessions, now)
    return _print(args, lambda: due_to_json(coming), due_lines(coming, program))


def trend(args: Namespace) -> int:
    """Print the trend of a program, of the last one when none is named."""
    from holdtimer.progression.trend import Trend, trend, trend_to_json

    data = data_folder(args)
    person = person_named(args, data)
    program = _program(args, data, person)
    now = moment(args.at)
    past = read_summaries(data, person, until=_until(args, now))
    print_warnings(past.damage)
    if program is None:
        nothing = Trend(items=(), sides=(), kept=0, planned=0, since=None, left_out=())
        return _print(args, lambda: trend_to_json(nothing), [f"no session of {person} yet"])
    found = trend(program, past.sessions, now)
    return _print(args, lambda: trend_to_json(found), trend_lines(found, program))


def _until(args: Namespace, now: datetime) -> datetime | None:
    """Return after which moment nothing counts: with no `--at` there is none, the clock may be set back."""
    return now if args.at else None


def _program(args: Namespace, data: Path, person: str) -> Program | None:
    """Return the program that is named, else the last one: as its file is now, else as it was then."""
    if args.program:
        return load(find(args.program)).program
    last = last_program(data, person)
    if last is not None:
        return last.program
    log = last_session(data, person)
    return None if log is None or log.opened is None else program_of(log.opened.program_text, log.session)


# ---- which session


def _named_session(args: Namespace, data: Path, person: str) -> SessionLog | None:
    """Return the session of a day or with an id that begins so, the last one where none is named."""
    if not args.session:
        return last_session(data, person, rehearsals=True)
    day = day_of(args.session)
    if day is None:
        return find_session(data, person, args.session)
    past = [each for each in read_summaries(data, person, rehearsals=True).sessions if each.started]
    found = [each for each in past if each.started is not None and each.started.date() == day]
    if len(found) == 1:
        return find_session(data, person, found[0].session)
    if not found:
        raise NoSuchSessionError(f"no session of {person} on {_weekday(day)}{_nearest(past, day)}")
    lines = [f"{person} has {len(found)} sessions on {_weekday(day)}; show one of them:"]
    lines += [f"  {_typed(args, each, past)}   {_about(data, person, each)}" for each in found]
    raise NoSuchSessionError("\n".join(lines))


def day_of(text: str) -> date | None:
    """Return the local day that is meant: `today`, `yesterday` or an ISO date; None where it is none."""
    days_ago = {"today": 0, "yesterday": 1}.get(text.lower())
    if days_ago is not None:
        return local_now().date() - timedelta(days=days_ago)
    try:
        return date.fromisoformat(text) if "-" in text else None  # digits alone begin an id
    except ValueError:
        return None


def _weekday(day: date) -> str:
    return f"{day:%A} {day.isoformat()}"


def _nearest(past: Sequence[SessionSummary], day: date) -> str:
    """Return the end of a message: the days before and after it that have a session."""
    days = sorted({each.started.date() for each in past if each.started is not None})
    near = [each for each in days if each < day][-1:] + [each for each in days if each > day][:1]
    return f"; nearest: {' and '.join(map(_weekday, near))}" if near else ""


def _typed(args: Namespace, session: SessionSummary, past: Sequence[SessionSummary]) -> str:
    """Return a command that shows one session: the start of its id, to the minute or as far as is needed."""
    others = [each.session for each in past if each.session != session.session]
    size = len("20261122T1721")
    while any(other.startswith(session.session[:size]) for other in others):
        size += 1
    whose = [f"--{option}={getattr(args, option)}" for option in ("person", "data") if getattr(args, option)]
    return shlex.join(["holdtimer", "show", session.session[:size], *whose])


def _about(data: Path, person: str, session: SessionSummary) -> str:
    """Return when a session was and what it was, in a few words."""
    opened = find_session(data, person, session.session).opened
    script = session.script if opened is None else titles_of(opened).script
    at = "" if session.started is None or session.date_only else f"{session.started:%H:%M}  "
    kind = ", a rehearsal" if session.rehearsal else ", on paper" if session.on_paper else ""
    return f"{at}{script}{kind}"


# ---- how it is printed


def _print(args: Namespace, document: Callable[[], dict[str, Any]], lines: Iterable[str]) -> int:
    if args.json:
        print_json(document())
    else:
        print_lines(folded for line in lines for folded in _folded(line))
    return ExitCode.DONE


def _folded(line: str) -> list[str]:
    """Return a line cut to the width of a narrow terminal, what follows set in by two more."""
    indent = line[: len(line) - len(line.lstrip())]
    return wrap(line, COLUMNS, subsequent_indent=indent + "  ", break_on_hyphens=False) or [""]
