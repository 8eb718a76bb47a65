from pathlib import Path

import pytest

from holdtimer import __version__
from holdtimer.errors import LogHeldError
from holdtimer.sound.patterns import Sound


def test_help_and_version(call):
    assert call("--version").out == f"holdtimer {__version__}\n"
    told = call("--help")
    assert told.code == 0
    assert "run" in told.out
    assert "doctor" in told.out


@pytest.mark.parametrize(
    "args",
    [
        ["no-such-command"],
        ["run"],
        ["run", "hall", "--speed", "0.24"],
        ["run", "hall", "--speed", "100.1"],
        ["run", "hall", "--speed", "nan"],
        ["run", "hall", "--speed", "fast"],
        ["run", "hall", "--sound", "trumpet"],
        ["run", "hall", "--resume", "--close"],
        ["run", "no-such-program", "--plain"],
        ["run", "chair-and-counter", "--plain", "--script", "Z"],
        ["run", "chair-and-counter", "--plain", "--resume"],
        ["run", "chair-and-counter", "--close"],
        ["run", "chair-and-counter"],
        [],
        ["check"],
        ["check", "no-such-program"],
        ["show", "19990101"],
        ["next", "no-such-program"],
        ["next", "chair-and-counter", "--at", "yesterday"],
        ["next", "chair-and-counter", "--at", "0001-01-01"],
        ["trend", "chair-and-counter", "--at", "9999-12-31T23:59-12:00"],
    ],
)
def test_bad_input_is_two_with_words_and_nothing_written(call, data, args):
    told = call(*args)
    assert told.code == 2
    assert told.out == ""
    assert told.err.strip()
    assert "Traceback" not in told.err
    assert not data.exists()


LONG = "a" * 5000


@pytest.mark.parametrize(
    "args",
    [
        ["show", "--data", "~nosuchuser/x"],
        ["export", "csv", "-o", "~nosuchuser/x"],
        ["export", "csv", "-o", LONG],
        ["check", LONG],
        ["import", LONG, "chair-and-counter"],
        ["show", LONG],
    ],
)
def test_a_path_that_can_be_none_is_bad_input(call, args):
    told = call(*args)
    assert (told.code, told.out) == (2, "")
    assert "internal" not in told.err


def test_settings_at_a_path_that_can_be_none_are_not_passed_over(call, monkeypatch):
    monkeypatch.setenv("HOLDTIMER_CONFIG", "~nosuchuser/config.toml")
    assert call("config").code == 2


@pytest.fixture(params=["XXX-100", "UTC+25:61:61", f"Europe/{LONG}", "", ":", "../../etc/passwd", "<>"])
def odd_zone(request, monkeypatch):
    import time

    if not hasattr(time, "tzset"):
        pytest.skip("the zone of this process can't be changed")
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield request.param
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("odd_zone")
def test_an_odd_time_zone_is_no_fault(call, hall, data):
    from datetime import UTC, datetime

    from holdtimer.log.lock import hold

    assert call("next", hall, "--json").json["ready"]
    assert call("next", hall, "--at", "2026-03-29T02:30").code == 0
    with hold(data, datetime.now(UTC)), pytest.raises(LogHeldError):
        hold(data, datetime.now(UTC))


@pytest.fixture
def broken(monkeypatch):
    def check(args):
        raise RuntimeError("out of order")

    monkeypatch.setattr("holdtimer.cli.check.check", check)


@pytest.mark.usefixtures("broken")
def test_a_mistake_of_our_own_is_seventy_and_one_line(call):
    told = call("check", "floor")
    assert told.code == 70
    assert told.err == "internal error in holdtimer: RuntimeError: out of order\n"


@pytest.mark.usefixtures("broken")
def test_where_it_is_asked_for_a_mistake_of_our_own_tells_its_place_too(call, monkeypatch):
    monkeypatch.setenv("HOLDTIMER_TRACEBACK", "1")
    told = call("check", "floor")
    assert told.code == 70
    assert told.err.startswith("internal error in holdtimer: RuntimeError: out of order\nTraceback")


@pytest.mark.parametrize("where", ["build_parser", "check.check"])
def test_ctrl_c_is_128_and_its_number(call, monkeypatch, where):
    def interrupted(*args):
        raise KeyboardInterrupt

    monkeypatch.setattr(f"holdtimer.cli.{where}", interrupted)
    assert call("check", "floor").code == 130


def test_a_reader_that_went_away_is_no_fault(tmp_path):
    import subprocess
    import sys

    with subprocess.Popen(
        [sys.executable, "-m", "holdtimer", "schema"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait(30) == 0


@pytest.mark.parametrize(
    ("output", "code", "words"),
    [
        ("> /dev/full", 2, "not all of the answer could be written to standard output: No space left"),
        (">&-", 2, "standard output is closed"),
        ("| head -1 > /dev/null; exit ${PIPESTATUS[0]}", 0, ""),
        ("<&- 2>&- > /dev/null", 0, ""),
        ("2> /dev/full > /dev/null", 0, ""),
    ],
)
def test_output_that_is_lost_is_told_and_is_no_fault_of_ours(output, code, words):
    import shutil
    import subprocess
    import sys

    bash = shutil.which("bash")
    if bash is None or not Path("/dev/full").exists():
        pytest.skip("no shell, or no full device")
    shell = f'"{sys.executable}" -m holdtimer --help {output}'
    said = subprocess.run([bash, "-c", shell], capture_output=True, text=True, timeout=60, check=False)
    assert (said.returncode, said.stdout) == (code, "")
    assert words in said.stderr
    assert bool(words) == bool(said.stderr)


def test_letters_that_the_output_has_not_are_no_fault(process):
    told = process("check", "chair-and-counter", env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert (told.code, told.err) == (0, "")


def test_sounds_names_every_sound(call, monkeypatch):
    monkeypatch.setattr("time.sleep", lambda seconds: None)
    told = call("sounds", "--sound", "off")
    assert told.code == 0
    for sound in Sound:
        assert f"{sound.value} - " in told.out


def test_the_data_folder_may_come_from_the_environment(call, trained, data, tmp_path):
    trained(40.0)
    assert call("show", "--json").json["person"] == "Ada"
    assert call("show", "--json", "--data", tmp_path / "elsewhere").json["session"] is None
