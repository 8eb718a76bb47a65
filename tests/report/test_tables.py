"""What `show`, `log`, `next` and `trend` print of invented weeks, kept as text: read the difference."""

from datetime import timedelta

import pytest
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from holdtimer.program.loading import find, load
from holdtimer.progression.due import due
from holdtimer.progression.trend import trend
from holdtimer.report.due import due_blocks
from holdtimer.report.log import log_blocks, newest_first
from holdtimer.report.session import report_on
from holdtimer.report.table import ASCII, UNICODE, Column, Row, Table, Words, text_lines
from holdtimer.report.text import Titles
from holdtimer.report.trend import trend_blocks
from tests.invented.six_weeks import OFF_DAY, PAIN, SILENCE, ZONE, six_weeks

LOADED = load(find("chair-and-counter"))
PROGRAM = LOADED.program


class Printed(SingleFileSnapshotExtension):
    """One text file a table."""

    file_extension = "txt"
    _write_mode = WriteMode.TEXT


@pytest.fixture(scope="module")
def past():
    return [each.past for each in six_weeks(LOADED)]


def session(past, number):
    return report_on(past[number], past, PROGRAM).blocks()


def now(past):
    return past[-1].ended.astimezone(ZONE)


PRINTED = {
    "show": lambda past: session(past, -1),
    "show-pain": lambda past: session(past, PAIN),
    "show-silence": lambda past: session(past, SILENCE),
    "show-off-day": lambda past: session(past, OFF_DAY),
    "next": lambda past: due_blocks(due(PROGRAM, past, now(past) + timedelta(days=3)), PROGRAM),
    "next-too-early": lambda past: due_blocks(due(PROGRAM, past, now(past)), PROGRAM),
    "next-after-a-long-break": lambda past: due_blocks(
        due(PROGRAM, past, now(past) + timedelta(days=60)), PROGRAM
    ),
    "next-first": lambda past: due_blocks(due(PROGRAM, (), now(past)), PROGRAM),
    "trend": lambda past: trend_blocks(trend(PROGRAM, past, now(past)), PROGRAM),
    "trend-two-weeks": lambda past: trend_blocks(trend(PROGRAM, past[:4], now(past)), PROGRAM),
    "log": lambda past: log_blocks(
        past,
        newest_first(past),
        {each.session: Titles.of(PROGRAM, each.script) for each in past},
        "holdtimer show 2026-04-10",
    ),
}


@pytest.mark.parametrize("name", PRINTED)
def test_what_is_printed_is_as_it_was_kept_and_no_wider_than_the_terminal(past, snapshot, name):
    written = []
    for width, glyphs in ((80, UNICODE), (120, UNICODE), (80, ASCII)):
        lines = text_lines(PRINTED[name](past), width, glyphs)
        assert max(map(len, lines)) <= width
        assert glyphs is UNICODE or "".join(lines).isascii()
        written += [f"-- {width} columns", *lines, ""]
    assert "\n".join(written) == snapshot(extension_class=Printed)


def test_wide_letters_keep_the_columns_aligned_and_no_text_steers_the_terminal():
    table = Table(
        (Column(is_name=True), Column("last", is_right=True)),
        (Row(("李さんの椅子", "8 s")), Row(("\x1b[31mred", "80 s"), (Words("a\x07bell"),))),
    )
    assert text_lines([table], 80, None) == [
        "              last",
        "李さんの椅子   8 s",
        "?[31mred      80 s",
        "   a?bell",
    ]


@pytest.mark.parametrize("width", [20, 24, 30])
def test_a_name_that_has_no_room_is_broken_and_not_cut(width):
    table = Table(
        (Column(is_name=True), Column("next"), Column("said", rank=1)),
        (Row(("One-leg heel raise, right: both hands rest", "harder", "left out here")),),
    )
    lines = text_lines([table], width, None)
    name = " ".join(line[: width - 8].strip() for line in lines[1:])
    assert name == "One-leg heel raise, right: both hands rest"
    assert "harder" in lines[1]
    assert "left out here" not in "".join(lines)
