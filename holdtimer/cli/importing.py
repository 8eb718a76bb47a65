"""`import`: take in results that were kept on paper."""

from argparse import Namespace
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.faults import BadInput
from holdtimer.cli.output import print_lines, print_warnings
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.log.clocks import local_now, local_zone
from holdtimer.log.csv_read import MAX_BYTES, Sheet, read_sheet
from holdtimer.log.folder import person_folder
from holdtimer.log.history import Earlier, read_past
from holdtimer.log.lock import hold
from holdtimer.log.paper import Binder
from holdtimer.log.reader import read_person
from holdtimer.program.faults import Fault
from holdtimer.program.loading import find, load
from holdtimer.progression.wording import counted
from holdtimer.session.paper import Remark, SortedRows, sort_rows
from holdtimer.session.paper_row import Lookup

MAX_FAULTS = 200  # told at once


def import_csv(args: Namespace) -> int:
    """Keep the new results of a CSV file and say how many. Raises BadInput with every fault of the file."""
    loaded = load(find(args.program))
    data = data_folder(args)
    person = person_named(args, data)
    sheet = read_sheet(_content(args.file), args.file, local_zone())
    with hold(person_folder(data, person), datetime.now(UTC)):
        past = read_past(data, person).sessions
        found = sort_rows(sheet.rows, past, Lookup(loaded.program, local_now()), Earlier(data, person))
        _raise_faults(sheet, found)
        if found.sessions:
            logs = read_person(data, person) if any(each.known for each in found.sessions) else ()
            Binder(data, person, loaded.program.id, loaded.text).keep(found.sessions, logs)
            read_past(data, person)  # now, so that the next start need not
    print_warnings([*sheet.warnings, *_placed(sheet, found.warnings)])
    print_lines(_told(found))
    return exits.DONE


def _content(name: str) -> bytes:
    """Return what a file holds, no more of it than is read. Raises BadInput."""
    path = Path(name)
    if not path.is_file():
        what = "this is not a file" if path.exists() else "there is no such file"
        raise BadInput(f"{name}:1: {what}; name a CSV file of results")
    try:
        with path.open("rb") as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        raise BadInput(f"{name}:1: this file can't be read: {error.strerror}") from None


def _raise_faults(sheet: Sheet, found: SortedRows) -> None:
    faults = sorted([*sheet.faults, *_placed(sheet, found.faults)])
    others = ", ".join(sorted(found.others))
    if not faults and sheet.rows and found.others.total() == len(sheet.rows):
        faults = [Fault(sheet.name, 1, f"every row is of another program; name that one: {others}")]
    if not faults:
        return
    lines = [str(fault) for fault in faults[:MAX_FAULTS]]
    if len(faults) > MAX_FAULTS:
        lines.append(f"{sheet.name}:{faults[-1].line}: there are {len(faults) - MAX_FAULTS} more faults")
    raise BadInput("\n".join([*lines, "nothing was taken in"]))


def _placed(sheet: Sheet, remarks: list[Remark]) -> list[Fault]:
    return sorted({Fault(sheet.name, line, words) for line, words in remarks})


def _told(found: SortedRows) -> Iterator[str]:
    sets = sum(len(each.results) for each in found.sessions)
    yield f"added: {counted(sets, 'set')} in {counted(len(found.sessions), 'session')}"
    led = f", {found.led} of them led here" if found.led else ""
    yield f"known already: {counted(found.known, 'set')}{led}"
    for program, count in sorted(found.others.items()):
        yield f"left out, of the program {program}: {counted(count, 'set')}"
