"""A story on the full screen: painted at once, told as soon as what it needs is loaded."""

import asyncio
import sys
import tomllib
from argparse import Namespace
from contextlib import suppress
from importlib import import_module
from typing import Protocol

from holdtimer.errors import ExitCode
from holdtimer.paths import config_path
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.themes import EVENING, THEMES

SWITCH_S = 0.0005


class Story(Protocol):
    """What is told on the screen, and what is left to do after it."""

    async def tell(self, app: HoldtimerApp) -> int:
        """Show screens one after another and return the exit code."""
        ...

    def after(self, code: int) -> int:
        """Return what to end with, once the screen is given back."""
        ...


def on_screen(name: str, args: Namespace) -> int:
    """Tell the `Story` of a module of this room and return the exit code. Raises what went wrong in it."""
    sys.setswitchinterval(SWITCH_S)  # painting holds up the thread that reads keys no longer than this
    told: list[Story] = []

    async def tell(app: HoldtimerApp) -> int:
        await asyncio.to_thread(import_module, "holdtimer.cli.run_request")  # as slow as the screen
        story: Story = import_module(f"holdtimer.cli.{name}").Story(args)
        told.append(story)
        app.blank()
        return await story.tell(app)

    app = HoldtimerApp(tell, _first_theme())
    code = app.run()
    if app.fault is not None:
        raise app.fault
    code = code if code is not None else app.return_code or ExitCode.STOPPED
    return told[0].after(code) if told else code


def _first_theme() -> str:
    """Return the theme to paint in before the settings are read in full."""
    with suppress(OSError, ValueError):
        set_theme = tomllib.loads(config_path().read_text(encoding="utf-8")).get("theme")
        return next(theme.name for theme in THEMES if theme.name in (set_theme, EVENING.name))
    return EVENING.name
