"""`log`: which sessions there are, and what to type to see one."""

import pytest

from holdtimer.cli import reports

DAY = 86_400.0


def rows(told):
    """Return the rows under the titles, cell by cell."""
    lines = told.out.splitlines()
    return [line.split() for line in lines[lines.index("") + 2 :]]


def test_sessions_stand_newest_first_and_what_is_told_to_type_shows_them(call, trained):
    trained(40.0, ago_s=9 * DAY, session="20261101T180000Z-0000000a")
    trained(50.0, ago_s=2 * DAY, session="20261108T180000Z-0000000a", early_h=20.0)
    trained(55.0, ago_s=2 * DAY, session="20261108T180000Z-0000000b", speed=10.0)
    trained(30.0, ago_s=0, session="20261110T180000Z-0000000a")
    told = call("log")
    assert told.code == 0
    assert told.out.splitlines()[0] == "4 sessions of Ada, 3 of them hard."
    shown = [call("show", name, "--json").json["sets"][0]["first_failure_s"] for name, *_ in rows(told)]
    assert shown[0] == 30
    assert set(shown[1:3]) == {50, 55}
    assert shown[3] == 40
    assert [row[-1] for row in rows(told)[1:3]] in (["rehearsal", "early"], ["early", "rehearsal"])
    first = told.out.splitlines()[1].removeprefix("To see one, type: holdtimer ")
    assert call(*first.split(), "--json").json["sets"][0]["first_failure_s"] == 30
    listed = call("log", "--json").json["sessions"]
    assert [each["show"] for each in listed] == [name for name, *_ in rows(told)]


def test_the_last_ones_are_listed_and_all_where_they_are_asked_for(call, trained, monkeypatch):
    monkeypatch.setattr(reports, "LISTED", 1)
    trained(40.0, ago_s=DAY)
    trained(50.0)
    told = call("log")
    assert told.out.splitlines()[-1] == "and 1 older: holdtimer log --all"
    assert len(call("log", "--json").json["sessions"]) == len(rows(call("log", "--all"))) == 2


@pytest.mark.parametrize("args", [(), ("--all",)])
def test_no_session_yet_is_words_and_an_empty_list(call, args):
    assert call("log", *args).out == "no session of me yet\n"
    assert call("log", "--json").json == {"format": 1, "person": "me", "sessions": []}
