"""By when every key was handled on the full screen: a boundary is settled no sooner."""

import inspect
import os
import selectors
from threading import Event, Thread
from types import SimpleNamespace

import pytest
from textual import events
from textual.drivers.linux_driver import LinuxDriver

from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.keyed import KeyedScreen
from holdtimer.sound.player import steady

PATIENCE_S = 10


class Reader:
    """A reader as Textual's: it waits in a selector, and can be held up between reading and posting."""

    def __init__(self):
        self.fileno, self.writing = os.pipe()
        self.has_read, self.may_post, self.is_over = Event(), Event(), Event()
        self._key_thread = Thread(target=self._run, daemon=True)
        self._key_thread.start()

    def _run(self):
        selector = selectors.SelectSelector()
        selector.register(self.fileno, selectors.EVENT_READ)
        while not self.is_over.is_set():
            if selector.select(0.01):
                os.read(self.fileno, 100)
                self.has_read.set()
                self.may_post.wait(PATIENCE_S)

    def close(self):
        self.may_post.set()
        self.is_over.set()
        self._key_thread.join()
        os.close(self.fileno)
        os.close(self.writing)


@pytest.fixture
def reader():
    reader = Reader()
    yield reader
    reader.close()


def is_idle_at_last(app):
    give_up = steady() + PATIENCE_S
    while not (found := app.is_reader_idle()) and steady() < give_up:
        pass
    return found


async def nothing(app):
    return 0


@pytest.fixture
def app(reader):
    app = HoldtimerApp(nothing)
    app._driver = reader
    return app


def test_a_reader_that_waits_with_nothing_to_read_has_posted_all(app):
    assert is_idle_at_last(app)


def test_a_key_that_was_read_and_not_yet_posted_is_still_on_its_way(app, reader):
    os.write(reader.writing, b" ")
    assert reader.has_read.wait(PATIENCE_S)
    assert not app.is_reader_idle()
    reader.may_post.set()
    assert is_idle_at_last(app)


def test_a_key_that_is_not_read_yet_is_on_its_way(app, reader):
    os.write(reader.writing, b" ")
    assert reader.has_read.wait(PATIENCE_S)
    os.write(reader.writing, b" ")
    assert not app.is_reader_idle()


def test_of_a_terminal_without_a_reader_nothing_is_known(app):
    app._driver = SimpleNamespace()
    assert not app.is_reader_idle()
    app._driver = None
    assert not app.is_reader_idle()


class Keys(KeyedScreen):
    """Remembers keys, and the answer to whether all was read."""

    def __init__(self):
        super().__init__()
        self.order = []

    def press(self, name, at):
        self.order.append(name)


async def test_the_answer_comes_after_every_key_the_reader_posted_before(monkeypatch):
    screen = Keys()

    async def story(app):
        return await app.push_screen_wait(screen)

    app = HoldtimerApp(story)
    async with app.run_test() as pilot:
        await pilot.pause()
        monkeypatch.setattr(app, "is_reader_idle", lambda: True)
        answered = []

        def read():
            for key in "ab":
                app._driver.send_message(events.Key(key, key))

        thread = Thread(target=read)
        thread.start()
        thread.join()
        before = steady()
        app.once_read(lambda at: answered.append((at >= before, list(screen.order))))
        app._driver.send_message(events.Key("c", "c"))
        await pilot.pause()
        await pilot.pause()
        assert answered == [(True, ["a", "b"])]
        assert screen.order == ["a", "b", "c"]
        monkeypatch.setattr(app, "is_reader_idle", lambda: False)
        app.once_read(answered.append)
        await pilot.pause()
        assert len(answered) == 1
        screen.end(0)


def test_the_reader_of_textual_waits_where_it_is_looked_for():
    """What `is_reader_idle` rests on; without it, boundaries would be settled late again."""
    source = inspect.getsource(LinuxDriver)
    assert "selectors.SelectSelector()" in source
    assert "self._key_thread = Thread(" in source
    assert "self.fileno = " in source
