"""`export`: hand on what is kept of a person."""

from argparse import Namespace
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.places import data_folder, person_named
from holdtimer.cli.printing import json_text, print_warnings
from holdtimer.cli.writing_out import write_out


def export(args: Namespace) -> int:
    """Write all sessions of a person in one piece. Raises BadInput where it can't be written."""
    data = data_folder(args)
    person = person_named(args, data)
    text = {"csv": _csv, "json": _json}[args.format](data, person)
    write_out(text, args.output)
    return exits.DONE


def _csv(data: Path, person: str) -> str:
    """Return every set, led or kept on paper. Rehearsals are left out: no row could tell them apart."""
    from holdtimer.log.csv_out import csv_text, has_lost_its_stop, is_placed
    from holdtimer.log.past import read_past

    past = read_past(data, person)
    lost = [
        f"{each.session} knows no time of day and is left out"
        for each in past.sessions
        if not is_placed(each)
    ]
    lost += [
        f"{each.session} was stopped because something felt wrong, and no row tells so: it names no set"
        for each in past.sessions
        if is_placed(each) and has_lost_its_stop(each)
    ]
    print_warnings([*past.damage, *lost])
    return csv_text(each for each in past.sessions if is_placed(each))


def _json(data: Path, person: str) -> str:
    """Return what `show --json` tells of each session; rehearsals are among them, and say so."""
    from holdtimer.cli.told import told_each
    from holdtimer.log.past import read_past
    from holdtimer.report.session_json import session_json

    past = read_past(data, person, rehearsals=True)
    print_warnings(past.damage)
    documents = [session_json(each.session, each.verdicts) for each in told_each(data, person, past.sessions)]
    return json_text({"format": 1, "sessions": documents}) + "\n"
