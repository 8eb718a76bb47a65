import os
import re
import time
from datetime import datetime

import pytest

from holdtimer.log import clocks as anchors
from holdtimer.log.clocks import take_anchor
from holdtimer.session.events import Anchor


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
