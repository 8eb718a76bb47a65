"""`trend`: over the weeks, for each exercise and side."""

from argparse import Namespace
from contextlib import suppress
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.cli.output import print_json, print_lines, print_warnings
from holdtimer.cli.parser import moment
from holdtimer.cli.paths import data_folder, person_named, remembered
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import last_session
from holdtimer.program.faults import ProgramFaults
from holdtimer.program.loading import find, load
from holdtimer.program.models import Program
from holdtimer.progression.trend import Trend, trend_to_json
from holdtimer.progression.trend import trend as trend_of
from holdtimer.report.session import program_of
from holdtimer.report.text import trend_lines

NO_TREND = Trend(items=(), sides=(), kept=0, planned=0, since=None, left_out=())


def trend(args: Namespace) -> int:
    """Print the trend of a program, of the last one trained with when none is named."""
    data = data_folder(args)
    person = person_named(args, data)
    program = load(find(args.program)).program if args.program else _last_program(data, person)
    now = moment(args.at)
    past = read_summaries(data, person, until=now)
    print_warnings(past.damage)
    found = trend_of(program, past.sessions, now) if program is not None else NO_TREND
    if args.json:
        print_json(trend_to_json(found))
    elif program is None:
        print_lines([f"no session of {person} yet"])
    else:
        print_lines(trend_lines(found, program))
    return exits.DONE


def _last_program(data: Path, person: str) -> Program | None:
    """Return the program of the last session: as its file is now, else as it was then."""
    log = last_session(data, person)
    if log is None or log.opened is None:
        return None
    name = remembered(data).program
    with suppress(ProgramFaults):
        program = load(find(name)).program if name else None
        if program is not None and program.id == log.opened.program:
            return program
    return program_of(log.opened.program_text, log.session)
