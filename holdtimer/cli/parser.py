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
from holdtimer.text import YEARS

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
    check = commands.add_parser("check", help="check a program: every error with its line, or its timeline")
    check.add_argument("program", metavar="PROGRAM")
    _add_reports(commands, whose)
    look = commands.add_parser(
        "review", parents=[whose], help="look back in full screen: correct stamps, answer, see the weeks"
    )
    look.add_argument(
        "session", metavar="SESSION", nargs="?", help="named as for show (default: the list of all)"
    )
    _add_paper(commands, whose)
    commands.add_parser("schema", help="print the JSON Schema of program files")
    sounds = commands.add_parser("sounds", help="play every sound and say what it means")
    _add_sound(sounds)
    commands.add_parser(
        "keys", parents=[whose], help="show what each key press does, and find a guard that fits"
    )
    commands.add_parser(
        "config", parents=[whose], help="show the settings in force, and where each comes from"
    )
    return parser


def _whose() -> ArgumentParser:
    # suppressed where not given, so that `holdtimer --person NAME` is not forgotten by a command
    whose = ArgumentParser(add_help=False, argument_default=SUPPRESS)
    whose.add_argument(
        "--person", metavar="NAME", help="whose log (default: the only person, or who trained last)"
    )
    whose.add_argument("--data", metavar="DIR", help="the folder of the logs (or set HOLDTIMER_DATA)")
    return whose


def _add_reports(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    show = commands.add_parser("show", parents=[whose], help="show what happened in a session")
    show.add_argument(
        "session",
        metavar="SESSION",
        nargs="?",
        help="its day: today, yesterday or 2026-11-22; or the start of its id (default: the last session)",
    )
    show.add_argument("--json", action="store_true", help="as JSON")
    listed = commands.add_parser("log", parents=[whose], help="list the sessions, newest first")
    listed.add_argument("--all", action="store_true", help="all of them, not just the last 20")
    listed.add_argument("--json", action="store_true", help="as JSON, all of them")
    coming = commands.add_parser(
        "next", parents=[whose], help="show what is due, when, at which rungs, and why"
    )
    coming.add_argument("program", metavar="PROGRAM", nargs="?", help="default: the last one")
    _add_at(coming)
    weeks = commands.add_parser(
        "trend", parents=[whose], help="show how each exercise and side changes over the weeks"
    )
    weeks.add_argument("program", metavar="PROGRAM", nargs="?", help="default: the last one")
    _add_at(weeks)
    weeks.add_argument("--norms", action="store_true", help="also what healthy people do in function tests")
    weeks.add_argument("--age", type=int, metavar="YEARS", help="whose figures --norms gives")
    weeks.add_argument("--sex", choices=("female", "male"), help="whose figures --norms gives")


def _add_paper(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    paper = commands.add_parser(
        "import", parents=[whose], help="import results kept on paper, one row per set"
    )
    paper.add_argument(
        "file", metavar="FILE.csv", help="a table with started, exercise, side, rung and a result"
    )
    paper.add_argument(
        "program", metavar="PROGRAM", nargs="?", help="the program they belong to; not for function tests"
    )
    out = commands.add_parser("export", parents=[whose], help="write out what is kept, to hand it on")
    formats = out.add_subparsers(dest="format", metavar="FORMAT", title="formats", required=True)
    _add_format(formats, whose, "csv", "all sessions, one row per set")
    _add_format(formats, whose, "tests", "all function tests as CSV, one row per trial")
    _add_format(formats, whose, "json", "all sessions, each as `show --json` prints it")
    page = _add_format(formats, whose, "html", "a page for a coach or therapist, two sides when printed")
    _add_program(page)
    page.add_argument(
        "--weeks", metavar="N", type=_weeks, default=6, help="how far back its sessions go (default: 6)"
    )
    calendar = _add_format(formats, whose, "ics", "the sessions of the next four weeks, for a calendar")
    _add_program(calendar)
    calendar.add_argument(
        "--details", action="store_true", help="also say what is trained, and at which rungs"
    )
    _add_program(_add_format(formats, whose, "sheet", "a page to print: the next session without a computer"))


def _add_format(
    formats: "_Commands[ArgumentParser]", whose: ArgumentParser, name: str, what: str
) -> ArgumentParser:
    out = formats.add_parser(name, parents=[whose], help=what, description=f"Write out {what}.")
    out.add_argument("-o", "--output", metavar="FILE", help="write to this file, which only you can read")
    return out


def _add_program(command: ArgumentParser) -> None:
    command.add_argument("program", metavar="PROGRAM", nargs="?", help="default: the last one")
    _add_moment(command)


def _add_moment(command: ArgumentParser) -> None:
    command.add_argument("--at", metavar="TIME", help="as of this ISO 8601 time; what came later is ignored")


def _add_at(command: ArgumentParser) -> None:
    _add_moment(command)
    command.add_argument("--json", action="store_true", help="as JSON")


def _add_run(commands: "_Commands[ArgumentParser]", whose: ArgumentParser) -> None:
    run = commands.add_parser("run", parents=[whose], help="run a session")
    run.add_argument("program", metavar="PROGRAM")
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
        raise ArgumentTypeError(f"{text!r} is no number of weeks; write 1 to {MOST_WEEKS}")
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
