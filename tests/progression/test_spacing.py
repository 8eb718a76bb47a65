from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdtimer.progression.due import due
from holdtimer.progression.history import read_history
from holdtimer.progression.spacing import kept_and_planned, spacing
from holdtimer.report.due import due_to_json
from holdtimer.session import events as ev
from holdtimer.session.fold import fold
from holdtimer.session.summary import summarize

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture
def pause(program):
    def find(past, at):
        return spacing(program, read_history(program, past), at)

    return find


def hard(diary, started, minutes=20, **fields):
    return diary.session(
        0, started=started, ended=started + timedelta(minutes=minutes), session=str(started), **fields
    )


def test_nothing_stands_before_the_first_session(pause, now):
    found = pause([], now)
    assert (found.ready, found.earliest, found.when, found.warning) == (True, None, "ready now", None)


def test_recovery_counts_from_the_end_of_the_last_hard_session(diary, pause, now):
    found = pause([hard(diary, now - timedelta(hours=31, minutes=20))], now)
    assert found.earliest == now + timedelta(hours=17)
    assert not found.ready
    assert found.warning == "31 h since your last hard session ended"


@pytest.mark.parametrize(
    ("since", "words"),
    [
        (timedelta(seconds=20), "1 min"),
        (timedelta(minutes=10, seconds=50), "10 min"),
        (timedelta(minutes=59, seconds=59), "59 min"),
        (timedelta(hours=1), "1 h"),
    ],
)
def test_within_the_first_hour_minutes_are_told(diary, pause, now, since, words):
    found = pause([hard(diary, now - since - timedelta(minutes=20))], now)
    assert found.warning == f"{words} since your last hard session ended"


def test_recovery_ends_to_the_second(diary, pause):
    start = datetime(2026, 5, 18, 18, 20, 30, tzinfo=UTC)
    past = [hard(diary, start)]
    at = start + timedelta(minutes=20, hours=48)
    assert pause(past, at).ready
    early = pause(past, at - timedelta(seconds=1))
    assert not early.ready
    assert early.when == "today from 18:41"
    assert early.warning == "47 h since your last hard session ended"


def test_the_words_name_weekday_and_minute_in_the_local_zone(diary, pause):
    start = datetime(2026, 5, 19, 18, 20, tzinfo=BERLIN)
    assert pause([hard(diary, start)], start + timedelta(hours=5)).when == "from Thursday 18:40"


def test_a_day_far_off_is_told_with_its_date(program, diary, now):
    slow = program.model_copy(update={"spacing": program.spacing.model_copy(update={"recovery_h": 200})})
    found = due(slow, [hard(diary, now - timedelta(hours=1))], now)
    assert found.when == "from Friday 29 May 01:20"


def test_only_hard_sessions_count(diary, pause, now):
    easy = hard(diary, now - timedelta(hours=2), is_hard=False)
    rehearsed = hard(diary, now - timedelta(hours=3), rehearsal=True)
    assert pause([easy, rehearsed], now).ready
    assert pause([easy, rehearsed], now).done_last_7_days == 0


def test_an_off_day_was_hard_all_the_same(diary, pause, now):
    assert not pause([hard(diary, now - timedelta(hours=2), off_day=True)], now).ready


def test_hard_sessions_of_other_programs_count_as_well(diary, pause, now):
    assert not pause([hard(diary, now - timedelta(hours=2), program="floor")], now).ready


def test_no_more_than_three_hard_sessions_in_seven_days(diary, pause, now):
    starts = [now - timedelta(hours=hours) for hours in (160, 110, 60)]
    found = pause([hard(diary, start) for start in starts], now)
    assert found.earliest == starts[0] + timedelta(hours=168)
    assert found.done_last_7_days == 3
    assert found.warning == "3 hard sessions in the last 7 days: enough for one week"
    assert pause([hard(diary, start) for start in starts], now + timedelta(hours=8)).ready


def test_sessions_longer_ago_do_not_count_against_the_cap(diary, pause, now):
    starts = [now - timedelta(hours=hours) for hours in (1000, 160, 110, 60)]
    found = pause([hard(diary, start) for start in starts], now)
    assert found.earliest == starts[1] + timedelta(hours=168)
    assert found.done_last_7_days == 3


def test_the_later_of_recovery_and_cap_holds(diary, pause, now):
    starts = [now - timedelta(hours=hours) for hours in (167, 60, 2)]
    found = pause([hard(diary, start) for start in starts], now)
    assert found.earliest == now + timedelta(hours=46, minutes=20)
    assert found.warning == "1 h since your last hard session ended"


def test_a_session_ahead_of_a_clock_that_was_set_back_still_asks_for_recovery(diary, pause, now):
    ahead = hard(diary, now + timedelta(hours=1))
    found = pause([ahead], now)
    assert not found.ready
    assert found.earliest == ahead.ended + timedelta(hours=48)
    assert "set the clock right" in found.warning


@pytest.mark.parametrize(
    ("zone", "started", "again"),
    [
        ("Europe/Berlin", "2025-03-29T18:00", "2025-03-31T19:00:00+02:00"),
        ("Europe/Berlin", "2025-10-25T18:00", "2025-10-27T17:00:00+01:00"),
        ("America/New_York", "2025-03-08T18:00", "2025-03-10T19:00:00-04:00"),
        ("America/New_York", "2025-11-01T18:00", "2025-11-03T17:00:00-05:00"),
    ],
)
def test_forty_eight_hours_are_forty_eight_hours_across_a_clock_change(program, diary, zone, started, again):
    end = datetime.fromisoformat(started).replace(tzinfo=ZoneInfo(zone))
    past = [hard(diary, end - timedelta(minutes=20))]
    early = due(
        program, past, datetime.fromisoformat(again).astimezone(ZoneInfo(zone)) - timedelta(minutes=1)
    )
    assert due_to_json(early)["earliest_start"] == again
    assert not early.ready
    assert due(program, past, datetime.fromisoformat(again).astimezone(ZoneInfo(zone))).ready
    assert early.when == f"today from {again[11:16]}"


def test_seven_days_are_seven_times_24_hours_across_a_clock_change(program, diary):
    starts = [datetime(2025, 3, day, 18, 0, tzinfo=BERLIN) for day in (25, 27, 29)]
    found = due(
        program, [hard(diary, start) for start in starts], datetime(2025, 3, 31, 20, 0, tzinfo=BERLIN)
    )
    assert due_to_json(found)["earliest_start"] == "2025-04-01T19:00:00+02:00"


def test_where_no_end_is_known_the_script_tells_the_length(program, diary, pause, now):
    """Heel raise left and right and a wall sit: 3 windows and count-ins of 100 s, rests of 60 and 90 s."""
    start = now - timedelta(hours=40)
    found = pause([diary.session(0, started=start, ended=None)], now)
    assert found.earliest == start + timedelta(hours=48, seconds=450)
    assert pause([diary.session(0, started=start, ended=start)], now).earliest == found.earliest
    unknown = pause([diary.session(0, started=start, ended=None, script="gone")], now)
    assert unknown.earliest == start + timedelta(hours=49)


def paper(day, **fields):
    """A hard session that was kept on paper: a row of it, folded and read as every session is."""
    result = {
        "set": 1,
        "exercise": "wall-sit",
        "side": "both",
        "rung": "low",
        "window_s": 90,
        "band_s": (60, 90),
    }
    opened = ev.Opened(
        n=0, t=0, kind="paper", session=str(day), person="W", program="chair-and-wall", script="A"
    )
    row = ev.PaperResult(n=1, t=0, started=str(day), first_failure_s=75, **result, **fields)
    return summarize(fold([opened, row, ev.Closed(n=2, t=0, reason="finished")]))


@pytest.mark.parametrize(
    ("day", "again"),
    [
        ("2025-03-28T00:00:00+01:00", "2025-03-31T01:00:00+02:00"),  # 48 h from midnight of the 29th
        ("2025-03-30T00:00:00+01:00", "2025-04-02T00:00:00+02:00"),
        ("2025-10-26T00:00:00+02:00", "2025-10-29T00:00:00+01:00"),
    ],
)
def test_a_paper_row_with_a_date_only_counts_from_the_end_of_its_day(program, day, again):
    at = datetime.fromisoformat(again).astimezone(BERLIN) - timedelta(hours=1)
    found = due(program, [paper(day, date_only=True)], at)
    assert due_to_json(found)["earliest_start"] == again
    assert found.spacing.warning == "47 h since your last hard session ended"


def test_seven_days_count_from_the_end_of_a_day_on_paper_too(program):
    days = [paper(f"2026-05-{day}T00:00:00+02:00", date_only=True) for day in (11, 13, 15)]
    found = due(program, days, datetime(2026, 5, 18, 12, 0, tzinfo=BERLIN))
    assert due_to_json(found)["earliest_start"] == "2026-05-19T00:00:00+02:00"
    assert found.spacing.done_last_7_days == 3


def test_a_paper_row_with_its_times_counts_from_its_end(program):
    row = paper("2026-05-11T18:00:00+02:00", ended="2026-05-11T18:25:00+02:00")
    at = datetime(2026, 5, 12, 12, 0, tzinfo=BERLIN)
    assert due_to_json(due(program, [row], at))["earliest_start"] == "2026-05-13T18:25:00+02:00"


def test_a_session_left_unfinished_is_hard_until_its_last_event(diary, pause, now):
    past = [hard(diary, now - timedelta(hours=10), minutes=7, complete=False)]
    assert pause(past, now).earliest == now + timedelta(hours=38, minutes=7)


@pytest.mark.parametrize(("days", "kept"), [([0], (1, 1)), ([0, 3, 9], (3, 1)), ([0, 10, 30], (3, 4))])
def test_sessions_kept_are_told_against_those_planned(program, diary, now, days, kept):
    first = now - timedelta(days=30)
    past = [hard(diary, first + timedelta(days=each)) for each in days]
    at = first + timedelta(days=max(days), hours=1)
    assert kept_and_planned(program, read_history(program, past).own, at) == kept


def test_a_start_later_today_is_said_to_be_today_and_one_on_another_day_by_its_name(diary, pause):
    ended = datetime(2026, 5, 18, 18, 21, tzinfo=UTC)
    past = [hard(diary, ended - timedelta(minutes=20))]
    assert pause(past, ended + timedelta(hours=44)).when == "today from 18:21"
    assert pause(past, ended + timedelta(hours=20)).when == "from Wednesday 18:21"
