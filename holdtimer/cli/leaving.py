"""What is said to somebody who leaves a session."""

import shlex
from argparse import Namespace

from holdtimer.cli.rescue import rescued
from holdtimer.live.opening import RESUME_WITHIN_S, Run
from holdtimer.live.plain import say


def left_off(run: Run, args: Namespace, code: int) -> int:
    """Return what to end a run with: see that all of it is written, and say how to go on where it was left.

    Where it is not written, or only elsewhere, that alone is said.
    """
    if not run.is_written:
        return rescued(run, code)
    session = run.driver.engine.session
    if session.left is not None:
        say(f"all that was stamped is kept; to go on within {RESUME_WITHIN_S // 60:.0f} minutes:")
        say(f"  {_command(args, session.opened.speed if session.opened else 1.0)}")
    return code


def _command(args: Namespace, speed: float) -> str:
    """Return the command that goes on as this one began."""
    words = ["holdtimer", "run", args.program, "--resume"]
    for option in ("person", "data"):
        given = getattr(args, option, None)
        words += [f"--{option}", str(given)] if given else []
    if speed != 1:
        words += ["--speed", f"{speed:g}"]
    words += ["--plain"] if args.plain else []
    return shlex.join(words)
