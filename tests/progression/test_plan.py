from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from holdtimer.program.loading import loads
from holdtimer.progression.due import coming_sessions, due
from tests.tables import every

BERLIN = ZoneInfo("Europe/Berlin")
FOUR_WEEKS = timedelta(weeks=4)
WEEK = timedelta(hours=168)
SPACINGS = [
    ("recovery_h = 48\nper_week = [1, 3]", 48, 3),
    ("recovery_h = 72\nper_week = [1, 7]", 72, 7),
    ("recovery_h = 20\nper_week = [1, 2]", 20, 2),
]
EASY = '[[scripts]]\nid = "E"\ntitle = "Easy"\nsteps = [{easy = "March", seconds = 60}]\n'


def planned(program, past, now, until=FOUR_WEEKS):
    return coming_sessions(program, past, now, now + until)


@pytest.fixture
def trained(diary, now):
    """Two hard sessions, the last one over 20 h ago."""
    ends = (now - timedelta(hours=70), now - timedelta(hours=20, seconds=30))
    return [
        diary.session(0, started=each - timedelta(minutes=20), ended=each, session=str(each)) for each in ends
    ]


@every("spacing, recovery_h, most", SPACINGS)
def test_every_session_to_come_is_as_early_as_the_spacing_allows(
    program_text, trained, now, spacing, recovery_h, most
):
    program = loads(f"{program_text}\n[spacing]\n{spacing}\n", "spaced.toml").program
    coming = planned(program, trained, now)
    spans = [*((each.started, each.ended) for each in trained), *((each.start, each.end) for each in coming)]
    assert len(coming) > 5
    assert all(each.start.second == 0 for each in coming)
    assert due(program, trained, now).earliest_start <= coming[0].start
    for n, (start, _) in enumerate(spans[2:], start=2):
        bounds = [spans[n - 1][1] + timedelta(hours=recovery_h)]
        bounds += [spans[n - most][0] + WEEK] if n >= most else []
        first = n == 2 and start - max(bounds) < timedelta(days=1)  # may have been possible before now
        assert max(bounds) <= start < max(bounds) + timedelta(minutes=1) or (first and start >= now)


def test_recovery_is_time_that_really_passes_across_a_change_of_the_clocks(program, diary):
    end = datetime(2026, 3, 28, 18, 20, tzinfo=BERLIN)  # the night after it has an hour less
    past = [diary.session(0, started=end - timedelta(minutes=20), ended=end)]
    first = planned(program, past, end + timedelta(hours=1))[0]
    assert first.start == datetime(2026, 3, 30, 19, 20, tzinfo=BERLIN)
    length = timedelta(minutes=8)  # 7:30 of sets and rests
    assert (first.end - first.start, first.moved_days) == (length, 0)


def test_a_session_that_is_not_done_moves_by_days_and_keeps_its_number(program, trained, now):
    at_once, *later = [planned(program, trained, now + timedelta(hours=hours)) for hours in (28, 29, 52, 77)]
    assert [at_once[0].moved_days, *(each[0].moved_days for each in later)] == [0, 1, 1, 3]
    assert {each[0].number for each in (at_once, *later)} == {3}
    for before, after in pairwise([at_once, *later]):
        days = after[0].moved_days - before[0].moved_days
        assert after[0].start - before[0].start == timedelta(days=days)


def test_who_has_done_nothing_hard_begins_in_the_evening(program):
    now = datetime(2026, 5, 20, 18, 1, tzinfo=BERLIN)
    assert planned(program, [], now)[0].start == datetime(2026, 5, 21, 18, 0, tzinfo=BERLIN)
    assert planned(program, [], now - timedelta(hours=1))[0].start == datetime(2026, 5, 20, 18, tzinfo=BERLIN)


def test_scripts_take_turns_and_a_week_of_easy_days_has_no_session(program_text, trained, now):
    other = '[[scripts]]\nid = "B"\ntitle = "Wall"\nweeks = [1, 3]\nsteps = [{exercise = "wall-sit"}]\n'
    easy = EASY.replace("steps", "weeks = [2]\nsteps")
    text = program_text.replace('title = "Legs"', 'title = "Legs"\nweeks = [1, 3]')
    program = loads(f"{text}\n{other}{easy}", "weeks.toml").program
    coming = planned(program, trained, now)
    assert {one.script + after.script for one, after in pairwise(coming)} == {"AB", "BA"}
    first = trained[0].started.date()
    assert {(each.start.date() - first).days // 7 + 1 for each in coming} == {1, 3, 4, 5}


def test_of_easy_days_alone_nothing_is_planned(program_text, trained, now):
    text = f"{program_text.partition('[[scripts]]')[0]}{EASY}"
    assert planned(loads(text, "easy.toml").program, trained, now) == ()


def test_a_rehearsal_changes_nothing(program, trained, now):
    rehearsal = replace(trained[-1], rehearsal=True, session="rehearsal", started=now.astimezone(UTC))
    assert planned(program, [*trained, rehearsal], now) == planned(program, trained, now)
