"""A worker seen from the session, against small processes that speak as it does; and how one serves."""

import subprocess
import sys

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound import worker
from holdtimer.sound.players import PLAYER_PATIENCE
from holdtimer.sound.worker import Patience, Worker, command, serve

WELL = """print('["well"]', flush=True)\n"""
HANGS = "import threading; threading.Event().wait()"
SERVES = (
    WELL
    + """
import sys
for line in sys.stdin:
    if line == '["ask"]\\n':
        print(answer, flush=True)
"""
)


def started(text: str, opening_s=30.0, answer_s=30.0, hear=None) -> Worker:
    return Worker("sound player", [sys.executable, "-c", text], Patience(opening_s, answer_s), hear)


def test_a_process_that_is_well_has_no_trouble_and_ends_when_asked_to(eventually) -> None:
    process = started("""answer = '["well"]'\n""" + SERVES)
    process.ask()
    assert process.trouble() is None
    process.end()
    eventually(lambda: process.trouble() == "the sound player has ended")


def test_trouble_comes_in_the_words_of_the_process(eventually) -> None:
    process = started("""answer = '["trouble", "the sound device has stopped"]'\n""" + SERVES)
    process.ask()
    eventually(lambda: process.trouble() == "the sound device has stopped")
    process.end()


def test_trouble_from_the_start_is_raised() -> None:
    with pytest.raises(SoundError, match="there is no sound device"):
        started("""print('["trouble", "there is no sound device"]')""")


def test_a_process_that_crashes_is_trouble() -> None:
    with pytest.raises(SoundError, match="has ended"):
        started("import os; os.abort()")


def test_a_process_that_can_not_be_started_is_trouble() -> None:
    with pytest.raises(SoundError, match="can't be started"):
        Worker("sound player", ["no-such-program-anywhere"], Patience(30.0, 30.0))


def test_a_process_that_hangs_while_opening_is_given_up(monkeypatch) -> None:
    monkeypatch.setattr(worker, "ENDING_S", 0.05)
    with pytest.raises(SoundError, match="does not answer"):
        started(HANGS, opening_s=0.05)


def test_a_process_that_stops_answering_is_trouble_and_is_ended_by_force(monkeypatch, eventually) -> None:
    monkeypatch.setattr(worker, "ENDING_S", 0.05)
    process = started(WELL + HANGS, answer_s=0.05)
    process.ask()
    eventually(lambda: process.trouble() == "the sound player does not answer")
    process.end()
    eventually(lambda: process.trouble() == "the sound player has ended")


SLOW = """
import sys, time
for line in sys.stdin:
    time.sleep(0.2)
    print('["well"]' if line == '["ask"]\\n' else '["done"]', flush=True)
"""


def test_a_process_that_answers_one_order_after_another_is_no_trouble_while_it_does(eventually) -> None:
    heard, troubles = [], []
    process = started(WELL + SLOW, answer_s=0.8, hear=heard.append)
    for _ in range(8):
        process.send("do")
    process.ask()
    eventually(lambda: troubles.append(process.trouble()) or len(heard) == 8)
    assert set(troubles) == {None}
    process.end()


def test_orders_to_a_process_that_has_ended_do_nothing(eventually) -> None:
    process = started(WELL + "import sys; sys.stdin.readline()")
    process.send("hush")
    eventually(lambda: process.trouble() == "the sound player has ended")
    for _ in range(3):
        process.send("hush")
    process.end()
    process.send("hush")


def test_what_a_library_writes_on_its_error_output_reaches_nobody(capfd) -> None:
    process = started("import os; os.write(2, b'ALSA lib: words')\n" + SERVES)
    process.end()
    assert capfd.readouterr() == ("", "")


def test_the_real_process_refuses_or_plays_but_always_answers_and_ends() -> None:
    """On a machine with a sound device it opens it; without one it says so."""
    found = None
    try:
        process = Worker("sound player", command("devices", "miniaudio", "0.0"), PLAYER_PATIENCE)
        found = process.trouble()
        process.end()
    except SoundError as trouble:
        found = str(trouble)
    assert found is None or "device" in found


def served(*orders, trouble=lambda: None) -> tuple[list, list]:
    """Return what was obeyed and what was answered."""
    obeyed, answers = [], []
    try:
        serve(orders, obeyed.append, trouble, lambda *words: answers.append(words))
    except SoundError as reason:
        answers.append(str(reason))
    return obeyed, answers


def test_asked_a_worker_says_that_all_is_well() -> None:
    assert served(["ask"], ["ask"]) == ([], [("well",)] * 3)


def test_orders_are_obeyed_in_turn() -> None:
    assert served(["hush"], ["ask"], ["withdraw", 3.5]) == ([["hush"], ["withdraw", 3.5]], [("well",)] * 2)


def test_trouble_ends_the_service() -> None:
    found = served(["ask"], ["hush"], trouble=lambda: "the sound device has stopped")
    assert found == ([], [("well",), "the sound device has stopped"])


LIFE = """
import sys
from threading import Event
from holdtimer.errors import SoundError
from holdtimer.sound.worker import answer, orders, serve, working
with working():
{}
"""
LIVES = {
    "refuses": "    raise SoundError('there is no sound device')",
    "serves": "    serve(orders(), lambda order: answer('obeyed', *order))",
    "hangs at an order": "    serve(orders(), lambda order: Event().wait())",
    "hangs at its end": "    serve(orders(), answer); Event().wait()",
    "fails": "    serve(orders(), lambda order: 1 / 0)",
}


def life(name, send=""):
    """Run a whole life of a worker, and return its answers; it must end whatever happens in it."""
    words = [sys.executable, "-c", LIFE.format(LIVES[name])]
    done = subprocess.run(words, input=send, capture_output=True, text=True, timeout=30)
    assert done.returncode == 0
    return done.stdout.splitlines()


def test_a_worker_whose_work_can_not_begin_says_why() -> None:
    assert life("refuses") == ['["trouble", "there is no sound device"]']


def test_a_worker_passes_over_lines_that_are_no_orders_and_ends_with_its_input() -> None:
    assert life("serves", 'nonsense\n["a \\n b"]\n["ask"]\n') == [
        '["well"]',
        '["obeyed", "a \\n b"]',
        '["well"]',
    ]


@pytest.mark.parametrize("name", ["hangs at an order", "hangs at its end", "fails"])
def test_a_worker_ends_with_its_input_whatever_hangs_or_fails(name) -> None:
    assert life(name, '["do"]\n')[0] == '["well"]'


def test_a_worker_that_nobody_asks_ends_though_its_input_stays_open() -> None:
    words = [sys.executable, "-c", LIFE.format("    serve(orders(0.05), print); Event().wait()")]
    process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL)
    with process:
        assert process.wait(30) == 0
