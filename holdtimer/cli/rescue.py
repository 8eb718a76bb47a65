"""What becomes of a session that could not be written where it belongs."""

import sys
from pathlib import Path

from holdtimer.cli import exits
from holdtimer.live.opening import Run

_GONE = frozenset({"terminated", "hang-up"})


def rescued(run: Run, code: int) -> int:
    """Return `code` where all of a run that is over is written; else say so, and offer another folder."""
    while not run.is_written:
        print(f"not all of the session is saved: {run.why_not_written}", file=sys.stderr)
        folder = _another_folder(run)
        if folder is None:
            return exits.NOT_WRITTEN
        if run.save_elsewhere(folder):
            print(f"all of it is in {run.path}; `holdtimer show --data {folder}` tells it")
            return code if code != exits.NOT_WRITTEN else run.exit_code()
    return code


def _another_folder(run: Run) -> Path | None:
    """Ask for a folder; None where nobody can be asked, or no folder was named."""
    if run.driver.engine.session.left in _GONE or not (sys.stdin.isatty() and sys.stderr.isatty()):
        return None
    print("another folder to write all of it to (Enter alone: none): ", end="", file=sys.stderr, flush=True)
    try:
        named = sys.stdin.readline().strip()
    except KeyboardInterrupt:
        return None
    return Path(named).expanduser() if named else None
