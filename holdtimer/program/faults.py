"""Faults of a program file: where they are, what is wrong, and what would be right."""

from collections.abc import Iterable
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]  # keys and places in lists, from the top of the file


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault; written as `path:line: message`."""

    path: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.message}"


class ProgramFaults(Exception):  # noqa: N818  (it holds faults; its name says so)
    """A program file can't be used; `faults` are sorted by line, and its text is one line each."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults)))
        super().__init__("\n".join(str(fault) for fault in self.faults))
