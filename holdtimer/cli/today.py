"""Bare `holdtimer`: what is due today, and the way into the session."""

from argparse import Namespace

from holdtimer.cli.output import needs_screen


def today(args: Namespace) -> int:
    """Show what is due and lead the session that is begun from there."""
    needs_screen("this needs a terminal; see `holdtimer next PROGRAM` and `holdtimer run PROGRAM --plain`")
    from holdtimer.cli.full_screen import on_screen

    return on_screen("today_story", args)
