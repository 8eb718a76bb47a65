"""What could not be written where it belongs is offered somewhere else, in a real terminal."""

import time
from functools import partial

import pytest

from tests.live.stage import CAUTIONS, NEW_SCREEN_S, TAP

LEAVE, ENTER, DOWN, RIGHT = b"\x11", b"\r", b"\x1b[B", b"\x1b[C"

pytestmark = pytest.mark.xdist_group("terminals")
SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


def unwritten(stage, plain):
    """Begin a session in a folder that can't be made."""
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
    terminal.wait_for("another folder.*\n(.*\n)*.*another folder")
    terminal.send(f"{stage.elsewhere}\n".encode())
    terminal.wait_for("all of it is in")
    return stage.end()


PLACES = {"in plain lines": True, "on the full screen": False}
SCENARIOS |= {name: partial(_all_to_another_folder, plain=plain) for name, plain in PLACES.items()}


@scenario
def no_folder_named(stage):
    terminal = unwritten(stage, plain=True).terminal
    terminal.send(LEAVE)
    terminal.wait_for("another folder")
    terminal.send(b"\n")
    return stage.end()


@scenario
def terminated(stage):
    unwritten(stage, plain=True).terminal.process.terminate()
    return stage.end()


def answered_in_vain(stage):
    """Lose the folder while the summary is shown: the session is in it, what is answered then is not."""
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
    terminal.wait_for("your answers count once that file is in the folder of the session")
    return stage.end()


@scenario
def terminated_with_answers(stage):
    answered_in_vain(stage).terminal.process.terminate()
    return stage.end()


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


@pytest.mark.parametrize("place", PLACES)
def test_all_of_it_goes_to_another_folder(stages, written_class, place):
    stage = stages(place)
    assert stage.code == 1
    lines = written_class(stage.elsewhere).lines()
    assert [line["n"] for line in lines] == list(range(len(lines)))
    assert lines[0]["ev"] == "opened"
    assert lines[-1]["ev"] == "left"
    assert stage.terminal.settings_now() == stage.terminal.settings


def test_no_folder_named_is_an_answer_too(stages):
    stage = stages("no_folder_named")
    assert stage.code == 3
    assert not list(stage.elsewhere.parent.glob(f"{stage.elsewhere.name}*/**/*.jsonl"))


def test_nobody_is_asked_who_is_not_there(stages):
    stage = stages("terminated")
    assert stage.code == 3
    assert b"not all of the session is saved" in stage.terminal.output
    assert b"another folder" not in stage.terminal.output


def test_answers_that_cannot_be_written_are_told_and_go_to_another_folder(stages, written_class):
    stage = stages("answers_to_another_folder")
    assert stage.code == 0
    lines = written_class(stage.elsewhere).lines()
    assert [line["ev"] for line in lines][-2:] == ["answer", "closed"]


def test_nobody_is_asked_for_the_answers_who_is_not_there(stages):
    stage = stages("terminated_with_answers")
    assert stage.code == 3
    assert b"not all of your answers are saved" in stage.terminal.output
    assert b"another folder" not in stage.terminal.output
