"""`import` and `export`: results kept on paper into the log, and all that is kept out of it."""

import os
import sys
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from holdtimer.cli.output import is_file_name, json_text, print_lines, print_warnings, write_out
from holdtimer.cli.parser import moment, until_named
from holdtimer.cli.paths import data_folder, person_named, program_named
from holdtimer.config import read_config
from holdtimer.errors import BadInputError, ExitCode, Fault
from holdtimer.log.clocks import local_now, local_zone
from holdtimer.log.csv_file import (
    MAX_BYTES,
    Sheet,
    csv_text,
    has_lost_its_stop,
    keep_paper_sessions,
    read_sheet,
)
from holdtimer.log.csv_tests import is_of_tests, read_tests, tests_text
from holdtimer.log.folder import person_folder
from holdtimer.log.history import count_files, earlier_summaries, read_summaries
from holdtimer.log.reader import read_person
from holdtimer.program.loading import find, load
from holdtimer.program.models import Program
from holdtimer.report.session import session_reports
from holdtimer.session.paper import ImportPlan, Remark, plan_import
from holdtimer.session.paper_trials import plan_tests
from holdtimer.text import counted, harmless, sanitize

MAX_FAULTS = 200  # listed at once


def import_csv(args: Namespace) -> int:
    """Keep the new results of a CSV file and say how many. Raises BadInputError with every fault."""
    from holdtimer.log.lock import hold  # which nothing else here needs

    loaded = load(find(args.program)) if args.program else None
    data = data_folder(args)
    person = person_named(args, data)
    content = _content(args.file)
    of_tests = is_of_tests(content)
    if loaded is None and not of_tests:
        raise BadInputError(f"{args.file}:1: name their program too, such as chair-and-counter")
    sheet: Sheet[Any] = (read_tests if of_tests else read_sheet)(content, args.file, local_zone())
    with hold(person_folder(data, person), datetime.now(UTC)):
        past, now = read_summaries(data, person).sessions, local_now()
        if loaded is None or of_tests:
            found = plan_tests(sheet.rows, past, now)
        else:
            found = plan_import(sheet.rows, past, loaded.program, now, earlier_summaries(data, person))
        _raise_faults(sheet, found)
        if found.sessions:
            logs = read_person(data, person) if any(each.known for each in found.sessions) else ()
            keep_paper_sessions(data, person, None if of_tests else loaded, found.sessions, logs)
            read_summaries(data, person)  # now, so that the next start need not
    print_warnings([*sheet.warnings, *_placed(sheet, found.warnings)])
    print_lines(_summary(found, *(("trial", "test day", "of") if of_tests else ("set", "session", "in"))))
    return ExitCode.DONE


def _content(name: str) -> bytes:
    """Return what a file holds, no more of it than is read. Raises BadInputError."""
    path = Path(name)
    if not os.path.isfile(path):
        what = "this is not a file" if os.path.exists(path) else "there is no such file"
        raise BadInputError(f"{name}:1: {what}; name a CSV file of results")
    try:
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        raise BadInputError(f"{name}:1: this file can't be read: {error.strerror}") from None


def _raise_faults(sheet: Sheet[Any], found: ImportPlan) -> None:
    faults = sorted([*sheet.faults, *_placed(sheet, found.faults)])
    others = ", ".join(sorted(found.others))
    if not faults and sheet.rows and found.others.total() == len(sheet.rows):
        faults = [Fault(sheet.name, 1, f"every row is of another program; name that one: {others}")]
    if not faults:
        return
    lines = [str(fault) for fault in faults[:MAX_FAULTS]]
    if len(faults) > MAX_FAULTS:
        lines.append(f"{sheet.name}:{faults[-1].line}: there are {len(faults) - MAX_FAULTS} more errors")
    raise BadInputError("\n".join([*lines, "nothing was imported"]))


def _placed(sheet: Sheet[Any], remarks: list[Remark]) -> list[Fault]:
    return sorted({Fault(sheet.name, line, words) for line, words in remarks})


def _summary(found: ImportPlan, result: str, day: str, of: str) -> Iterator[str]:
    yield f"added: {counted(found.new, result)} {of} {counted(len(found.sessions), day)}"
    done = f", {found.run} of them done here" if found.run else ""
    yield f"already known: {counted(found.known, result)}{done}"
    for program, count in sorted(found.others.items()):
        yield f"left out, of the program {program}: {counted(count, 'set')}"


@dataclass(frozen=True, slots=True)
class _Export:
    """A text, how all of its kind begin, and what it holds in words."""

    text: str
    beginning: str
    holds: str


def export(args: Namespace) -> int:
    """Write what is kept of a person, in one of several forms. Raises BadInputError where it can't be."""
    data = data_folder(args)
    person = person_named(args, data)
    forms = {"csv": _csv, "tests": _tests, "json": _json, "html": _html, "ics": _ics, "sheet": _sheet}
    found = forms[args.format](args, data, person)
    write_out(found.text, args.output, found.beginning)
    if is_file_name(args.output):
        print(sanitize(f"{found.holds} written to {args.output}"), file=sys.stderr)
    return ExitCode.DONE


def _csv(_: Namespace, data: Path, person: str) -> _Export:
    """Return every set, run or kept on paper. Rehearsals are left out: no row could say that it is one."""
    past = read_summaries(data, person)
    placed = [each for each in past.sessions if each.started is not None]
    lost = [
        f"{each.session} has no time of day and is left out" for each in past.sessions if each.started is None
    ]
    lost += [
        f"{each.session} was stopped because something felt wrong, but no row says so: it has no sets"
        for each in placed
        if has_lost_its_stop(each)
    ]
    print_warnings([*past.damage, *lost])
    sets = sum(len(each.results) for each in placed)
    return _Export(csv_text(placed), csv_text(()), _sets_of_sessions(sets, len(placed)))


def _tests(_: Namespace, data: Path, person: str) -> _Export:
    """Return every trial with a result; rehearsals are left out."""
    past = read_summaries(data, person)
    print_warnings(past.damage)
    tested = [each for each in past.sessions if each.tests]
    days = f"{counted(sum(len(each.tests) for each in tested), 'test')} of {counted(len(tested), 'session')}"
    return _Export(tests_text(tested), tests_text(()), days)


def _json(_: Namespace, data: Path, person: str) -> _Export:
    """Return the `show --json` of each session; rehearsals are among them, and say so."""
    past = read_summaries(data, person, rehearsals=True)
    print_warnings(past.damage)
    documents = [report.to_json() for report in session_reports(data, person, past.sessions)]
    sets = sum(len(each["sets"]) for each in documents)
    return _Export(
        _as_json(documents), _as_json([]).partition("]")[0], _sets_of_sessions(sets, len(documents))
    )


def _as_json(documents: list[dict[str, Any]]) -> str:
    return json_text({"format": 1, "sessions": documents}) + "\n"


def _sets_of_sessions(sets: int, sessions: int) -> str:
    return f"{counted(sets, 'set')} of {counted(sessions, 'session')}"


# ---- for people: a page, a calendar, a sheet of paper


def _html(args: Namespace, data: Path, person: str) -> _Export:
    from holdtimer.report.handover import BEGINNING, record_page
    from holdtimer.report.record import read_record

    program, now = _program(args, data, person), moment(args.at)
    record = read_record(
        data,
        person,
        program,
        now,
        args.weeks,
        until_named(args, now),
        read_config(person).values.function_group,
    )
    print_warnings(record.damage)
    holds = f"{counted(len(record.own), 'session')} of {counted(args.weeks, 'week')}"
    return _Export(record_page(record), BEGINNING, holds)


def _ics(args: Namespace, data: Path, person: str) -> _Export:
    from holdtimer.progression.due import coming_sessions, due
    from holdtimer.report.calendar import AHEAD, BEGINNING, calendar_text

    program, now = _program(args, data, person), moment(args.at)
    past = read_summaries(data, person, rehearsals=True, until=until_named(args, now))
    print_warnings(past.damage)
    coming = coming_sessions(program, past.sessions, now, now + AHEAD)
    found = due(program, past.sessions, now)
    if not coming:
        why = "it has only easy days" if found.is_easy else f"the next one is due {found.when}"
        raise BadInputError(f"{program.title}: no hard session in the next four weeks; {why}")
    if found.hold is not None:
        print_warnings([f"on hold: {found.hold}; the calendar cancels all sessions"])
    text = calendar_text(
        coming,
        program,
        found,
        of=person_folder(data, person).name,
        files=count_files(data, person),
        now=now,
        has_details=args.details,
    )
    return _Export(text, BEGINNING, counted(len(coming), "coming session"))


def _sheet(args: Namespace, data: Path, person: str) -> _Export:
    from holdtimer.progression.due import due
    from holdtimer.report.sheet import BEGINNING, sheet_page

    program, now = _program(args, data, person), moment(args.at)
    past = read_summaries(data, person, rehearsals=True, until=until_named(args, now))
    print_warnings(past.damage)
    found = due(program, past.sessions, now)
    if found.hold is not None:
        raise BadInputError(
            f"on hold: {found.hold}; there is no sheet until it has settled or was checked: "
            "`holdtimer run` asks in two steps"
        )
    sets = sum(not each.outlook.verdict.paused for each in found.sets)
    return _Export(sheet_page(person, program, found), BEGINNING, f"a sheet for {counted(sets, 'set')}")


def _program(args: Namespace, data: Path, person: str) -> Program:
    """Return the program that is named, else the last one. Raises BadInputError where there is none."""
    program = program_named(args, data, person)
    if program is None:
        raise BadInputError(
            f"no session of {harmless(person)} yet; name a program: "
            f"holdtimer export {args.format} chair-and-counter"
        )
    return program
