import errno
import os
import signal
import socket
import stat
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta

import pytest
from filelock import FileLock

from holdtimer.errors import LogHeldError
from holdtimer.log.lock import hold

NOW = datetime(2026, 11, 25, 9, 7, 38, tzinfo=UTC)
OTHER_RUN = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from holdtimer.log.lock import hold
kept = hold(Path(sys.argv[1]), datetime.now(UTC))
print(kept.remark, flush=True)
sys.stdin.read()
"""


@pytest.fixture
def other_run(folder):
    run = subprocess.Popen(
        [sys.executable, "-c", OTHER_RUN, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with run:
        assert run.stdout.readline() == "None\n"
        yield run
        run.kill()


def test_a_second_run_is_told_who_holds_the_log(other_run, folder):
    with pytest.raises(LogHeldError) as held:
        hold(folder, NOW)
    assert (held.value.pid, held.value.host) == (other_run.pid, socket.gethostname())
    assert datetime.fromisoformat(held.value.since).tzinfo
    assert f"held by process {other_run.pid} on {socket.gethostname()}, since " in str(held.value)
    assert "end it first" in str(held.value)


@pytest.mark.parametrize(
    ("later", "words"),
    [(timedelta(hours=1), ", since 12:07: "), (timedelta(days=1), ", since 2026-11-25 12:07: ")],
)
def test_who_holds_the_log_is_told_with_the_time_on_the_wall(folder, later, words, monkeypatch):
    monkeypatch.setenv("TZ", "XYZ-3")
    time.tzset()
    try:
        with hold(folder, NOW), pytest.raises(LogHeldError) as held:
            hold(folder, NOW + later)
    finally:
        monkeypatch.undo()
        time.tzset()
    assert words in str(held.value)


def test_a_killed_run_frees_the_log_at_once(other_run, folder):
    other_run.send_signal(signal.SIGKILL)
    other_run.wait()
    with hold(folder, NOW) as kept:
        assert kept.remark is None


def test_a_released_log_can_be_held_again(folder):
    with hold(folder, NOW), pytest.raises(LogHeldError, match=f"process {os.getpid()}"):
        hold(folder, NOW)
    hold(folder, NOW).release()


@pytest.mark.skipif(sys.platform == "win32", reason="a locked file cannot be deleted there")
@pytest.mark.parametrize("name", ["run.lock", "run.holder"])
def test_a_second_run_is_held_off_though_a_file_of_the_lock_was_deleted(other_run, folder, name):
    (folder / name).unlink()
    with pytest.raises(LogHeldError):
        hold(folder, NOW)
    with pytest.raises(LogHeldError):  # nor did the first try take anything with it
        hold(folder, NOW)
    other_run.kill()
    other_run.wait()
    with hold(folder, NOW) as kept:
        assert kept.remark is None


def test_where_no_folder_can_be_locked_the_file_does(folder, monkeypatch):
    fcntl = pytest.importorskip("fcntl")
    real = fcntl.flock

    def flock(fd, how):
        if stat.S_ISDIR(os.fstat(fd).st_mode):
            raise OSError(errno.EBADF, "injected")
        real(fd, how)

    monkeypatch.setattr(fcntl, "flock", flock)
    with hold(folder, NOW) as kept:
        assert kept.remark is None
        with pytest.raises(LogHeldError):
            hold(folder, NOW)


def test_two_persons_do_not_hinder_each_other(tmp_path):
    with hold(tmp_path / "a", NOW), hold(tmp_path / "b", NOW) as second:
        assert second.remark is None


def test_the_files_of_the_lock_are_for_their_owner_alone(folder):
    with hold(folder, NOW):
        assert {path.name: path.stat().st_mode & 0o777 for path in folder.iterdir()} == {
            "run.lock": 0o600,
            "run.holder": 0o600,
        }


@pytest.mark.parametrize("words", [None, b"", b"\xff\x00\x1b[2J\nhost\nnow", b"x" * 5000])
def test_a_holder_that_cannot_be_told_is_another_run(words, folder):
    with hold(folder, NOW):
        (folder / "run.holder").unlink()
        if words is not None:
            (folder / "run.holder").write_bytes(words)
        with pytest.raises(LogHeldError, match="held by another run") as held:
            hold(folder, NOW)
    assert held.value.pid is None
    assert "since" not in str(held.value)
    assert "\x1b" not in str(held.value)


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.ENOSYS, errno.ENOLCK])
def test_where_nothing_can_be_locked_the_run_goes_on_with_a_remark(number, folder, monkeypatch):
    def fail(*args, **kwargs):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(FileLock, "_acquire", fail)
    with hold(folder, NOW) as kept:
        assert (
            kept.remark
            == f"this log cannot be locked, so a second run would not be stopped: {os.strerror(number)}"
        )


def test_a_folder_that_cannot_be_made_is_a_remark(data):
    data.write_text("in the way")
    with hold(data / "ada", NOW) as kept:
        assert "not be stopped: not a folder" in kept.remark
