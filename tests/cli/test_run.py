import json
import os
import re
import shlex
import signal
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

from holdtimer.log.lines import decode, encode
from tests.invented.programs import HALL
from tests.running import Plain

pytestmark = pytest.mark.waits

FAST = ("--plain", "--sound", "off", "--speed", "20")  # a screen of 1.5 s takes 75 ms
NEW_SCREEN_S = 0.2
UNHURRIED = (*FAST[:-1], "2")  # what holds for 2 s is there for a second, however busy the machine
UNHURRIED_SCREEN_S = 1.0
PAGE_S = 1.7


def read_cautions(run):
    """Tap once they were all printed: on a page the clock of the wall counts."""
    run.until("tap: I have read this")
    time.sleep(PAGE_S)
    run.press()
    return run


def tap_ready(run, screen_s=NEW_SCREEN_S):
    """Tap at ready in the first session of a program."""
    read_cautions(run).until("tap: ready")
    time.sleep(screen_s)
    run.press()


def files(data):
    return {path: path.read_bytes() for path in data.rglob("*") if path.is_file()}


def logs(data):
    return sorted(data.rglob("*.jsonl"))


# -- from the beginning to the end ------------------------------------------------------------------------


def test_a_rehearsal_from_a_pipe_is_led_to_its_end(plain, hall, data, call):
    run = plain("run", hall, *FAST)
    tap_ready(run)
    run.until("window-open")
    time.sleep(0.3)
    run.press()
    run.until(" failure ")
    told = run.end()
    assert (told.code, told.err) == (0, "")
    lines = told.out.splitlines()
    notes = [at for at, line in enumerate(lines) if line == "note: a rehearsal, never counted"]
    begins, ends = (
        next(at for at, line in enumerate(lines) if f" {name} " in line) for name in ("ready", "closed")
    )
    assert len(notes) == 2
    assert notes[0] < begins < ends < notes[1]
    shown = call("show", "--json").json
    assert (shown["complete"], shown["rehearsal"]) == (True, True)
    assert len(shown["sets"][0]["failures_s"]) == 1
    assert [path.parent.name for path in logs(data)] == ["rehearsals"]


def test_every_event_is_a_line_and_every_tap_line_says_what_a_tap_does(plain, hall):
    run = plain("run", hall, *UNHURRIED)
    tap_ready(run, UNHURRIED_SCREEN_S)
    opened = run.until("window-open")
    t, name, *pairs = opened.split(" ", 5)
    assert (float(t), name) == (round(float(t), 3), "window-open")
    assert [pair.split("=")[0] for pair in pairs[:3]] == ["set", "exercise", "side"]
    assert pairs[3].startswith("at=0.000")
    run.until("tap: I have failed")
    time.sleep(0.3)
    run.press()
    assert " set=1 exercise=wall-sit side=both at=" in run.until(" failure ")
    run.until("keep pushing: 3 s")
    run.until("tap: nothing yet")
    run.until("tap: I am back in")
    run.until("way out: Hands on the chair, stand up.")


def test_the_cautions_are_said_until_a_set_was_begun(plain, hall):
    for is_said, begins in ((True, False), (True, True), (False, False)):
        run = plain("run", hall, *FAST)
        (read_cautions(run) if is_said else run).until("tap: ready")
        assert any("doctor" in line for line in run.lines) is is_said
        if begins:
            time.sleep(NEW_SCREEN_S)
            run.press()
            run.until("window-open")
        assert run.end(closes_input=True).code == 1
        if begins:
            assert plain("run", hall, *FAST, "--close").end().code == 0


def test_a_question_mark_says_where_one_is_and_is_no_tap(plain, hall):
    run = plain("run", hall, *FAST)
    read_cautions(run).until("tap: ready")
    time.sleep(NEW_SCREEN_S)
    run.press(b"?")
    assert "ready" in run.until("here: ")
    assert "count-in" not in run.end(closes_input=True).out


def test_the_end_of_input_leaves(plain, hall, data):
    run = plain("run", hall, *FAST)
    tap_ready(run)
    run.until("count-in")
    told = run.end(closes_input=True)
    assert (told.code, told.err) == (1, "")
    assert "left reason=end-of-input" in told.out
    assert "every stamp is saved; to go on within 60 minutes:" in told.out
    command = shlex.split(told.out.splitlines()[-1])
    assert command[:4] == ["holdtimer", "run", str(hall), "--resume"]
    again = plain(*command[1:], "--sound", "off")
    again.until("resumed")
    assert again.end(closes_input=True).code == 1


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_leaves_with_its_number(plain, hall, number, call):
    run = plain("run", hall, *FAST)
    tap_ready(run)
    run.until("window-open")
    run.process.send_signal(number)
    assert run.end().code == 128 + number
    assert not call("show", "--json").json["complete"]


# -- what was left ----------------------------------------------------------------------------------------


def test_what_was_killed_is_resumed_by_a_tap_and_finished(plain, hall, call, data):
    run = plain("run", hall, *FAST)
    tap_ready(run)
    run.until("window-open")
    time.sleep(0.5)
    run.press()
    run.until(" failure ")
    run.process.kill()
    run.end()
    hall.write_text("broken since")
    again = plain("run", hall, *FAST, "--resume")
    again.until("resumed")
    again.until("interrupted")
    told = again.end()
    assert told.code == 0
    (one,) = call("show", "--json").json["sets"]
    assert one["interrupted"]
    assert len(one["failures_s"]) == 1
    assert len(logs(data)) == 1


def test_a_session_that_was_left_is_asked_about(plain, hall, trained, call):
    path = trained(40.0, until=50, person="me")
    run = plain("run", hall, "--plain", "--sound", "off")
    run.until("Go on?")
    run.until("tap: go on with it")
    run.press()  # too soon: it was typed before the question was read
    time.sleep(1.7)
    run.press(b"x")
    run.until("resumed")
    run.until("interrupted")
    run.end(closes_input=True)
    assert decode(path.read_bytes().splitlines()[-1]).ev in ("left", "closed")


def test_it_can_be_closed_and_a_new_one_begun(plain, hall, trained, data):
    path = trained(40.0, until=50, person="me", speed=20.0)
    run = plain("run", hall, *FAST)
    run.until("tap: go on with it")
    time.sleep(1.7)
    run.press(b"c")
    run.until("opened")
    assert run.end(closes_input=True).code == 1
    closed = decode(path.read_bytes().splitlines()[-1])
    assert (closed.ev, closed.reason) == ("closed", "closed-later")
    assert logs(data) == [path]  # the new one never began


def test_no_answer_begins_nothing(process, hall, trained, data):
    trained(40.0, until=50, person="me")
    before = {path: path.read_bytes() for path in logs(data)}
    told = process("run", hall, "--plain", "--sound", "off")
    assert told.code == 2
    assert told.err.count("\n") == 1
    assert {path: path.read_bytes() for path in logs(data)} == before


def test_close_closes_it_when_it_was_left(call, hall, trained):
    path = trained(40.0, until=50, person="me", ago_s=900)
    last = decode(path.read_bytes().splitlines()[-1]).t
    told = call("run", hall, "--close")
    assert (told.code, told.err) == (0, "")
    assert path.name.removesuffix(".jsonl") in told.out
    closed = decode(path.read_bytes().splitlines()[-1])
    assert (closed.ev, closed.t) == ("closed", last)
    assert call("run", hall, "--close").code == 2
    (one,) = call("show", "--json").json["sets"]
    assert one["interrupted"]
    assert one["first_failure_s"] == 40


def test_close_closes_a_rehearsal_too_once_nothing_else_is_left(call, hall, trained):
    rehearsed = trained(40.0, until=50, person="me", speed=20.0, ago_s=900)
    done = trained(40.0, until=50, person="me", ago_s=1800)
    for path, is_rehearsal in ((done, False), (rehearsed, True)):
        told = call("run", hall, "--close")
        assert (told.code, told.err) == (0, "")
        assert told.out == f"closed: {path.stem}{', a rehearsal' if is_rehearsal else ''}\n"
    told = call("run", hall, "--close", "--speed", "2")
    assert (told.code, "there is no rehearsal of me" in told.err) == (2, True)


@pytest.mark.parametrize("asked", [(), ("--speed", "2")])
def test_a_rehearsal_goes_on_at_the_speed_it_began_with_and_says_so(plain, hall, trained, asked):
    trained(40.0, until=50, person="me", speed=20.0)
    run = plain("run", hall, "--plain", "--sound", "off", "--resume", *asked)
    run.until("note: a rehearsal resumes at the speed it began with: 20")
    run.until("resumed")
    told = run.end(closes_input=True)
    assert (told.code, told.err) == (1, "")
    assert "--resume --speed 20 --plain" in told.out


def test_a_rehearsal_at_another_speed_closes_the_one_that_was_left_and_says_so(plain, hall, trained):
    path = trained(40.0, until=50, person="me", speed=20.0)
    run = plain("run", hall, "--plain", "--sound", "off", "--speed", "2")
    run.until("note: a rehearsal that you left at speed 20 is closed now")
    run.until("opened")
    assert "Go on?" not in run.lines
    assert run.end(closes_input=True).code == 1
    assert decode(path.read_bytes().splitlines()[-1]).reason == "closed-later"


def test_a_session_that_counts_is_never_gone_on_with_as_a_rehearsal(call, hall, trained, data):
    trained(40.0, until=50, person="me")
    before = {path: path.read_bytes() for path in logs(data)}
    assert call("run", hall, "--plain", "--sound", "off", "--resume", "--speed", "2").code == 2
    assert {path: path.read_bytes() for path in logs(data)} == before


def test_after_an_hour_it_can_only_be_closed(process, hall, trained, data):
    path = trained(40.0, until=50, person="me", ago_s=3700, speed=20.0)
    told = process("run", hall, *FAST, "--resume")
    assert told.code == 2
    assert "60 minutes" in told.err
    told = process("run", hall, *FAST)
    assert (told.code, told.err) == (1, "")
    assert "Go on?" not in told.out
    assert "opened" in told.out
    assert decode(path.read_bytes().splitlines()[-1]).ev == "closed"
    assert logs(data) == [path]  # the new one never began


def test_time_goes_on_by_the_wall_clock_while_a_session_is_left(plain, hall, trained):
    path = trained(40.0, until=50, person="me", ago_s=600)
    last = decode(path.read_bytes().splitlines()[-1]).t
    run = plain("run", hall, "--plain", "--sound", "off", "--resume")
    resumed = float(run.until("resumed").split()[0])
    assert 500 < resumed - last < 700
    run.end(closes_input=True)
    times = [decode(line).t for line in path.read_bytes().splitlines()]
    assert times == sorted(times)


def test_a_clock_set_back_meanwhile_takes_no_time_back(plain, hall, trained):
    path = trained(40.0, until=50, person="me", ago_s=-600)
    last = decode(path.read_bytes().splitlines()[-1]).t
    run = plain("run", hall, "--plain", "--sound", "off", "--resume")
    assert float(run.until("resumed").split()[0]) >= round(last, 3)
    run.end(closes_input=True)


def test_a_session_that_cannot_be_followed_keeps_nobody_from_a_new_one(process, hall, trained):
    path = trained(40.0, until=50, person="me", ago_s=3700, speed=20.0)
    first, *rest = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(encode(decode(first).model_copy(update={"program_text": "spoilt"})) + b"".join(rest))
    told = process("run", hall, *FAST)
    assert (told.code, told.err) == (1, "")
    assert "note: a session that you left stays open" in told.out
    assert "opened" in told.out
    assert process("run", hall, "--close", "--speed", "20").code == 2


# -- what is remembered -----------------------------------------------------------------------------------


def test_a_program_is_remembered_wherever_one_stands(process, hall, data):
    for program, name in ((hall.name, str(hall)), ("chair-and-counter", "chair-and-counter")):
        asked = process("run", program, "--plain", "--sound", "off", cwd=hall.parent)
        assert (asked.code, logs(data)) == (2, [])  # the cautions were not read
        assert json.loads((data / "remembered.json").read_text()) == {"person": "me", "program": name}


# -- one run at a time ------------------------------------------------------------------------------------


def test_a_second_run_is_told_who_holds_the_log_and_changes_nothing(plain, process, hall, data):
    first = plain("run", hall, *FAST)
    tap_ready(first)
    first.until("window-open")
    before = files(data)
    for more in ((), ("--resume",), ("--close",)):
        second = process("run", hall, *FAST, *more)
        assert second.code == 4
        assert second.out == ""
        assert f"process {first.process.pid}" in second.err
    changed = {path for path, content in files(data).items() if before.get(path) != content}
    assert changed <= {path for path in before if path.suffix == ".jsonl"}  # what the first run wrote since
    assert process("run", hall, *FAST, "--person", "Bo").code == 2  # the cautions were not read
    first.end(closes_input=True)
    assert process("run", hall, *FAST).code != 4


# -- a disk that fails ------------------------------------------------------------------------------------


HANGING = """\
import sys, time
from holdtimer.log.disk import Disk
writes, write = [], Disk.write
def hanging(self, fd, data):
    writes.append(data)
    if len(writes) > 5:
        time.sleep(3600)
    return write(self, fd, data)
Disk.write = hanging
from holdtimer.cli import main
sys.exit(main())
"""
ROOM = 1100  # bytes that a file may grow to: enough for the first two events of a session


def read_only(tmp_path):
    """Return a folder that can't be made; nothing is forbidden to root but what the system itself refuses."""
    if os.getuid() == 0:
        return Path("/sys/holdtimer")
    folder = tmp_path / "read-only"
    folder.mkdir(mode=0o555)
    return folder / "data"


@dataclass
class Failing:
    """A session that was led through a window with one tap, whatever its disk did."""

    data: Path
    run: Plain

    def lead(self):
        tap_ready(self.run)
        self.run.until("window-open")
        time.sleep(0.3)
        self.run.press()
        self.run.until(" failure ")
        self.told = self.run.end()
        return self


@pytest.fixture(scope="module")
def failing(tmp_path_factory):
    """Sessions on disks that fail, led all at once, by what is wrong with the disk."""
    tmp_path = tmp_path_factory.mktemp("disks")
    hall, file = tmp_path / "hall.toml", tmp_path / "file"
    hall.write_text(HALL)
    file.write_text("")
    started = {
        name: Failing(data, Plain("run", hall, *FAST, "--data", data, **more))
        for name, data, more in (
            ("gone", file / "data", {}),
            ("read-only", read_only(tmp_path), {}),
            ("full", tmp_path / "full", {"limit": ROOM}),
            ("hanging", tmp_path / "hanging", {"code": HANGING}),
        )
    }
    with ThreadPoolExecutor(len(started)) as pool:
        led = {name: pool.submit(each.lead) for name, each in started.items()}
        yield lambda name: led[name].result()
    for each in started.values():
        each.run.let_go()


def test_a_folder_that_is_gone_stops_no_session_and_is_said_at_once(failing):
    told = failing("gone").told
    assert told.code == 3
    assert "log-trouble why=" in told.out
    assert "not all of the session is saved" in told.err
    assert "Traceback" not in told.err


def test_what_is_left_unsaved_is_not_called_kept(plain, hall, tmp_path):
    (tmp_path / "file").write_text("")
    run = plain("run", hall, *FAST, "--data", tmp_path / "file" / "data")
    tap_ready(run)
    run.until("window-open")
    told = run.end(closes_input=True)
    assert told.code == 3
    assert "left reason=end-of-input" in told.out
    assert "stamped is kept" not in told.out
    assert "--resume" not in told.out


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="as root it takes a folder of the system")
def test_a_read_only_folder_stops_no_session(failing, own_home):
    told = failing("read-only").told
    assert told.code == 3
    assert 'log-trouble why="the folder is read-only"' in told.out
    assert "not all of the session is saved: the folder is read-only" in told.err
    assert re.search(rf"all of it is in {own_home}/holdtimer-saved-\w+/.*\.jsonl", told.err)


def test_a_full_disk_stops_no_session_and_keeps_what_it_has(failing):
    full = failing("full")
    assert full.told.code == 3
    assert 'log-trouble why="the file cannot grow any further"' in full.told.out
    assert "not all of the session is saved" in full.told.err
    (path,) = logs(full.data)
    assert path.stat().st_size <= ROOM
    whole = path.read_bytes().rpartition(b"\n")[0].splitlines()
    assert [decode(line).n for line in whole] == list(range(len(whole)))
    assert len(whole) >= 2


def test_a_disk_that_hangs_stops_no_session_and_what_is_not_saved_is_said(failing):
    hanging = failing("hanging")
    assert hanging.told.code == 3
    assert "noted, not yet saved" in hanging.told.out
    assert "closed reason=finished" in hanging.told.out
    assert "not all of the session is saved: the disk does not answer" in hanging.told.err
    (path,) = logs(hanging.data)
    assert len(path.read_bytes().splitlines()) == 5
