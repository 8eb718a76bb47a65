"""What could not be written: saved somewhere by itself, else asked about until losing it is meant."""

import os
import select
import signal
import sys
import threading
from types import SimpleNamespace

import pytest

from holdtimer.cli import fallback_save
from holdtimer.cli.fallback_save import answers_saved, finish_run, save_by_itself
from holdtimer.cli.paths import SAVED_ELSEWHERE
from holdtimer.session import events as ev

PLACE = {"set": 1, "exercise": "wall-sit", "side": "both"}
EVENTS = [
    ev.Failure(n=4, t=20.0, at=8.0, late_ms=0.2, **PLACE),
    ev.ReEntry(n=5, t=25.0, at=13.0, late_ms=0.2, **PLACE),
    ev.Left(n=6, t=26.0, reason="quit"),
]


class Unsaved:
    """Something that is over and was not written; it can be in one of these folders alone."""

    def __init__(self, *good):
        self.is_written = False
        self.writer = SimpleNamespace(
            moved_because=None, why_not_saved="the disk is full", unsaved=EVENTS, path=None
        )
        self.tried = []
        self._good = good

    def save_elsewhere(self, folder):
        self.tried.append(folder)
        self.writer.moved_because, self.writer.path = "the disk is full", folder / "ada" / "x.jsonl"
        if folder.parent.is_dir():
            (folder / "ada").mkdir(parents=True)
        self.is_written = any(folder.is_relative_to(each) for each in self._good)
        return self.is_written


@pytest.fixture
def places(tmp_path, monkeypatch):
    """A home and a folder of temporary files."""
    home, temporary = tmp_path / "home", tmp_path / "temporary"
    home.mkdir()
    temporary.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr("tempfile.tempdir", str(temporary))
    return home, temporary


def test_home_comes_first_then_the_temporary_files_and_each_new_folder_is_of_its_own(places):
    home, temporary = places
    for good in (home, temporary):
        first, second = Unsaved(good), Unsaved(good)
        assert save_by_itself(first)
        assert save_by_itself(second)
        assert first.tried[-1].parent == good
        assert [each.exists() for each in first.tried] == [False] * (len(first.tried) - 1) + [True]
        assert not set(first.tried) & set(second.tried)


def test_a_home_that_does_not_answer_or_is_not_there_is_passed_over(places, monkeypatch):
    _, temporary = places
    hung = threading.Event()
    monkeypatch.setattr(fallback_save, "_FOLDER_WAIT_S", 0.01)
    monkeypatch.setattr(fallback_save, "_home", lambda: hung.wait(10))
    assert save_by_itself(Unsaved(temporary))
    hung.set()
    monkeypatch.undo()
    monkeypatch.setenv("HOME", "/dev/null")
    monkeypatch.setattr("tempfile.tempdir", "/dev/null")
    assert not save_by_itself(Unsaved(temporary))


def test_what_was_saved_elsewhere_is_told_until_it_is_in_the_log(places, call, trained, hall, data):
    path = trained(40.0, until=100)
    saved = places[0] / f"{SAVED_ELSEWHERE}-0123456789abcdef" / path.parent.name / path.name
    saved.parent.mkdir(parents=True)
    saved.write_bytes(path.read_bytes())
    assert call("next", hall).err == ""
    path.write_bytes(path.read_bytes()[:-200])  # a part of it is not all of it
    assert f"does not count yet: move {saved} into {path.parent}" in call("next", hall).err
    saved.replace(path)
    assert call("next", hall).err == ""


# -- asked in a terminal


@pytest.fixture
def asked(places, monkeypatch):
    """Answer question after question with bytes, or a signal; return the exit code and what was shown."""
    pty = pytest.importorskip("pty")

    def asked(unsaved, *answers):
        master, slave = pty.openpty()
        shown = b""

        def answer():
            nonlocal shown
            for each in answers:
                before = shown.count(b"another folder: ")
                while shown.count(b"another folder: ") == before:
                    shown += os.read(master, 4096)
                if isinstance(each, bytes):
                    os.write(master, each)
                else:
                    os.kill(os.getpid(), each)
                    if each == signal.SIGINT:  # the same question waits on
                        while b"nothing is lost yet" not in shown:
                            shown += os.read(master, 4096)
                        os.write(master, b"\n")

        with open(slave, closefd=False) as stdin, open(slave, "w", closefd=False) as stderr:
            monkeypatch.setattr(sys, "stdin", stdin)
            monkeypatch.setattr(sys, "stderr", stderr)
            thread = threading.Thread(target=answer, daemon=True)
            thread.start()
            code = answers_saved(unsaved, 0)
            thread.join(5)
            assert not thread.is_alive(), shown
            while select.select([master], [], [], 0.05)[0]:
                shown += os.read(master, 4096)
        monkeypatch.undo()
        os.close(slave)
        os.close(master)
        return code, shown.decode(errors="replace").replace("\r\n", "\n")

    return asked


def test_whatever_is_no_folder_is_asked_again(asked, tmp_path):
    bad = [
        b"~nosuchuser/x\n",
        b"/dev/shm/\0\n",
        b"/dev/shm/\x1b]0;title\x07\n",
        b"/\xff\n",
        b"\n",
        b"   \n",
        signal.SIGINT,
        b"yes\n",
        b"no\n",
        b"\x04",
        b"/dev/null/x\n",
    ]
    unsaved = Unsaved(tmp_path / "stick")
    code, shown = asked(unsaved, *bad, f"{tmp_path}/stick\n".encode())
    assert code == 0
    assert shown.count("not saved: 2 stamps among 3 lines of the log") == 2  # at first, and after a bad disk
    assert f"all of it is in {tmp_path}/stick/ada/x.jsonl" in shown
    assert [each.name for each in unsaved.tried[-2:]] == ["x", "stick"]


@pytest.mark.parametrize(
    "answers", [[b"\n", b" Discard \n"], [b"\x04", b"\x04", b"\x04"], [b"no\n", signal.SIGTERM]]
)
def test_a_word_that_means_it_a_terminal_that_is_gone_and_a_termination_end_it(asked, answers):
    code, shown = asked(Unsaved(), *answers)
    assert code == 3
    assert "all of it is in" not in shown


def test_where_nobody_is_there_nobody_is_asked(places, capsys):
    assert answers_saved(Unsaved(), 0) == 3
    assert "another folder" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("begun", "command"),
    [
        ("floor", "holdtimer run floor --resume --person Ada"),
        ("every-four-weeks", "holdtimer run every-four-weeks --resume --person Ada"),
    ],
)
def test_what_was_left_is_resumed_by_its_own_program_whichever_was_named(begun, command, capsys):
    opened = ev.Opened(n=0, t=0, session="20261101T090000Z-00000001", person="Ada", program=begun, script="A")
    driver = SimpleNamespace(engine=SimpleNamespace(session=SimpleNamespace(opened=opened, left="quit")))
    writer = SimpleNamespace(moved_because=None)
    run = SimpleNamespace(is_written=True, writer=writer, driver=driver, is_unbegun=False)
    args = SimpleNamespace(program="floor", person="Ada", data=None, plain=False)
    assert finish_run(run, args, 2) == 2
    assert capsys.readouterr().out.splitlines()[-1].strip() == command
