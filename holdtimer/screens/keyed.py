"""Screens that get every key by name and time; light to load, since the first frame waits for it."""

from typing import Any

from textual.screen import Screen


class KeyedScreen(Screen[Any]):
    """A screen that takes keys by name and time; all of them, so that nothing can shadow a tap."""

    types_text = False  # while a text is typed, keys belong to it
    is_over = False

    def end(self, result: object = None) -> None:
        """Give way to what comes next, once: a key or a tick still in line must not take that away too."""
        if not self.is_over:
            self.is_over = True
            self.dismiss(result)

    def press(self, name: str, at: float) -> None:
        """Take a key that reached the program at `at` (real seconds of the steady clock)."""
