"""What the full screen needs before anything of it is loaded."""

import os
import sys

from holdtimer.cli.faults import BadInput


def needs_screen(otherwise: str) -> None:
    """Raise BadInput, which says what to do otherwise, unless this is a terminal that has a screen."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        raise BadInput(otherwise)
