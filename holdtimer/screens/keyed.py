"""Screens that get each key before Textual does, with the time it reached the program."""

from typing import Any

from textual.screen import Screen


class KeyedScreen(Screen[Any]):
    """A screen that takes keys by name and time; all of them, so that nothing can shadow a tap."""

    types_text = False  # while a text is typed, keys belong to it

    def press(self, name: str, at: float) -> None:
        """Take a key that reached the program at `at` (real seconds of the steady clock)."""

    def keyboard(self, has: bool, at: float) -> None:
        """Take note that the terminal gained or lost the keyboard."""
