"""`export`: hand on what is kept of a person."""

import sys
from argparse import Namespace
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdtimer.cli import exits
from holdtimer.cli.output import is_file_name, json_text, print_warnings, write_out
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.progression.wording import counted
from holdtimer.text import sanitize


@dataclass(frozen=True, slots=True)
class _Export:
    """A text, how all of its kind begin, and how many sets of how many sessions it holds."""

    text: str
    beginning: str
    sets: int
    sessions: int


def export(args: Namespace) -> int:
    """Write all sessions of a person in one piece. Raises BadInput where it can't be written."""
    data = data_folder(args)
    person = person_named(args, data)
    found = {"csv": _csv, "json": _json}[args.format](data, person)
    write_out(found.text, args.output, found.beginning)
    if is_file_name(args.output):
        held = f"{counted(found.sets, 'set')} of {counted(found.sessions, 'session')}"
        print(sanitize(f"{held} written to {args.output}"), file=sys.stderr)
    return exits.DONE


def _csv(data: Path, person: str) -> _Export:
    """Return every set, led or kept on paper. Rehearsals are left out: no row could tell them apart."""
    from holdtimer.log.csv_file import csv_text, has_lost_its_stop
    from holdtimer.log.history import read_summaries

    past = read_summaries(data, person)
    placed = [each for each in past.sessions if each.started is not None]
    lost = [
        f"{each.session} knows no time of day and is left out"
        for each in past.sessions
        if each.started is None
    ]
    lost += [
        f"{each.session} was stopped because something felt wrong, and no row tells so: it names no set"
        for each in placed
        if has_lost_its_stop(each)
    ]
    print_warnings([*past.damage, *lost])
    return _Export(csv_text(placed), csv_text(()), sum(len(each.results) for each in placed), len(placed))


def _json(data: Path, person: str) -> _Export:
    """Return what `show --json` tells of each session; rehearsals are among them, and say so."""
    from holdtimer.cli.show import told_each
    from holdtimer.log.history import read_summaries
    from holdtimer.report.json import session_json

    past = read_summaries(data, person, rehearsals=True)
    print_warnings(past.damage)
    documents = [session_json(each.session, each.verdicts) for each in told_each(data, person, past.sessions)]
    return _Export(
        text=_as_json(documents),
        beginning=_as_json([]).partition("]")[0],
        sets=sum(len(each["sets"]) for each in documents),
        sessions=len(documents),
    )


def _as_json(documents: list[dict[str, Any]]) -> str:
    return json_text({"format": 1, "sessions": documents}) + "\n"
