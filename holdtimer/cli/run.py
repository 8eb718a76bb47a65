"""`run`, and bare `holdtimer`: the ways into a session.

Whatever takes long to load is loaded only once the screen is painted.
"""

import sys
import tomllib
from argparse import Namespace
from contextlib import suppress
from importlib import import_module
from typing import TYPE_CHECKING, Protocol

from holdtimer.cli.output import needs_screen
from holdtimer.errors import ExitCode
from holdtimer.files import config_path

if TYPE_CHECKING:
    from holdtimer.screens.app import HoldtimerApp

SWITCH_S = 0.0005


def run(args: Namespace) -> int:
    """Run one session and return how it ended. Raises BadInputError and whatever makes it impossible."""
    if args.close:
        from holdtimer.cli.run_request import close

        return close(args)
    if args.plain:
        from holdtimer.cli.run_plain import run_plainly

        return run_plainly(args)
    needs_screen("the full screen needs a terminal; --plain runs the same session as lines of text")
    return _on_screen("run_screen", args)


def today(args: Namespace) -> int:
    """Show what is due and run the session that is begun from there."""
    needs_screen("this needs a terminal; see `holdtimer next` and `holdtimer run PROGRAM --plain`")
    return _on_screen("today", args)


class ScreenFlow(Protocol):
    """The screens of a command, one after another, and what is left to do after them."""

    async def show(self, app: "HoldtimerApp") -> int:
        """Show the screens and return the exit code."""
        ...

    def finish(self, code: int) -> int:
        """Return the exit code once the terminal is given back."""
        ...


def _on_screen(module: str, args: Namespace) -> int:
    """Show the `Flow` of a module of this room and return the exit code. Raises what went wrong in it."""
    import asyncio

    from holdtimer.live.output import printing_in_a_thread
    from holdtimer.screens.app import HoldtimerApp
    from holdtimer.screens.themes import EVENING, THEMES

    sys.setswitchinterval(SWITCH_S)  # painting holds up the thread that reads keys no longer than this
    flow: ScreenFlow | None = None

    async def show(app: HoldtimerApp) -> int:
        nonlocal flow
        await asyncio.to_thread(import_module, "holdtimer.cli.run_request")  # as slow as the screen
        flow = import_module(f"holdtimer.cli.{module}").Flow(args)
        app.blank()
        return await flow.show(app)

    theme = EVENING.name
    with suppress(OSError, ValueError):  # the settings are read in full later
        set_theme = tomllib.loads(config_path().read_text(encoding="utf-8")).get("theme")
        theme = set_theme if set_theme in [each.name for each in THEMES] else theme
    app = HoldtimerApp(show, theme)
    code = app.run()
    code = code if code is not None else app.return_code or ExitCode.STOPPED
    with printing_in_a_thread():
        code = flow.finish(code) if flow is not None else code
    if app.fault is not None:
        raise app.fault
    return code
