"""Small files are read without waiting, written whole, and lead out of no folder."""

import errno
import os
import stat
import threading
from datetime import UTC, datetime

import pytest

from holdtimer import files
from holdtimer.cli.paths import Remembered, remember, remembered
from holdtimer.config import keep, read_config
from holdtimer.errors import LogHeldError, ProgramError
from holdtimer.files import read_bounded, within, write_whole
from holdtimer.log.lock import hold
from holdtimer.program.loading import find, load


@pytest.fixture
def victim(tmp_path):
    """A file of somebody that must stay as it is."""
    path = tmp_path / "victim"
    path.write_text("mine")
    return path


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "folder").mkdir()
    return tmp_path / "folder"


@pytest.fixture
def guessed(monkeypatch):
    """Let the next random name be known beforehand."""
    monkeypatch.setattr(files, "token_hex", lambda size: "0" * 2 * size)
    return ".0000000000000000.part"


@pytest.mark.parametrize("umask", [0o000, 0o022, 0o377])
def test_a_file_is_for_its_owner_alone_whatever_the_umask(folder, umask):
    before = os.umask(umask)
    try:
        write_whole(folder / "a", b"new")
    finally:
        os.umask(before)
    assert stat.S_IMODE((folder / "a").stat().st_mode) == 0o600
    assert (folder / "a").read_bytes() == b"new"
    assert os.listdir(folder) == ["a"]


@pytest.mark.parametrize("kind", ["link", "file", "pipe"])
def test_what_lies_under_the_name_of_the_part_is_never_followed_or_written(folder, victim, guessed, kind):
    trap = folder / guessed
    if kind == "link":
        trap.symlink_to(victim)
    elif kind == "file":
        trap.write_text("theirs")
    else:
        os.mkfifo(trap)
    with pytest.raises(FileExistsError):
        write_whole(folder / "a", b"new")
    assert victim.read_text() == "mine"
    assert os.listdir(folder) == [guessed]


def test_a_link_in_its_place_is_replaced_not_followed(folder, victim):
    (folder / "a").symlink_to(victim)
    write_whole(folder / "a", b"new")
    assert victim.read_text() == "mine"
    assert not (folder / "a").is_symlink()


@pytest.mark.parametrize("call", ["fsync", "fchmod", "replace"])
def test_what_cannot_be_written_whole_leaves_the_old_one_and_nothing_else(folder, monkeypatch, call):
    (folder / "a").write_text("old")

    def fail(*args):
        raise OSError(errno.ENOSPC, "injected") if call != "fchmod" else MemoryError

    monkeypatch.setattr(*((os, call) if call != "replace" else (type(folder), call)), fail)
    with pytest.raises((OSError, MemoryError)):
        write_whole(folder / "a", b"new")
    assert (folder / "a").read_text() == "old"
    assert os.listdir(folder) == ["a"]


@pytest.mark.parametrize("name", [".remembered.json.part", "remembered.json"])
def test_what_is_remembered_follows_no_link(folder, victim, name):
    (folder / name).symlink_to(victim)
    remember(folder, "Ada", load(find("floor")))
    assert victim.read_text() == "mine"
    assert remembered(folder).person == "Ada"


def test_function_tests_alone_do_not_take_the_place_of_what_somebody_trains_with(folder):
    found = []
    for person, program in (("Ada", "floor"), ("Ada", "every-four-weeks"), ("Ben", "every-four-weeks")):
        remember(folder, person, load(find(program)))
        found.append(os.path.basename(remembered(folder).program).removesuffix(".toml"))
    assert found == ["floor", "floor", "every-four-weeks"]


def test_settings_follow_no_link_beside_them(folder, victim):
    (folder / ".config.toml.part").symlink_to(victim)
    keep("Ada", "speaker_delay_s", 0.5, folder / "config.toml")
    assert victim.read_text() == "mine"
    assert read_config("Ada", folder / "config.toml").values.speaker_delay_s == 0.5


def test_the_folder_of_the_settings_is_for_its_owner_alone(folder):
    before = os.umask(0)
    try:
        keep("Ada", "speaker_delay_s", 0.5, folder / "new" / "config.toml")
    finally:
        os.umask(before)
    assert stat.S_IMODE((folder / "new").stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "new" / "config.toml").stat().st_mode) == 0o600


def test_settings_that_are_a_link_stay_one(folder, tmp_path):
    real = tmp_path / "dotfiles.toml"
    real.write_text("volume = 0.5\n")
    (folder / "config.toml").symlink_to(real)
    keep("Ada", "speaker_delay_s", 0.5, folder / "config.toml")
    assert (folder / "config.toml").is_symlink()
    assert "volume = 0.5" in real.read_text()
    assert "speaker_delay_s" in real.read_text()


# -- what lies in their place


@pytest.fixture(params=["pipe", "folder", "nested", "huge", "loop"])
def poison(request):
    def put(path):
        if request.param == "pipe":
            os.mkfifo(path)
        elif request.param == "folder":
            path.mkdir()
        elif request.param == "nested":
            path.write_bytes(b"[" * 90_000)
        elif request.param == "huge":
            with path.open("wb") as file:
                file.truncate(10**9)
        else:
            path.symlink_to(path)

    return put


def test_whatever_lies_in_the_place_of_the_holder_of_a_log_holds_nobody_up(folder, poison):
    poison(folder / "run.holder")
    with hold(folder, datetime.now(UTC)), pytest.raises(LogHeldError):
        hold(folder, datetime.now(UTC))


def test_whatever_lies_in_the_place_of_what_is_remembered_holds_nobody_up(folder, poison):
    poison(folder / "remembered.json")
    assert remembered(folder) == Remembered()


def test_settings_that_cannot_be_read_are_named(folder, poison):
    path = folder / "config.toml"
    poison(path)
    if path.exists():  # a link in a circle is no file
        with pytest.raises(ProgramError):
            read_config("Ada", path)


@pytest.mark.parametrize(("limit", "words"), [(2 * 1024**2, "2 MB"), (100_000, "100 kB")])
def test_a_file_too_large_is_refused_in_words(folder, limit, words):
    (folder / "a").write_bytes(b"x" * (limit + 1))
    with pytest.raises(OSError, match=f"it is larger than {words}"):
        read_bounded(folder / "a", limit)


# -- a disk that never answers


def test_a_call_to_the_disk_is_waited_for_no_longer_than_is_said():
    answers = threading.Event()
    with pytest.raises(TimeoutError):
        within(0.01, answers.wait)
    answers.set()
    assert within(5, answers.wait)
    with pytest.raises(FileNotFoundError):
        within(5, lambda: os.stat("/no/such/file"))
