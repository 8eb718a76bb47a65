"""`show`, `next` and `trend`: what happened, what is due, and what changed over the weeks."""

from argparse import Namespace
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from holdtimer.cli.output import print_json, print_lines, print_warnings
from holdtimer.cli.parser import moment
from holdtimer.cli.paths import data_folder, person_named, remembered, usable_program
from holdtimer.errors import ExitCode
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import find_session, last_session
from holdtimer.program.loading import find, load
from holdtimer.program.models import Program
from holdtimer.report.session import NO_SESSION_JSON, program_of, session_report
from holdtimer.report.text import due_lines, trend_lines


def show(args: Namespace) -> int:
    """Print one session, the last when none is named. Raises NoSuchSessionError."""
    data = data_folder(args)
    person = person_named(args, data)
    named = args.session
    log = find_session(data, person, named) if named else last_session(data, person, rehearsals=True)
    report = session_report(data, person, log) if log is not None else None
    print_warnings(log.damage if log is not None else ())
    if report is None:
        return _print(args, lambda: NO_SESSION_JSON, [f"no session of {person} yet"])
    return _print(args, report.to_json, report.lines())


def next(args: Namespace) -> int:  # noqa: A001 - the command's own name
    """Print what is due. Raises BadInputError for an unreadable time."""
    from holdtimer.progression.due import due, due_to_json

    program = load(find(args.program)).program
    data = data_folder(args)
    now = moment(args.at)
    past = read_summaries(data, person_named(args, data), rehearsals=True, until=now)
    print_warnings(past.damage)
    coming = due(program, past.sessions, now)
    return _print(args, lambda: due_to_json(coming), due_lines(coming, program))


def trend(args: Namespace) -> int:
    """Print the trend of a program, of the last one trained with when none is named."""
    from holdtimer.progression.trend import Trend, trend, trend_to_json

    data = data_folder(args)
    person = person_named(args, data)
    program = load(find(args.program)).program if args.program else _last_program(data, person)
    now = moment(args.at)
    past = read_summaries(data, person, until=now)
    print_warnings(past.damage)
    if program is None:
        nothing = Trend(items=(), sides=(), kept=0, planned=0, since=None, left_out=())
        return _print(args, lambda: trend_to_json(nothing), [f"no session of {person} yet"])
    found = trend(program, past.sessions, now)
    return _print(args, lambda: trend_to_json(found), trend_lines(found, program))


def _print(args: Namespace, document: Callable[[], dict[str, Any]], lines: Iterable[str]) -> int:
    if args.json:
        print_json(document())
    else:
        print_lines(lines)
    return ExitCode.DONE


def _last_program(data: Path, person: str) -> Program | None:
    """Return the program of the last session: as its file is now, else as it was then."""
    log = last_session(data, person)
    if log is None or log.opened is None:
        return None
    now = usable_program(remembered(data).program)
    if now is not None and now.program.id == log.opened.program:
        return now.program
    return program_of(log.opened.program_text, log.session)
