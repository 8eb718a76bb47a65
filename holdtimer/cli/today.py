"""Bare `holdtimer`: what is due today, and the way into the session."""

import sys
from argparse import Namespace

from holdtimer.cli.faults import BadInput


def today(args: Namespace) -> int:
    """Show what is due and lead the session that is begun from there."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput(
            "this needs a terminal; see `holdtimer next PROGRAM` and `holdtimer run PROGRAM --plain`"
        )
    from holdtimer.cli.on_screen import on_screen

    return on_screen("today_story", args)
