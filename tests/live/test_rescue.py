"""What could not be written where it belongs is saved somewhere else, in a real terminal."""

import re
import time
from functools import partial

import pytest

from tests.live.stage import CAUTIONS, NEW_SCREEN_S, TAP

LEAVE, ENTER, DOWN, RIGHT = b"\x11", b"\r", b"\x1b[B", b"\x1b[C"

pytestmark = pytest.mark.waits
SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


BAD_DISK = "import runpy; runpy.run_module('tests.live.bad_disk', run_name='__main__', alter_sys=True)"
NOWHERE = {"HOME": "/dev/null", "BAD_TEMP": "/dev/null"}  # where nothing can be saved by itself


def on_a_bad_disk(stage, **env):
    start, code = stage.terminals, BAD_DISK if "BAD_NOW" in env else None
    stage.terminals = lambda *args: start(*args, code=code, env={key: str(env[key]) for key in env})
    return stage


def unwritten(stage, plain):
    """Begin a session in a folder that can't be made."""
    on_a_bad_disk(stage, **NOWHERE)
    stage.data.with_name(f"{stage.data.name} file").write_text("")
    stage.elsewhere, stage.data = stage.data, stage.data.with_name(f"{stage.data.name} file") / "data"
    stage.run("--speed", "20", plain=plain)
    if plain:
        stage.terminal.wait_for("tap: I have read this")
        stage.taps_until_printed("noted, not yet saved").taps_until_printed("window-open")
    else:
        stage.terminal.wait_for(CAUTIONS)
        stage.taps_until_printed("not saved yet|not yet saved")
        time.sleep(NEW_SCREEN_S)
        stage.press(TAP, every_s=1.0)  # before anything has begun there is nothing to save
    return stage


def _all_to_another_folder(stage, plain):
    terminal = unwritten(stage, plain).terminal
    terminal.send(LEAVE)
    terminal.wait_for("not all of the session is saved: the folder is gone")
    terminal.wait_for("another folder")
    terminal.send(f"{stage.data}\n".encode())  # which is no better
    terminal.wait_for("(another folder: (.|\n)*){4}")
    terminal.send(f"{stage.elsewhere}\n".encode())
    terminal.wait_for("all of it is in")
    return stage.end()


PLACES = {"in plain lines": True, "on the full screen": False}
SCENARIOS |= {name: partial(_all_to_another_folder, plain=plain) for name, plain in PLACES.items()}


@scenario
def given_up(stage):
    terminal = unwritten(stage, plain=True).terminal
    terminal.send(LEAVE)
    for number, answer in enumerate((b"\n", b"no\n", b"\x04", b"discard\n"), start=1):
        terminal.wait_for("(another folder: (.|\n)*)" + f"{{{2 * number}}}")  # twice each time
        if answer == b"\x04":
            terminal.send(b"\x03")
            terminal.wait_for("nothing is lost yet")
        terminal.send(answer)
    return stage.end()


def hung(stage, plain):
    """Work a set, and let the disk hang in everything, reading included, from the middle of its window on."""
    stage.elsewhere = stage.data.with_name(f"{stage.data.name} temp")
    stage.elsewhere.mkdir()
    now = stage.data.with_name(f"{stage.data.name} hangs")
    on_a_bad_disk(stage, HOME="/dev/null", BAD_TEMP=stage.elsewhere, BAD_DATA=stage.data, BAD_NOW=now)
    stage.open(plain).tap("failure")
    now.write_text("")
    time.sleep(2.3)  # nobody is back in sooner
    stage.terminal.send(TAP)
    return stage


@scenario
def hung_to_the_end(stage):
    stage = hung(stage, plain=True)
    stage.terminal.wait_for("the disk does not answer, so next time is not known")
    stage.terminal.wait_for("close|How were the sets")
    return stage.taps_off(1, patience_s=30.0).end()


@scenario
def hung_and_terminated(stage):
    stage = hung(stage, plain=False)
    time.sleep(1.0)
    stage.terminal.process.terminate()
    return stage.end()


def answered_in_vain(stage, **env):
    """Lose the folder while the summary is shown: the session is in it, what is answered then is not."""
    on_a_bad_disk(stage, **(env or NOWHERE))
    stage.run("--speed", "20", plain=False).past_the_cautions().tap_until("count-in")
    stage.written.wait_for("window-open")
    stage.terminal.send(b" ")
    stage.terminal.wait_for("Arrows, then Enter")  # the session is saved by now
    (log,) = stage.data.rglob("*.jsonl")
    log.parent.rename(stage.data.with_name(f"{stage.data.name} away"))
    log.parent.write_text("")
    stage.elsewhere = stage.data.with_name(f"{stage.data.name} elsewhere")
    time.sleep(1.7)
    return stage.press(DOWN, ENTER, RIGHT, RIGHT)  # the set, its questions, an effort


@scenario
def answers_to_another_folder(stage):
    terminal = answered_in_vain(stage).terminal
    time.sleep(1.0)  # a tap counts only so long after other keys
    stage.taps_until_printed("not all of your answers are saved: the folder is gone")
    terminal.wait_for("another folder")
    terminal.send(f"{stage.elsewhere}\n".encode())
    terminal.wait_for("it counts once that file is in the folder of your log")
    return stage.end()


@scenario
def terminated_with_answers(stage):
    home = stage.data.with_name(f"{stage.data.name} home")
    home.mkdir()
    answered_in_vain(stage, HOME=home, BAD_TEMP="/dev/null").terminal.process.terminate()
    stage.elsewhere = home
    return stage.end()


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


def saved_in(stage, written_class, last):
    """Check that all of the session is in a folder that is the owner's alone, and that it was named."""
    lines = written_class(stage.elsewhere).lines()
    assert [line["n"] for line in lines] == list(range(len(lines)))
    assert lines[-1]["ev"] == last
    (folder,) = stage.elsewhere.iterdir()
    assert folder.stat().st_mode & 0o777 == 0o700
    assert str(folder).encode() in b"".join(stage.terminal.output.splitlines())
    return lines


@pytest.mark.parametrize("place", PLACES)
def test_all_of_it_goes_to_another_folder(stages, written_class, place):
    stage = stages(place)
    assert stage.code == 1
    lines = written_class(stage.elsewhere).lines()
    assert [line["n"] for line in lines] == list(range(len(lines)))
    assert lines[0]["ev"] == "opened"
    assert lines[-1]["ev"] == "left"
    assert stage.terminal.settings_now() == stage.terminal.settings


def test_only_a_word_that_means_it_gives_up_what_is_not_saved(stages):
    stage = stages("given_up")
    assert stage.code == 3
    assert re.search(rb"not saved: \d+ lines of the log", stage.terminal.output)
    assert not list(stage.elsewhere.parent.glob(f"{stage.elsewhere.name}*/**/*.jsonl"))


def test_a_disk_that_hangs_in_reading_too_keeps_nobody_and_loses_nothing(stages, written_class):
    stage = stages("hung_to_the_end")
    assert stage.code == 3
    lines = saved_in(stage, written_class, last="closed")
    assert [line["ev"] for line in lines if line["ev"] in ("failure", "re-entry")] == ["failure", "re-entry"]
    assert b"failed at" in stage.terminal.output  # the summary


def test_a_termination_ends_a_session_whose_disk_hangs(stages, written_class):
    stage = stages("hung_and_terminated")
    assert stage.code == 3
    saved_in(stage, written_class, last="left")
    assert b"another folder" not in stage.terminal.output
    assert stage.terminal.settings_now() == stage.terminal.settings


def test_answers_that_cannot_be_written_are_told_and_go_to_another_folder(stages, written_class):
    stage = stages("answers_to_another_folder")
    assert stage.code == 0
    lines = written_class(stage.elsewhere).lines()
    assert [line["ev"] for line in lines][-2:] == ["answer", "closed"]


def test_after_a_termination_answers_are_saved_all_the_same(stages, written_class):
    stage = stages("terminated_with_answers")
    assert stage.code == 3
    assert b"not all of your answers are saved" in stage.terminal.output
    assert b"another folder" not in stage.terminal.output
    saved_in(stage, written_class, last="closed")
