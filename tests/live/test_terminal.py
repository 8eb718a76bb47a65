import contextlib
import os
import select
import signal
import sys
import termios
import threading
import time

import pytest

from holdtimer.live.keys import Key
from holdtimer.live.terminal import KeySource, Leave, single_keys
from holdtimer.sound.player import steady

WAIT_S = 10


@pytest.fixture
def tty():
    master, slave = os.openpty()
    yield master, slave
    for fd in (master, slave):
        with contextlib.suppress(OSError):
            os.close(fd)


def test_keys_have_the_time_they_were_read(pipe):
    reading, writing = pipe
    with KeySource(reading) as keys:
        before = steady()
        os.write(writing, b"a")
        (key,) = keys.take(WAIT_S)
        assert key.name == "a"
        assert before <= key.at <= steady()


def test_nothing_comes_when_nothing_is_pressed(pipe):
    with KeySource(pipe[0]) as keys:
        assert keys.take(0) == []


def test_with_nothing_pressed_all_is_read_until_now(pipe):
    with KeySource(pipe[0]) as keys:
        before = steady()
        assert before <= keys.read_until() <= steady()


def test_while_a_key_is_on_its_way_it_is_not_known_what_was_read(pipe):
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.write(writing, b"a")
        assert keys.read_until() is None
        (key,) = keys.take(WAIT_S)
        assert keys.read_until() >= key.at


def test_a_reader_that_waits_for_bytes_somebody_else_took_holds_nobody_up(pipe):
    with KeySource(pipe[0]) as keys, keys._passing_on:
        assert keys.read_until() is None


def test_an_escape_held_back_may_still_become_a_key_of_the_past(pipe):
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.write(writing, b"\x1b")
        assert keys.take(WAIT_S) == []
        assert keys.read_until() is None


def test_of_a_source_that_has_ended_nothing_more_is_known(pipe):
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.close(writing)
        assert keys.take(WAIT_S) == [Leave("end-of-input")]
        assert keys.read_until() is None


def test_a_lone_escape_comes_once_it_is_sure(pipe):
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.write(writing, b"\x1b")
        found = []
        while not found:
            found = keys.take(0.2)
        assert [key.name for key in found] == ["escape"]


@pytest.mark.parametrize("key", [b"\x03", b"\x11"])
def test_keys_that_leave_are_told_as_leaving(pipe, key):
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.write(writing, key)
        assert keys.take(WAIT_S) == [Leave("quit")]


def test_the_end_of_a_pipe_is_the_end_of_input_after_the_last_key(pipe):
    reading, writing = pipe
    os.write(writing, b"a")
    os.close(writing)
    with KeySource(reading) as keys:
        assert [type(each) for each in (*keys.take(WAIT_S), *keys.take(WAIT_S))] == [Key, Leave]
    with KeySource(reading) as keys:
        assert keys.take(WAIT_S) == [Leave("end-of-input")]


def test_the_end_of_a_terminal_is_a_hang_up(tty):
    master, slave = tty
    with KeySource(slave) as keys:
        os.close(master)
        assert keys.take(WAIT_S) == [Leave("hang-up")]


@pytest.mark.parametrize(
    ("number", "reason"),
    [(signal.SIGTERM, "terminated"), (signal.SIGHUP, "hang-up"), (signal.SIGINT, "quit")],
)
def test_signals_leave_in_good_order(pipe, number, reason):
    before = signal.getsignal(number)
    with KeySource(pipe[0]) as keys:
        signal.raise_signal(number)
        assert keys.take(WAIT_S) == [Leave(reason)]
    assert signal.getsignal(number) is before


def test_a_signal_that_breaks_into_a_wait_whose_time_is_up_does_not_make_it_one_for_ever(pipe):
    went_on, is_enough = threading.Semaphore(0), threading.Event()
    with KeySource(pipe[0]) as keys:

        def take_again_and_again():
            while not is_enough.is_set():
                keys.take(0.1)
                went_on.release()

        thread = threading.Thread(target=take_again_and_again, daemon=True)
        thread.start()
        assert went_on.acquire(timeout=WAIT_S)
        time.sleep(0.03)  # it waits again
        signal.pthread_kill(thread.ident, signal.SIGCONT)
        sum(range(10_000_000))  # no other thread runs meanwhile, as in a process that is stopped
        while went_on.acquire(blocking=False):
            pass
        assert went_on.acquire(timeout=1)
        is_enough.set()
        keys.leave("quit")
        thread.join(WAIT_S)


def test_a_key_pressed_just_before_a_signal_still_counts_and_the_signal_too(pipe, monkeypatch):
    reading, writing = pipe
    read, is_asked = os.read, threading.Event()

    def read_late(fd, most):
        is_asked.wait(WAIT_S)
        return read(fd, most)

    with KeySource(reading) as keys:
        monkeypatch.setattr("holdtimer.live.terminal.os.read", read_late)
        os.write(writing, b"a")
        signal.raise_signal(signal.SIGTERM)
        threading.Timer(0.01, is_asked.set).start()
        (key,) = keys.take(WAIT_S)
        assert key.name == "a"
        assert keys.take(WAIT_S) == [Leave("terminated")]


def test_a_flood_that_nobody_takes_waits_in_the_pipe_and_holds_no_end_up(pipe):
    reading, writing = pipe
    os.set_blocking(writing, False)
    sent = 0
    with KeySource(reading):
        while sent < 400_000 and select.select([], [writing], [], 0.2)[1]:
            with contextlib.suppress(BlockingIOError):
                sent += os.write(writing, b"y" * 1024)
    assert sent < 400_000
    assert not [thread for thread in threading.enumerate() if thread.name == "keys"]


def test_whoever_cannot_go_on_asks_to_leave(pipe):
    with KeySource(pipe[0]) as keys:
        threading.Thread(target=keys.leave, args=("hang-up",)).start()
        assert keys.take(WAIT_S) == [Leave("hang-up")]


def test_a_program_that_continues_sets_its_terminal_again(tty):
    _, slave = tty
    before, told = termios.tcgetattr(slave), []
    with KeySource(slave, goes_on=lambda: told.append("goes on")):
        as_set = termios.tcgetattr(slave)
        termios.tcsetattr(slave, termios.TCSANOW, before)  # as a shell does
        signal.raise_signal(signal.SIGCONT)
        assert termios.tcgetattr(slave) == as_set != before
        assert told == ["goes on"]
    assert termios.tcgetattr(slave) == before


def test_no_key_is_read_once_it_is_over(pipe):
    reading, writing = pipe
    with KeySource(reading):
        pass
    assert not [thread for thread in threading.enumerate() if thread.name == "keys"]
    os.write(writing, b"for the next one")
    assert os.read(reading, 100) == b"for the next one"


def test_a_terminal_hands_every_key_over_at_once_and_is_given_back(tty):
    master, slave = tty
    before = termios.tcgetattr(slave)
    with KeySource(slave) as keys:
        for byte in (b"a", b"\x13", b"\x1c", b"\x1a", b"\x16", b"\x04"):  # Ctrl+S, \, Z, V and D among them
            os.write(master, byte)
            (key,) = keys.take(WAIT_S)
            assert isinstance(key, Key), byte
        os.write(master, b"\x11")
        assert keys.take(WAIT_S) == [Leave("quit")]
        assert not termios.tcgetattr(slave)[3] & (termios.ECHO | termios.ICANON)
    assert termios.tcgetattr(slave) == before


def test_keys_typed_ahead_are_thrown_away(tty):
    master, slave = tty
    os.write(master, b"typed ahead\n")
    with KeySource(slave) as keys:
        os.write(master, b"b")
        assert [key.name for key in keys.take(WAIT_S)] == ["b"]


def test_a_terminal_is_given_back_after_a_fault(tty):
    _, slave = tty
    before = termios.tcgetattr(slave)
    with pytest.raises(ZeroDivisionError), single_keys(slave):
        1 / 0  # noqa: B018
    assert termios.tcgetattr(slave) == before


def test_a_terminal_that_is_gone_is_no_fault(tty):
    master, slave = tty
    with single_keys(slave):
        os.close(master)


def test_what_is_no_terminal_is_left_alone(pipe):
    with single_keys(pipe[0]):
        assert not os.isatty(pipe[0])


def test_without_terminals_on_this_system_keys_are_read_all_the_same(pipe, monkeypatch):
    monkeypatch.setitem(sys.modules, "termios", None)
    reading, writing = pipe
    with KeySource(reading) as keys:
        os.write(writing, b"a")
        assert [key.name for key in keys.take(WAIT_S)] == ["a"]
