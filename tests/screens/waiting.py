"""Waiting for a screen, however busy the machine is."""

from textual.pilot import Pilot


async def begun(pilot: Pilot) -> None:
    """Wait until the story shows its first screen: it begins once the app has drawn itself."""
    while len(pilot.app.screen_stack) < 2:
        await pilot.pause(0.01)
    await pilot.pause()
