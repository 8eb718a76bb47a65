from collections.abc import Callable

import pytest

from holdtimer.errors import SoundError
from tests.hand_clock import HandClock


class FakeWorker:
    """A worker, as far as its supervisor sees it."""

    def __init__(self) -> None:
        self.orders: list[tuple] = []
        self.asked = 0
        self.in_trouble: str | None = None
        self.ended = False

    def send(self, *order) -> None:
        self.orders.append(order)

    def ask(self) -> None:
        self.asked += 1

    def trouble(self) -> str | None:
        return self.in_trouble

    def end(self) -> None:
        self.ended = True


class Launcher:
    """Starts fake workers, and refuses while `refusing` holds a reason."""

    def __init__(self) -> None:
        self.started: list[FakeWorker] = []
        self.refusing: str | None = None
        self.tries = 0

    def __call__(self) -> FakeWorker:
        self.tries += 1
        if self.refusing:
            raise SoundError(self.refusing)
        self.started.append(FakeWorker())
        return self.started[-1]


@pytest.fixture
def clock() -> HandClock:
    return HandClock(100.0)


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
