"""Elapsed time across clock changes, by the zones of the IANA data base, and what has no source."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdtimer.program.models import Defaults, Program, Spacing
from holdtimer.progression.history import read_history
from holdtimer.progression.spacing import spacing
from holdtimer.session.summary import SessionSummary

PROGRAM = Program.model_validate(
    {
        "format": 1,
        "id": "p",
        "title": "P",
        "scripts": [{"id": "A", "title": "A", "steps": [{"easy": "w", "seconds": 60}]}],
    }
)

# zone, end of a hard session, the same wall time two days later, hours really passed until then, 48 h later
CHANGES = [
    ("Europe/Berlin", "2025-03-29T18:00+01:00", "2025-03-31T18:00+02:00", 47, "2025-03-31T19:00+02:00"),
    ("Europe/Berlin", "2025-10-25T18:00+02:00", "2025-10-27T18:00+01:00", 49, "2025-10-27T17:00+01:00"),
    ("America/New_York", "2025-03-08T18:00-05:00", "2025-03-10T18:00-04:00", 47, "2025-03-10T19:00-04:00"),
    ("America/New_York", "2025-11-01T18:00-04:00", "2025-11-03T18:00-05:00", 49, "2025-11-03T17:00-05:00"),
]


def pause(ended, at):
    hard = SessionSummary(
        "s", "W", "p", "A", ended - timedelta(hours=1), ended, True, False, False, True, False, False, ()
    )
    return spacing(PROGRAM, read_history(PROGRAM, [hard]), at)


@pytest.mark.parametrize(("zone", "ended", "same_wall_time", "hours", "again"), CHANGES)
def test_two_days_by_the_wall_are_not_48_hours(zone, ended, same_wall_time, hours, again):
    zone = ZoneInfo(zone)
    ended, later, again = (
        datetime.fromisoformat(each).astimezone(zone) for each in (ended, same_wall_time, again)
    )
    found = pause(ended, later)
    assert later - ended == timedelta(hours=48)  # what the wall says
    assert found.since_h == hours
    assert found.earliest == again
    assert found.earliest.isoformat() == again.isoformat()
    assert found.ready == (hours >= 48)


@pytest.mark.parametrize(("fold", "utc"), [(0, "2025-10-26T00:30Z"), (1, "2025-10-26T01:30Z")])
def test_an_hour_that_comes_twice_is_two_moments(fold, utc):
    """2025-10-26 02:30 in Berlin is 00:30 UTC the first time and 01:30 UTC the second."""
    moment = datetime(2025, 10, 26, 2, 30, fold=fold, tzinfo=ZoneInfo("Europe/Berlin"))
    expected = datetime.fromisoformat(utc) + timedelta(hours=48)
    assert pause(moment, moment).earliest.astimezone(UTC) == expected


def test_forty_eight_hours_between_hard_sessions():
    """Common practice, no source: at least 48 h between sessions of the same muscles.

    What was read says only that sets to failure may need 24-48 h more than others: Moran-Navarro R, et al.
    Eur J Appl Physiol 2017;117:2387-2399.
    """
    assert Spacing().recovery_h == 48


def test_failure_between_60_and_90_seconds():
    """Common practice, no source."""
    assert Defaults().window_s == 90
    assert Defaults().band_s == (60, 90)
