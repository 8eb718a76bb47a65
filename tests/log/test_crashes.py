"""Real deaths and real limits, each in a process of its own."""

import os
import random
import signal
import subprocess
import sys

import pytest

from holdtimer.log.session_log import read_session
from holdtimer.log.writer import LogWriter
from holdtimer.session.events import Closed

ROUNDS = 30
# one process that forks a writer a round, so that a round costs no start of an interpreter
MORTALS = """
import os, sys
from pathlib import Path
from holdtimer.log.writer import LogWriter
from holdtimer.log.lines import encode
from holdtimer.session.events import Answer, Opened
encode(Opened(n=0, t=0, session="s", person="Ada", program="x"))  # what is made at first use is made once
encode(Answer(n=1, t=0, id="1", field="note", value="x"))
for number in range(int(sys.argv[2])):
    child = os.fork()
    if child:
        os.waitpid(child, 0)
        print("dead", flush=True)
        continue
    writer = LogWriter(Path(sys.argv[1]), f"round-{number}")
    writer.append(Opened(n=0, t=0, session=f"round-{number}", person="Ada", program="x"))
    os.write(1, b"%d\\n" % os.getpid())
    for n in range(1, 100_000):
        note = Answer(n=n, t=n / 1000, id=str(n), field="note", value="x" * (n * 37 % 2000))
        writer.append(note)
        if writer.wait_written(10):
            os.write(1, b"%d\\n" % n)  # whole, or not at all
"""
LIMITED = """
import resource, signal, sys
from pathlib import Path
from holdtimer.log.writer import Environment, LogWriter
from holdtimer.session.events import Answer, Closed, Opened

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
troubles = []

def raise_the_limit(nudge, seconds):
    troubles.append(writer.trouble())
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit[0] + 300, limit[1]))

resource.setrlimit(resource.RLIMIT_FSIZE, (500, resource.RLIM_INFINITY))
writer = LogWriter(Path(sys.argv[1]), "limited", Environment(pause=raise_the_limit))
writer.append(Opened(n=0, t=0, session="limited", person="Ada", program="x"))
for n in range(1, 40):
    writer.append(Answer(n=n, t=n, id=str(n), field="note", value="n" * n))
writer.append(Closed(n=40, t=40, reason="finished"))
print(writer.close(60), set(troubles), len(troubles) > 3)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_everything_acknowledged_survives_kill_9_at_random_moments(tmp_path):
    command = [sys.executable, "-c", MORTALS, str(tmp_path), str(ROUNDS)]
    chance = random.Random(20261125)
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as mortals:
        for number in range(ROUNDS):
            child = int(mortals.stdout.readline())
            acknowledged = [int(mortals.stdout.readline()) for _ in range(chance.randrange(1, 60))]
            os.kill(child, signal.SIGKILL)
            acknowledged += [int(line) for line in iter(mortals.stdout.readline, "dead\n")]
            log = read_session(tmp_path / f"round-{number}.jsonl")
            survived = [event.n for event in log.events]
            assert survived[: acknowledged[-1] + 1] == [0, *acknowledged]
            assert survived == [*range(len(survived))]
            assert len(log.damage) <= 1
            assert_it_can_be_closed(log)
    assert mortals.returncode == 0


def assert_it_can_be_closed(log):
    writer = LogWriter.resume(log)
    writer.append(Closed(n=len(log.events), t=1000, reason="closed-later"))
    assert writer.close(60)
    closed = read_session(log.files[0])
    assert closed.events[:-1] == log.events
    assert closed.closed


@pytest.mark.skipif(sys.platform == "win32", reason="no such limits there")
def test_a_file_size_limit_costs_short_writes_but_no_event(tmp_path):
    command = [sys.executable, "-c", LIMITED, str(tmp_path)]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    assert ended.stdout == "True {'the file cannot grow any further'} True\n"
    assert ended.stderr == ""
    log = read_session(tmp_path / "limited.jsonl")
    assert [event.n for event in log.events] == [*range(41)]
    assert log.others == ()
    assert all(fault.reason.startswith("the line is cut off") for fault in log.damage)
