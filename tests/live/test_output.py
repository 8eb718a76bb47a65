"""Output that may fall behind, and holds nobody up."""

import os
import threading

import pytest

from holdtimer.live.output import Output, printing_in_a_thread
from holdtimer.sound.player import steady

WAIT_S, SOON_S = 10, 0.05
MUCH = b"x" * 1_000_000  # more than a pipe holds


def read_all(fd, count):
    data = b""
    while len(data) < count:
        data += os.read(fd, 65536)
    return data


def test_all_is_written_in_order(pipe):
    reading, writing = pipe
    output = Output(writing)
    for n in range(100):
        output.write(b"%d\n" % n)
    assert output.drain(WAIT_S)
    assert output.late_s == 0
    assert os.read(reading, 1000) == b"".join(b"%d\n" % n for n in range(100))


def test_a_reader_that_stalls_holds_nobody_up_and_gets_it_all_once_it_reads(pipe):
    reading, writing = pipe
    caught_up = threading.Event()
    output = Output(writing, caught_up.set)
    began = steady()
    output.write(MUCH)
    output.write(b"the end")
    assert steady() - began < WAIT_S / 10
    assert not output.drain(SOON_S)
    assert output.late_s >= SOON_S
    assert not caught_up.is_set()
    assert read_all(reading, len(MUCH) + 7).endswith(b"xthe end")
    assert caught_up.wait(WAIT_S)


def test_what_is_not_begun_can_be_let_go_and_the_rest_of_what_is(pipe):
    reading, writing = pipe
    output = Output(writing)
    output.write(MUCH)
    assert not output.drain(SOON_S)
    output.write(b"let go")
    output.forget(is_all=True)
    output.write(b"kept")
    data = b""
    while not data.endswith(b"kept"):
        data += os.read(reading, 65536)
    assert len(data) < len(MUCH)
    assert b"let go" not in data


@pytest.mark.parametrize("is_early", [True, False])
def test_a_reader_that_is_gone_is_told_once(pipe, is_early):
    reading, writing = pipe
    ended, output = threading.Semaphore(0), Output(writing)
    if is_early:
        output.when_ended(ended.release)
    os.close(reading)
    output.write(b"a")
    output.drain(WAIT_S)
    if not is_early:
        output.when_ended(ended.release)
    assert ended.acquire(timeout=WAIT_S)
    output.write(b"b")
    assert output.drain(WAIT_S)
    assert not ended.acquire(timeout=SOON_S)


def test_lines_are_printed_though_nobody_reads_them(pipe, monkeypatch):
    reading, writing = pipe
    with open(os.dup(writing), "w", encoding="utf-8") as file:
        monkeypatch.setattr("sys.stdout", file)
        monkeypatch.setattr("holdtimer.live.output.LAST_LINES_S", SOON_S)
        began = steady()
        with printing_in_a_thread() as output:
            for n in range(20_000):
                print(f"line {n} ü")
        assert steady() - began < WAIT_S
        assert os.read(reading, 8) == b"line 0 \xc3"
        read_all(reading, 100_000)
        os.close(reading)
        assert output.drain(WAIT_S)  # before its file is closed, whose number the next one gets


def test_where_nothing_is_printed_to_a_file_nothing_changes(capsys):
    with printing_in_a_thread() as output:
        print("as before")
    assert output is None
    assert capsys.readouterr().out == "as before\n"


def test_nothing_that_steers_a_terminal_goes_through_a_thread_either(pipe, monkeypatch):
    reading, writing = pipe
    with open(os.dup(writing), "w", encoding="utf-8") as file:
        monkeypatch.setattr("sys.stdout", file)
        with printing_in_a_thread():
            print("a\x1b[31mb\u202ec\b")
    assert os.read(reading, 100) == b"a?[31mb?c\b\n"
