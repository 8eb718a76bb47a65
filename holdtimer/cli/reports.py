"""`show`, `log`, `next`, `trend`, `review`: what happened, what is due, what changed over the weeks."""

import shlex
from argparse import Namespace
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Literal

from holdtimer.cli.output import needs_screen, print_blocks, print_json, print_warnings
from holdtimer.cli.parser import moment, until_named
from holdtimer.cli.paths import (
    bundled_programs,
    data_folder,
    last_program,
    person_named,
    program_named,
    tests_due_too,
    waiting_elsewhere,
)
from holdtimer.config import read_config
from holdtimer.errors import BadInputError, ExitCode, NoSuchSessionError
from holdtimer.log.clocks import local_now
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import find_session, last_session, openings, persons
from holdtimer.log.session_log import SessionLog
from holdtimer.program.models import Program
from holdtimer.report.log import log_blocks, log_to_json, names_to_type, newest_first
from holdtimer.report.session import NO_SESSION_JSON, session_report, titles_of
from holdtimer.report.table import Block, Words
from holdtimer.report.text import Titles
from holdtimer.session.summary import SessionSummary
from holdtimer.text import nearest

LISTED = 20  # sessions, unless all are asked for


def show(args: Namespace) -> int:
    """Print one session, by its day or its id, the last when none is named. Raises NoSuchSessionError."""
    data = data_folder(args)
    person = person_named(args, data)
    log = named_session(args, data, person)
    report = session_report(data, person, log) if log is not None else None
    print_warnings(log.damage if log is not None else ())
    if report is None:
        return _print(args, lambda: NO_SESSION_JSON, [_nothing_of(person, data)])
    return _print(args, report.to_json, report.blocks())


def _nothing_of(person: str, data: Path, hint: str = "") -> Words:
    """Return that nobody of this name has trained yet: with the name that may be meant, else with a hint."""
    close = nearest(person, persons(data))
    return Words(f"no session of {person} yet" + (f'; did you mean "{close}"?' if close else hint))


def log(args: Namespace) -> int:
    """List the sessions of a person, newest first: the last ones, or all."""
    data = data_folder(args)
    person = person_named(args, data)
    read = read_summaries(data, person, rehearsals=True)
    print_warnings(read.damage)
    past = newest_first(read.sessions)
    if args.json:
        print_json(log_to_json(person, past))
    elif not past:
        print_blocks([_nothing_of(person, data)])
    else:
        shown = past if args.all else past[:LISTED]
        print_blocks(log_blocks(past, shown, _titles(data, person, shown), _typed(args, past[0], past)))
        if len(shown) < len(past):
            print_blocks([Words(f"and {len(past) - len(shown)} older: holdtimer log --all")])
    return ExitCode.DONE


def _titles(data: Path, person: str, sessions: Sequence[SessionSummary]) -> dict[str, Titles]:
    """Return the titles of each session, those in its program as it was."""
    opened = openings(data, person, {each.session for each in sessions})
    different = {(each.program_text, each.script): each for each in opened.values()}
    known = {key: titles_of(each) for key, each in different.items()}  # most have the same program
    return {
        each.session: known[opened[each.session].program_text, opened[each.session].script]
        if each.session in opened
        else Titles(each.program, each.script)
        for each in sessions
    }


def show_next(args: Namespace) -> int:
    """Print what is due, of the last program when none is named. Raises BadInputError for a bad time."""
    from holdtimer.progression.due import due
    from holdtimer.report.due import NOTHING_DUE_JSON, due_blocks, due_to_json

    data = data_folder(args)
    person = person_named(args, data)
    program = program_named(args, data, person)
    now = moment(args.at)
    past = read_summaries(data, person, rehearsals=True, until=until_named(args, now))
    print_warnings([*past.damage, *waiting_elsewhere(data, person)])
    if program is None:
        hint = "name a program: holdtimer next chair-and-counter"
        yet = Words(f"{person} has not trained yet; {hint}")
        told = yet if past.sessions else _nothing_of(person, data, f"; {hint}")
        return _print(args, lambda: NOTHING_DUE_JSON, [told])
    coming = due(program, past.sessions, now)
    tests_too = tests_due_too(data, person, program, past.sessions, now)
    return _print(args, lambda: due_to_json(coming), due_blocks(coming, program, tests_too))


def trend(args: Namespace) -> int:
    """Print the trend of a program, of the last one when none is named."""
    from holdtimer.progression.function import function_days, function_trends
    from holdtimer.progression.trend import Trend, trend
    from holdtimer.report.function import function_blocks, function_to_json
    from holdtimer.report.trend import strength_of, trend_blocks, trend_to_json

    data = data_folder(args)
    person = person_named(args, data)
    program = program_named(args, data, person)
    now = moment(args.at)
    past = read_summaries(data, person, until=until_named(args, now))
    print_warnings(past.damage)
    group = read_config(person).values.function_group
    tested = function_trends(function_days(past.sessions), group)
    if program is None:
        found = Trend(items=(), sides=(), kept=0, planned=0, since=None, left_out=())
        above: Iterable[Block] = () if tested else [_nothing_of(person, data)]
    else:
        found = trend(program, past.sessions, now)
        above = trend_blocks(found, program)
    document = trend_to_json(found) | {"function": [function_to_json(each, group) for each in tested]}
    tests = function_blocks(tested, group, strength_of(found), _of_age(args))
    return _print(args, lambda: document, (*above, *tests))


def _of_age(args: Namespace) -> tuple[Literal["female", "male"], int] | None:
    """Return the sex and age whose figures are asked for. Raises BadInputError where one is missing."""
    if not args.norms:
        return None
    if args.age is None or args.sex is None:
        raise BadInputError("the figures of healthy people differ by age and sex; add --age and --sex")
    return args.sex, args.age


# ---- which session


def named_session(args: Namespace, data: Path, person: str) -> SessionLog | None:
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
    """Return a command that shows one session."""
    whose = [f"--{option}={getattr(args, option)}" for option in ("person", "data") if getattr(args, option)]
    return shlex.join(["holdtimer", "show", names_to_type(past)[session.session], *whose])


def _about(data: Path, person: str, session: SessionSummary) -> str:
    """Return when a session was and what it was, in a few words."""
    opened = find_session(data, person, session.session).opened
    script = session.script if opened is None else titles_of(opened).script
    at = "" if session.started is None or session.date_only else f"{session.started:%H:%M}  "
    kind = ", a rehearsal" if session.rehearsal else ", on paper" if session.on_paper else ""
    return f"{at}{script}{kind}"


# ---- how it is printed


def _print(args: Namespace, document: Callable[[], dict[str, Any]], blocks: Iterable[Block]) -> int:
    if args.json:
        print_json(document())
    else:
        print_blocks(blocks)
    return ExitCode.DONE


def review(args: Namespace) -> int:
    """Show the sessions of a person and take corrections. Raises BadInputError and NoSuchSessionError."""
    needs_screen("this needs a terminal; see `holdtimer show`, `holdtimer next` and `holdtimer trend`")
    data = data_folder(args)
    person = person_named(args, data)
    log = named_session(args, data, person) if args.session else None
    own = read_config(person).values

    def programs() -> list[Program]:
        last = last_program(data, person)
        return [each.program for each in (*bundled_programs(), *([last] if last is not None else []))]

    from holdtimer.cli.fallback_save import answers_saved
    from holdtimer.live.review import Review
    from holdtimer.screens.review.sessions import ReviewApp

    found = Review(data, person, programs, group=own.function_group)
    app = ReviewApp(found, log.session if log is not None else None, own.theme)
    try:
        code = app.run()
    finally:
        found.close_all()
    code = code if code is not None else app.return_code or ExitCode.STOPPED
    for book in found.unsaved:
        code = answers_saved(book, code)
    if app.fault is not None:
        raise app.fault
    return code
