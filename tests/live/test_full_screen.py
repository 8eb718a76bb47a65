"""The full screen in a real terminal: what ends it before, and without, a session."""

import time

import pytest

ALTERNATE_ON, ALTERNATE_OFF = b"\x1b[?1049h", b"\x1b[?1049l"


def told_after(terminal):
    """Return what was printed once the screen was given back."""
    assert terminal.settings_now() == terminal.settings
    before, _, after = terminal.output.rpartition(ALTERNATE_OFF)
    assert ALTERNATE_ON in before
    return after


@pytest.fixture
def run(terminals, hall, tmp_path):
    def run(*args, program=hall):
        return terminals("run", program, "--data", tmp_path / "data", "--sound", "off", *args)

    return run


def test_a_log_that_is_held_is_told_once_the_screen_is_given_back(run):
    first = run("--plain")
    first.wait_for("tap: ready")
    second = run()
    assert second.end() == 4
    assert f"held by process {first.process.pid}".encode() in told_after(second)


def test_a_spoilt_program_is_told_line_by_line(run, hall):
    hall.write_text(hall.read_text().replace("way_out", "wayout").replace("window_s", "windows"))
    terminal = run()
    assert terminal.end() == 2
    told = told_after(terminal)
    assert told.count(f"{hall}:".encode()) >= 2
    assert b"Traceback" not in told


def test_nothing_left_to_resume_is_bad_input(run):
    terminal = run("--resume")
    assert terminal.end() == 2
    assert b"no session of me to resume" in told_after(terminal)


@pytest.mark.parametrize("key", [b"\x11", b"\x03"])
def test_leaving_at_the_first_page_begins_nothing(run, tmp_path, key):
    terminal = run()
    terminal.wait_for("doctor")
    terminal.send(key)
    assert terminal.end() == 1
    told_after(terminal)
    assert list(tmp_path.rglob("*.jsonl")) == []


@pytest.mark.parametrize("waits", [True, False])
def test_the_terminals_own_bell_rings_and_holds_nothing_up(terminals, hall, tmp_path, written_class, waits):
    terminal = terminals("run", hall, "--data", tmp_path / "data", "--sound", "bell")
    terminal.wait_for("doctor")
    time.sleep(1.7)
    terminal.send(b" ")
    if waits:
        written_class(tmp_path / "data").wait_for("opened")
        terminal.wait_for("\x07")
    terminal.send(b"\x11")
    assert terminal.end() == 1
    told_after(terminal)


def test_bare_holdtimer_is_left_like_any_other(terminals, tmp_path):
    terminal = terminals(env={"HOLDTIMER_DATA": str(tmp_path / "data")})
    terminal.wait_for("Strength for stairs")
    terminal.send(b"\x11")
    assert terminal.end() == 1
    told_after(terminal)
