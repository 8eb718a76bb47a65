"""A session in words: what its sets tell beside their verdicts."""

import pytest

from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.report.session import SessionReport
from holdtimer.report.table import text_lines
from holdtimer.report.text import Titles
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.summary import summarize

PROGRAM = """\
format = 1
id = "hall"
title = "Village hall"

[exercises.sit-to-stand]
name = "Sit to stand"
kind = "reps"
sides = "both"
tempo = "3-1-2-0"
push_s = 0
failure = "You can't rise."
way_out = "Stay seated."
back_in = "Rise again."
ladder = ["two hands", "no hands"]

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "sit-to-stand"}]
"""
TEMPO = (3.0, 1.0, 2.0, 0.0)


@pytest.fixture
def told():
    """The row of one set with taps at these seconds of its window."""

    def told(*taps, tempos):
        engine = Engine(compile_script(loads(PROGRAM, "hall.toml").program, "A"))
        events = engine.record(ev.Opened, 0.0, session="s", person="Ada", program="hall", script="A")
        events += engine.press("space", 2.0)
        for at in taps:
            events += engine.tick(12.0 + at) + engine.press("space", 12.0 + at)
        events += engine.tick(110.0)
        report = SessionReport(summarize(engine.session), Titles("Village hall", "Legs"), {}, tempos)
        return text_lines(report.blocks(), 80, None)[-1]

    return told


def test_repetitions_before_the_first_failure_are_told(told):
    tempos = {"sit-to-stand": TEMPO}
    assert "  10 reps  back in 75 s" in told(65.5, 75.5, tempos=tempos)
    assert "  1 rep  " in told(8.0, tempos=tempos)


@pytest.mark.parametrize("taps", [(), (40.0,)])
def test_without_a_stamp_or_a_rhythm_no_repetitions_are_told(told, taps):
    assert " rep" not in told(*taps, tempos={} if taps else {"sit-to-stand": TEMPO})
