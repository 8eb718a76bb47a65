"""A page that asks for one of several: arrows move the mark, a tap or Enter takes what is marked."""

from collections.abc import Sequence

from holdtimer.screens.list_screen import MOVES, ListScreen

_NOT_TAPS = frozenset({"backspace", "question_mark"})
_HINT = "Arrows move, Esc goes back."


class ChoicePage(ListScreen):
    """Closes with the index of what was chosen, None on Escape; `about` tells more of what is marked."""

    def __init__(
        self, headline: str, choices: Sequence[str], marked: int = 0, about: Sequence[str] = ()
    ) -> None:
        super().__init__(headline, "choose", marked)
        self._choices, self._about = choices, about

    def lines(self) -> Sequence[str]:
        """Return the choices."""
        return self._choices

    def hint(self) -> str:
        """Return what is told of the marked one, and what keys do."""
        told = self._about[self._marked] if self._about and self._marked is not None else ""
        return f"{told}\n{_HINT}" if told else _HINT

    def press(self, name: str, at: float) -> None:
        """Move the mark, take what is marked, or go back."""
        if name in MOVES:
            self.move(MOVES[name])
            self.show()
        elif name not in _NOT_TAPS and self._taps.counts(name, at):
            self.end(None if name == "escape" else self._marked)
