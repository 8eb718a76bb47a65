import os
import re
import time
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.log import anchors
from holdtimer.log.anchors import Reading, elapsed_between, gap_between, take_anchor, wall_time
from holdtimer.session.events import Anchor, Opened, Ready


def anchor(n, t, wall, **fields):
    return Anchor(n=n, t=t, why="opening", mono_ns=0, wall=wall, **fields)


def reading(mono_s, boot_s=None, wall="2026-11-25T09:00:00Z", boot_id="one"):
    boottime_ns = None if boot_s is None else round(boot_s * 1e9)
    return Reading(round(mono_s * 1e9), boottime_ns, wall, 0, None, boot_id)


def test_a_reading_holds_all_clocks_of_this_instant():
    before, steady = time.time(), time.monotonic_ns()
    now = take_anchor()
    assert steady <= now.mono_ns <= time.monotonic_ns()
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", now.wall)
    assert before - 0.001 <= datetime.fromisoformat(now.wall).timestamp() <= time.time()
    assert now.offset_s == time.localtime().tm_gmtoff


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="no such clock here")
def test_a_reading_holds_the_clock_that_counts_sleep_and_the_boot():
    now = take_anchor()
    assert now.boottime_ns >= now.mono_ns
    assert now.boot_id == take_anchor().boot_id
    assert re.fullmatch(r"[0-9a-f-]{36}", now.boot_id)


def test_a_reading_makes_an_anchor_event():
    now = take_anchor()
    event = Anchor(n=1, t=0, why="opening", **now._asdict())
    assert (event.mono_ns, event.wall) == (now.mono_ns, now.wall)


@pytest.mark.parametrize(
    ("name", "zone"),
    [
        ("Europe/Lisbon", "Europe/Lisbon"),
        (":Asia/Kolkata", "Asia/Kolkata"),
        ("America/Argentina/Ushuaia", "America/Argentina/Ushuaia"),
        ("UTC", "UTC"),
    ],
)
def test_the_zone_comes_from_the_environment_first(name, zone, monkeypatch):
    monkeypatch.setenv("TZ", name)
    assert take_anchor().zone == zone


@pytest.mark.parametrize("name", ["CET-1CEST,M3.5.0,M10.5.0/3", "/etc/passwd", "../../x", ""])
def test_the_zone_comes_from_the_system_where_the_environment_names_none(name, monkeypatch, tmp_path):
    monkeypatch.setenv("TZ", name)
    database = tmp_path / "zoneinfo/Europe/Lisbon"
    database.parent.mkdir(parents=True)
    database.touch()
    link = tmp_path / "localtime"
    link.symlink_to(database)
    monkeypatch.setattr(anchors, "_LOCALTIME", link)
    monkeypatch.setattr(anchors, "_TIMEZONE", tmp_path / "timezone")
    assert take_anchor().zone == "Europe/Lisbon"
    link.unlink()
    assert take_anchor().zone is None
    (tmp_path / "timezone").write_text("Asia/Kolkata\n")
    assert take_anchor().zone == "Asia/Kolkata"


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="no tzset here")
def test_the_offset_follows_the_zone(monkeypatch):
    try:
        monkeypatch.setenv("TZ", "Asia/Kolkata")
        time.tzset()
        assert take_anchor().offset_s == 19800
    finally:
        monkeypatch.undo()
        time.tzset()
    assert "TZ" not in os.environ or os.environ["TZ"] != "Asia/Kolkata"


def test_a_wall_time_keeps_the_offset_of_its_anchor():
    moment = wall_time([anchor(1, 0, "2026-11-25T09:07:38.250Z", offset_s=3600)], 60.5)
    assert moment.isoformat() == "2026-11-25T10:08:38.750000+01:00"


def test_the_seconds_of_a_rehearsal_are_shorter_by_its_speed():
    opened = Opened(n=0, t=0, session="s", person="Ada", program="chair", speed=20)
    moment = wall_time([opened, anchor(1, 0, "2026-11-25T09:07:38.250Z")], 60)
    assert moment.isoformat() == "2026-11-25T09:07:41.250000+00:00"


def test_a_wall_time_derives_from_the_last_anchor_before_it():
    """The steady clock stood still between 400 s and the anchor at 500 s, so only events after it moved."""
    events = [
        anchor(1, 0, "2026-11-25T09:00:00Z"),
        anchor(7, 500, "2026-11-25T10:00:00Z"),
    ]
    assert wall_time(events, 400) == datetime(2026, 11, 25, 9, 6, 40, tzinfo=UTC)
    assert wall_time(events, 500) == datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
    assert wall_time(events, 510) == datetime(2026, 11, 25, 10, 0, 10, tzinfo=UTC)


def test_a_wall_time_before_the_first_anchor_derives_from_it():
    assert wall_time([anchor(1, 10, "2026-11-25T09:00:00Z")], 4) == datetime(
        2026, 11, 25, 8, 59, 54, tzinfo=UTC
    )


@pytest.mark.parametrize("wall", ["yesterday", "", "0001-01-01T00:00:00+23:59"])
def test_without_a_sound_anchor_the_session_id_tells_the_time(wall):
    opened = Opened(n=0, t=0, session="20261125T090738Z-1a2b3c4d", person="Ada", program="chair")
    expected = datetime(2026, 11, 25, 9, 7, 48, tzinfo=UTC)
    assert wall_time([opened], 10) == expected
    assert wall_time([opened, anchor(1, 0, wall)], 10) == expected


def test_a_session_that_tells_no_time_is_an_error():
    with pytest.raises(ValueError, match="tells no wall time"):
        wall_time([Ready(n=0, t=0)], 1)


def test_a_time_past_the_end_of_the_calendar_is_an_error():
    with pytest.raises(ValueError, match="tells no wall time"):
        wall_time([anchor(1, 0, "9999-12-31T23:59:00Z")], 1e8)


def test_elapsed_time_counts_sleep_by_the_clock_that_does():
    assert elapsed_between(reading(10, 100), reading(20, 3710, wall="2026-11-25T23:00:00Z")) == 3610
    assert gap_between(reading(10, 100), reading(20, 3710)) == 3600


def test_a_wall_clock_that_is_set_makes_no_gap():
    assert gap_between(reading(10, 100), reading(20, 110, wall="2026-12-31T09:00:00Z")) == 0


@pytest.mark.parametrize("later", [reading(20, 110, boot_id="two"), reading(5, 6), reading(5)])
def test_across_a_new_start_of_the_system_only_the_wall_clock_counts(later):
    later = later._replace(wall="2026-11-25T09:20:00.500Z")
    assert elapsed_between(reading(10, 100), later) == 1200.5
    assert gap_between(reading(10, 100), later) == 1200.5


def test_without_a_clock_that_counts_sleep_the_wall_clock_shows_the_gap():
    assert gap_between(reading(10), reading(20, wall="2026-11-25T09:01:00Z")) == 50


def test_no_time_runs_backwards():
    later = reading(20, wall="2026-11-25T08:00:00Z")
    assert elapsed_between(reading(10), later) == 0
    assert gap_between(reading(10), later) == 0
    assert timedelta(0) == timedelta(seconds=gap_between(reading(10, 100), reading(10, 100)))
