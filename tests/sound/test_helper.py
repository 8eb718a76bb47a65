"""The near end of a process that plays, against small processes that speak as it does."""

import sys

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound import helper
from holdtimer.sound.helper import Helper, command

SERVES = """
import sys
print("well", flush=True)
for line in sys.stdin:
    if line == "ask\\n":
        print(answer, flush=True)
"""


def program(text: str) -> list[str]:
    return [sys.executable, "-c", text]


def test_a_process_that_is_well_has_no_trouble_and_ends_when_told(eventually) -> None:
    process = Helper(program("answer = 'well'" + SERVES))
    process.ask()
    assert process.trouble() is None
    process.end()
    eventually(lambda: process.trouble() == "the process that plays has ended")


def test_trouble_is_told_in_its_own_words(eventually) -> None:
    process = Helper(program("answer = 'trouble the sound device has stopped'" + SERVES))
    process.ask()
    eventually(lambda: process.trouble() == "the sound device has stopped")
    process.end()


def test_trouble_from_the_start_is_raised() -> None:
    with pytest.raises(SoundError, match="there is no sound device"):
        Helper(program("print('trouble there is no sound device')"))


def test_a_process_that_crashes_is_trouble() -> None:
    with pytest.raises(SoundError, match="has ended"):
        Helper(program("import os; os.abort()"))


def test_a_process_that_can_not_be_started_is_trouble() -> None:
    with pytest.raises(SoundError, match="can't be started"):
        Helper(["no-such-program-anywhere"])


def test_a_process_that_hangs_while_opening_is_given_up(monkeypatch) -> None:
    monkeypatch.setattr(helper, "OPENING_S", 0.05)
    monkeypatch.setattr(helper, "ENDING_S", 0.05)
    with pytest.raises(SoundError, match="does not answer"):
        Helper(program("import threading; threading.Event().wait()"))


def test_a_process_that_stops_answering_is_trouble_and_is_ended_by_force(monkeypatch, eventually) -> None:
    monkeypatch.setattr(helper, "ANSWER_S", 0.05)
    monkeypatch.setattr(helper, "ENDING_S", 0.05)
    process = Helper(program("print('well', flush=True); import threading; threading.Event().wait()"))
    process.ask()
    eventually(lambda: process.trouble() == "the sound player does not answer")
    process.end()
    eventually(lambda: process.trouble() == "the process that plays has ended")


def test_orders_to_a_process_that_has_ended_do_nothing(eventually) -> None:
    process = Helper(program("print('well', flush=True)"))
    eventually(lambda: process.trouble() is not None)
    for _ in range(3):
        process.send("play band 1.0")
    process.end()
    process.send("play band 1.0")


def test_what_a_library_writes_on_its_error_output_reaches_nobody(capfd) -> None:
    process = Helper(program("import os; os.write(2, b'ALSA lib: words'); answer = 'well'" + SERVES))
    process.end()
    assert capfd.readouterr() == ("", "")


def test_the_real_process_refuses_or_plays_but_always_answers_and_ends() -> None:
    """On a machine with a sound device it opens it; without one it says so."""
    told = None
    try:
        process = Helper(command("serve", "miniaudio", "0.0"))
        told = process.trouble()
        process.end()
    except SoundError as trouble:
        told = str(trouble)
    assert told is None or "device" in told
