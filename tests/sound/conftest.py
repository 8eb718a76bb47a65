from collections.abc import Callable

import pytest

from holdtimer.errors import SoundError


class HandClock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


class FakeHelper:
    """A process that plays, as far as its attendant sees it."""

    def __init__(self) -> None:
        self.orders: list[str] = []
        self.asked = 0
        self.in_trouble: str | None = None
        self.ended = False

    def send(self, order: str) -> None:
        self.orders.append(order)

    def ask(self) -> None:
        self.asked += 1

    def trouble(self) -> str | None:
        return self.in_trouble

    def end(self) -> None:
        self.ended = True


class Launcher:
    """Starts fake helpers, and refuses while `refusing` holds a reason."""

    def __init__(self) -> None:
        self.started: list[FakeHelper] = []
        self.refusing: str | None = None
        self.tries = 0

    def __call__(self) -> FakeHelper:
        self.tries += 1
        if self.refusing:
            raise SoundError(self.refusing)
        self.started.append(FakeHelper())
        return self.started[-1]


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def launcher() -> Launcher:
    return Launcher()


@pytest.fixture
def eventually() -> Callable[[Callable[[], bool]], None]:
    """Wait for what another thread does, for at most five seconds."""
    from threading import Event

    def wait(is_so: Callable[[], bool]) -> None:
        for _ in range(500):
            if is_so():
                return
            Event().wait(0.01)
        raise AssertionError("it did not happen")

    return wait
