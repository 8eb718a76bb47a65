"""What could not be written where it belongs is offered somewhere else, in a real terminal."""

import time

import pytest


@pytest.fixture
def nowhere(tmp_path):
    """A data folder that can't be made."""
    (tmp_path / "file").write_text("")
    return tmp_path / "file" / "data"


def left_unwritten(terminals, hall, nowhere, plain):
    """Begin a session that can't be written, and leave it."""
    more = ["--plain"] if plain else []
    terminal = terminals("run", hall, "--data", nowhere, "--sound", "off", "--speed", "20", *more)
    if plain:
        terminal.wait_for("tap: ready")
        terminal.wait_for("noted, not yet saved")
    else:
        terminal.wait_for("doctor")
        time.sleep(1.7)
        terminal.send(b" ")
        terminal.wait_for("not saved yet|not yet saved")
    terminal.send(b"\x11")
    return terminal


@pytest.mark.parametrize("plain", [True, False])
def test_all_of_it_goes_to_another_folder(terminals, hall, nowhere, tmp_path, written_class, plain):
    terminal = left_unwritten(terminals, hall, nowhere, plain)
    terminal.wait_for("not all of the session is saved: the folder is gone")
    terminal.wait_for("another folder")
    terminal.send(f"{nowhere}\n".encode())  # which is no better
    terminal.wait_for("another folder.*\n(.*\n)*.*another folder")
    terminal.send(f"{tmp_path / 'elsewhere'}\n".encode())
    terminal.wait_for("all of it is in")
    assert terminal.end() == 1
    lines = written_class(tmp_path / "elsewhere").lines()
    assert [line["n"] for line in lines] == list(range(len(lines)))
    assert lines[0]["ev"] == "opened"
    assert lines[-1]["ev"] == "left"
    assert terminal.settings_now() == terminal.settings


def test_no_folder_named_is_an_answer_too(terminals, hall, nowhere, tmp_path):
    terminal = left_unwritten(terminals, hall, nowhere, plain=True)
    terminal.wait_for("another folder")
    terminal.send(b"\n")
    assert terminal.end() == 3
    assert not list(tmp_path.rglob("*.jsonl"))


def test_nobody_is_asked_who_is_not_there(terminals, hall, nowhere):
    terminal = terminals("run", hall, "--plain", "--data", nowhere, "--sound", "off")
    terminal.wait_for("tap: ready")
    terminal.process.terminate()
    assert terminal.end() == 3
    assert b"not all of the session is saved" in terminal.output
    assert b"another folder" not in terminal.output


@pytest.fixture
def answered_in_vain(terminals, hall, tmp_path, written_class):
    """The folder is lost while the summary is shown: the session is in it, what is answered then is not."""
    data = tmp_path / "data"
    terminal = terminals("run", hall, "--data", data, "--sound", "off", "--speed", "20")
    terminal.wait_for("doctor")
    time.sleep(1.7)
    terminal.send(b" ")
    written = written_class(data)
    written.wait_for("opened")
    time.sleep(1.7)
    terminal.send(b" ")
    written.wait_for("window-open")
    terminal.send(b" ")
    terminal.wait_for("Arrows, then Enter")  # the session is saved by now
    (log,) = data.rglob("*.jsonl")
    log.parent.rename(tmp_path / "away")
    log.parent.write_text("")
    time.sleep(1.7)
    for key in (b"\x1b[B", b"\r", b"\x1b[C", b"\x1b[C"):  # the set, its questions, an effort
        terminal.send(key)
        time.sleep(0.3)
    return terminal


def test_answers_that_cannot_be_written_are_told_and_go_to_another_folder(
    answered_in_vain, tmp_path, written_class
):
    terminal = answered_in_vain
    time.sleep(1.0)  # a tap counts only so long after other keys
    terminal.send(b" ")
    terminal.wait_for("not all of your answers are saved: the folder is gone")
    terminal.wait_for("another folder")
    terminal.send(f"{tmp_path / 'elsewhere'}\n".encode())
    terminal.wait_for("your answers count once that file is in the folder of the session")
    assert terminal.end() == 0
    lines = written_class(tmp_path / "elsewhere").lines()
    assert [line["ev"] for line in lines][-2:] == ["answer", "closed"]


def test_nobody_is_asked_for_the_answers_who_is_not_there(answered_in_vain):
    answered_in_vain.process.terminate()
    assert answered_in_vain.end() == 3
    assert b"not all of your answers are saved" in answered_in_vain.output
    assert b"another folder" not in answered_in_vain.output
