"""The commands and options of the command line."""

from argparse import (
    SUPPRESS,
    ArgumentParser,
    ArgumentTypeError,
    Namespace,
    RawDescriptionHelpFormatter,
    _SubParsersAction,
)
from datetime import datetime
from functools import cache

from holdtimer import __version__
from holdtimer.errors import BadInputError
from holdtimer.log.clocks import local_now, local_zone
from holdtimer.text import YEARS, sentence

_EXAMPLES = """\
examples:
  holdtimer run chair-and-counter            run a session of a bundled program
  holdtimer check my-program.toml            check it for errors before you train with it
  holdtimer show                             see what happened in the last session

PROGRAM is a path, or the name of a bundled program. Train to failure only as agreed with a
doctor or physiotherapist; stop when something feels wrong.
"""

_Commands = _SubParsersAction
MOST_WEEKS = 520


@cache
def build_parser() -> ArgumentParser:
    """Return the parser of the whole command line."""
    whose = _whose()
    parser = ArgumentParser(
        prog="holdtimer",
        parents=[_whose()],
        description="Leads you through timed strength sets to failure, hands-free, and keeps a record.",
        epilog=_EXAMPLES,
        formatter_class=RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"holdtimer {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    parser.set_defaults(command=None, person=None, data=None)
    _add_run(commands, whose)
    check = _add(commands, "check", "check a program: every error with its line, or its timeline")
    check.add_argument("program", metavar="PROGRAM", help="a path, or the name of a bundled program")
    _add_reports(commands, whose)
    look = _add(
        commands, "review", "look back in full screen: correct stamps, give answers, see the weeks", whose
    )
    look.add_argument(
        "session",
        metavar="SESSION",
        nargs="?",
        help="which one, named as for show (default: the list of all)",
    )
    _add_paper(commands, whose)
    _add(commands, "schema", "print the JSON Schema of program files")
    sounds = _add(commands, "sounds", "play every sound and show what it means")
    _add_sound(sounds)
    _add(commands, "keys", "show what each key press does, and find a guard that fits", whose)
    _add(commands, "config", "show the settings in force, and where each comes from", whose)
    return parser


def _add(
    commands: "_Commands[ArgumentParser]", name: str, what: str, *parents: ArgumentParser
) -> ArgumentParser:
    return commands.add_parser(name, parents=parents, help=what, description=sentence(what))


def _whose() -> ArgumentParser:
    # suppressed where not given, so that `holdtimer --person NAME` is not forgotten by a command
    whose = ArgumentParser(add_help=False, argument_default=SUPPRESS)
    whose.add_argument(
        "--person", metavar="NAME", help="whose log (default: the only person, or who trained last)"
    )
    whose.add_argument("--data", metavar="DIR", help="the folder of the logs (or set HOLDTIMER_DATA)")
    return whose


def _add_reports(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    show = _add(commands, "show", "show what happened in a session", whose)
    show.add_argument(
        "session",
        metavar="SESSION",
        nargs="?",
        help="its day: today, yesterday or 2026-11-22; or the start of its id (default: the last session)",
    )
    show.add_argument("--json", action="store_true", help="as JSON")
    listed = _add(commands, "log", "list the sessions, newest first", whose)
    listed.add_argument("--all", action="store_true", help="all of them, not just the last 20")
    listed.add_argument("--json", action="store_true", help="as JSON, all of them")
    coming = _add(commands, "next", "show what is due, when, at which rungs, and why", whose)
    _add_program(coming)
    coming.add_argument("--json", action="store_true", help="as JSON")
    weeks = _add(commands, "trend", "show how each exercise and side changes over the weeks", whose)
    _add_program(weeks)
    weeks.add_argument("--json", action="store_true", help="as JSON")
    weeks.add_argument(
        "--norms", action="store_true", help="also show how healthy people do in function tests"
    )
    weeks.add_argument("--age", type=int, metavar="YEARS", help="your age, for --norms")
    weeks.add_argument("--sex", choices=("female", "male"), help="your sex, for --norms")


def _add_paper(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    paper = _add(
        commands, "import", "import results kept on paper, one row per set or per trial of a test", whose
    )
    paper.add_argument(
        "file", metavar="FILE.csv", help="a table with started, exercise, side, rung and a result"
    )
    paper.add_argument(
        "program", metavar="PROGRAM", nargs="?", help="the program they belong to; not for function tests"
    )
    out = _add(
        commands, "export", "write out your sessions, or a page, a calendar or a sheet to print", whose
    )
    formats = out.add_subparsers(dest="format", metavar="FORMAT", title="formats", required=True)
    _add_format(formats, whose, "csv", "all sessions, one row per set")
    _add_format(formats, whose, "tests", "all function tests as CSV, one row per trial")
    _add_format(formats, whose, "json", "all sessions, each as `show --json` prints it")
    page = _add_format(formats, whose, "html", "a page for a coach or therapist, usually two sides of paper")
    _add_program(page)
    page.add_argument(
        "--weeks", metavar="N", type=_weeks, default=6, help="how many weeks back it goes (default: 6)"
    )
    calendar = _add_format(formats, whose, "ics", "the sessions of the next four weeks, for a calendar")
    _add_program(calendar)
    calendar.add_argument(
        "--details", action="store_true", help="also say what you train, and at which rungs"
    )
    _add_program(_add_format(formats, whose, "sheet", "a page to print: the next session without a computer"))


def _add_format(
    formats: "_Commands[ArgumentParser]", whose: ArgumentParser, name: str, what: str
) -> ArgumentParser:
    out = formats.add_parser(name, parents=[whose], help=what, description=f"Write out {what}.")
    out.add_argument("-o", "--output", metavar="FILE", help="write to this file, which only you can read")
    return out


def _add_program(command: ArgumentParser) -> None:
    command.add_argument(
        "program",
        metavar="PROGRAM",
        nargs="?",
        help="a path, or the name of a bundled program (default: the last one)",
    )
    command.add_argument("--at", metavar="TIME", help="as of this ISO 8601 time; what came later is ignored")


def _add_run(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    run = _add(commands, "run", "run a session", whose)
    run.add_argument("program", metavar="PROGRAM", help="a path, or the name of a bundled program")
    run.add_argument(
        "--script", metavar="ID", help="which script of the program (default: the one that is due)"
    )
    run.add_argument(
        "--speed", metavar="X", type=_speed, default=1.0, help="rehearse X times faster, 0.25-100"
    )
    _add_sound(run)
    run.add_argument("--voice", choices=("on", "off"), help="speech on or off (default: on, or your setting)")
    run.add_argument("--plain", action="store_true", help="lines of text instead of the full screen")
    before = run.add_mutually_exclusive_group()
    before.add_argument("--resume", action="store_true", help="resume the session you left")
    before.add_argument("--close", action="store_true", help="close the session you left, and end")


def _add_sound(command: ArgumentParser) -> None:
    players = ("auto", "simpleaudio", "miniaudio", "bell", "off")
    command.add_argument(
        "--sound", choices=players, help="what plays the sounds (default: auto, or your setting)"
    )


def _speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a number; a speed is 0.25 to 100") from None
    if not 0.25 <= speed <= 100:
        raise ArgumentTypeError(f"{text} is out of range; a speed is 0.25 to 100")
    return speed


def _weeks(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:5]) <= MOST_WEEKS):
        raise ArgumentTypeError(f"{text!r} is not a number of weeks; write 1 to {MOST_WEEKS}")
    return int(text)


def moment(text: str | None) -> datetime:
    """Return the time `--at` names, in the local zone, which knows of clock changes; else now."""
    if text is None:
        return local_now()
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise BadInputError(f"--at {text}: not a time; write it like 2026-03-29T18:00+01:00") from None
    if found.year not in YEARS:
        raise BadInputError(f"--at {text}: the year has to be from {YEARS[0]} to {YEARS[-1]}")
    zone = local_zone()
    return found.replace(tzinfo=zone) if found.tzinfo is None else found.astimezone(zone)


def until_named(args: Namespace, now: datetime) -> datetime | None:
    """Return after which moment nothing counts: with no `--at` there is none, the clock may be set back."""
    return now if args.at else None
