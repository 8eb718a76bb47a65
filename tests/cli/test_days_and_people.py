"""Sessions by the day a person lived, people by one spelling, and the last program where none is named."""

from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.log.clocks import local_now
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.writer import LogWriter
from holdtimer.program.loading import find, load
from holdtimer.session import events as ev


def ago(days=0, hours=0):
    return (timedelta(days=days, hours=hours)).total_seconds()


@pytest.fixture
def at(trained, monkeypatch):
    """Do a session at a local time, in a zone two hours or more from that of its id."""

    def at(moment, **more):
        utc = datetime.fromisoformat(moment).astimezone(UTC)
        session = f"{utc:%Y%m%dT%H%M%SZ}-{more.pop('tail', 'aaaaaaaa')}"
        return trained(40.0, ago_s=(datetime.now(UTC) - utc).total_seconds(), session=session, **more)

    return at


@pytest.fixture
def _in_tokyo(monkeypatch):
    import time

    monkeypatch.setenv("TZ", "Asia/Tokyo")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("_in_tokyo")
def test_a_session_is_found_by_the_day_that_was_lived(call, at):
    at("2025-11-22T07:00+09:00")  # 22:00 of the day before in UTC, and in its id
    told = call("show", "2025-11-22")
    assert told.code == 0
    assert "Saturday 2025-11-22 07:00" in told.out
    assert call("show", "2025-11-21").code == 2
    assert call("show", "20251121").out == told.out  # the beginning of its id


def test_today_and_yesterday_are_days(call, trained):
    trained(40.0, ago_s=ago(days=1))
    assert f"{local_now() - timedelta(days=1):%Y-%m-%d}" in call("show", "yesterday").out
    assert call("show", "today").code == 2
    trained(50.0)
    assert "  50 s  same" in call("show", "Today").out


@pytest.mark.usefixtures("_in_tokyo")
def test_several_sessions_of_a_day_are_listed_with_what_to_type(call, at):
    at("2025-11-22T07:00+09:00", tail="aaaaaaaa")
    at("2025-11-22T18:21+09:00", tail="bbbbbbbb")
    told = call("show", "2025-11-22")
    assert (told.code, told.out) == (2, "")
    head, first, second = told.err.splitlines()
    assert head == "Ada has 2 sessions on Saturday 2025-11-22; show one of them:"
    assert first == "  holdtimer show 20251121T2200   07:00  Legs"
    assert second == "  holdtimer show 20251122T0921   18:21  Legs"
    assert "07:00" in call(*first.split()[1:3]).out


@pytest.mark.usefixtures("_in_tokyo")
def test_what_to_type_is_as_long_as_it_takes(call, at, data):
    at("2025-11-22T07:00:05+09:00", tail="aaaaaaaa")
    at("2025-11-22T07:00:05+09:00", tail="aaabbbbb")
    told = call("show", "2025-11-22", "--data", data)
    for line in told.err.splitlines()[1:]:
        command = line.split()[1:4]
        assert call(*command).code == 0


def test_a_day_without_a_session_names_the_days_next_to_it(call, at):
    at("2025-11-20T12:00+00:00")
    at("2025-11-24T12:00+00:00")
    told = call("show", "2025-11-22")
    assert told.code == 2
    assert "no session of Ada on Saturday 2025-11-22" in told.err
    assert "nearest: Thursday 2025-11-20 and Monday 2025-11-24" in told.err


# ---- people

COMMANDS = [
    ("log",),
    ("show",),
    ("next", "{hall}"),
    ("trend",),
    ("run", "{hall}", "--plain"),
    ("run", "--close", "{hall}"),
    ("import", "{csv}", "{hall}"),
    ("export", "csv"),
    ("config",),
]


@pytest.mark.parametrize("name", ["ada", "ADA", " aDa "])
@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_person_spelt_differently_is_asked_about(call, trained, data, hall, tmp_path, command, name):
    trained(40.0, person="Ada")
    file = tmp_path / "on-paper.csv"
    file.write_text("started,exercise,side,rung,first_failure_s\n2026-01-05,wall-sit,both,low,40\n")
    before = sorted(data.rglob("*"))
    told = call(*(word.format(hall=hall, csv=file) for word in command), f"--person={name}")
    assert told.code == 2
    assert "did you mean Ada?" in told.err
    assert sorted(data.rglob("*")) == before


def test_letters_that_only_look_different_are_the_same(call, trained):
    trained(40.0, person="Jörg Weiß")
    told = call("show", "--person", "JÖRG WEISS")
    assert told.code == 2
    assert "did you mean Jörg Weiß?" in told.err


def test_people_who_were_kept_apart_before_still_are(call, trained):
    trained(40.0, person="Ada")
    trained(50.0, person="ada")
    assert "  50 s  same" in call("show", "--person", "ada").out
    assert "  40 s  same" in call("show", "--person", "Ada").out


def test_a_really_new_name_is_created_by_import_and_not_by_a_look(call, trained, data, hall, tmp_path):
    trained(40.0, person="Ada")
    file = tmp_path / "on-paper.csv"
    file.write_text("started,exercise,side,rung,first_failure_s\n2026-01-05,wall-sit,both,low,40\n")
    before = sorted(data.rglob("*"))
    for command in (("show",), ("next", hall), ("trend",)):
        assert call(*command, "--person", "Bo").code == 0
    assert sorted(data.rglob("*")) == before
    assert call("import", file, hall, "--person", "Bo").code == 0
    assert "Kept on paper." in call("show", "--person", "Bo").out


# ---- the last program


def test_next_without_a_program_is_of_the_last_one(call, trained, hall):
    trained(40.0)
    told = call("next")
    assert told.code == 0
    assert told.out.startswith("Legs: from ")
    assert "\nVillage hall, week 1, 1 hard session in" in told.out
    assert call("next", "--json").json == call("next", hall, "--json").json


@pytest.fixture
def tested(data):
    """Stand up from a chair as the bundled tests have it, so many days ago."""

    def tested(days, is_off_day=False, seat_cm=46, reason="finished"):
        when = datetime.now(UTC) - timedelta(days=days)
        session, text = new_session_id(when), load(find("every-four-weeks")).text
        about = {"session": session, "person": "Ada", "program": "every-four-weeks", "script": "T"}
        place = {"t": 0.0, "test": "chair-stand", "trial": 1}
        log = LogWriter(session_folder(data, "Ada"), session)
        for event in (
            ev.Opened(n=0, t=0.0, program_text=text, **about),
            ev.Anchor(n=1, t=0.0, why="opening", mono_ns=0, wall=when.isoformat(timespec="milliseconds")),
            ev.OffDay(n=2, t=0.0, value=is_off_day),
            ev.TrialOpen(
                n=3, protocol="chair-stand-30", variant="hands", seat_cm=seat_cm, seconds=30.0, **place
            ),
            ev.TrialResult(n=4, stands=9, **place),
            ev.Closed(n=5, t=40.0, reason=reason),
        ):
            log.append(event)
        assert log.close()

    return tested


def test_next_goes_on_with_what_one_trains_and_names_the_tests_of_another_program_once_due(
    call, trained, tested
):
    due = "Function tests are due, before any hard set: Every four weeks (holdtimer run every-four-weeks)."
    now = datetime.now(UTC)
    in_two_days, in_a_day = (f"{now + timedelta(days=days):%Y-%m-%d}" for days in (2, 1))
    trained(40.0, ago_s=ago(days=40))
    tested(27)
    told = call("next").out
    assert told.startswith("Legs: ready now.")
    assert due not in " ".join(told.split())
    assert due in " ".join(call("next", "--at", in_two_days).out.split())
    trained(40.0, ago_s=ago(hours=5))
    assert due not in " ".join(call("next", "--at", in_a_day).out.split())  # nobody is rested then


def test_the_first_time_of_a_test_is_shown_as_practice(call, tested):
    tested(40)
    tested(10)
    latest, first = (each["session"] for each in call("log", "--json").json["sessions"])
    assert "1 test, for practice." in call("show", first).out
    assert "1 test, 1 of them counted." in call("show", latest).out
    shown = [call("show", each, "--json").json["tests"][0] for each in (first, latest)]
    assert [each["counted"] for each in shown] == [False, True]
    assert shown[0]["counted_because"] == "practice: the first time"


def test_tests_of_an_off_day_stay_due(call, tested):
    tested(20, is_off_day=True)
    assert call("next").out.startswith("Standing up and walking: ready now.")


def test_tests_of_which_most_were_left_stay_due(call, tested):
    tested(20, reason="closed-later")
    assert call("next").out.startswith("Standing up and walking: ready now.")


def test_a_test_on_another_chair_is_said_to_begin_a_new_series(call, tested):
    said = "Chair stand, hands: seat 46 cm, a new series: not compared with before."
    tested(80, seat_cm=43)
    assert said in " ".join(call("next").out.split())
    tested(40)
    assert said not in " ".join(call("next").out.split())


def test_next_after_results_from_a_clinic_alone_asks_for_a_program(call, tmp_path):
    table = tmp_path / "clinic.csv"
    table.write_text(
        "started,protocol,variant,seat_cm,stands\n2026-03-02 10:00,chair-stand-30,crossed,43,9\n"
    )
    assert call("import", table, "--person", "Ada").code == 0
    assert call("next").out == "Ada has not trained yet; name a program: holdtimer next chair-and-counter\n"


def test_next_is_of_the_tests_where_somebody_does_nothing_else(call, tested):
    tested(27)
    assert call("next").out.startswith("Standing up and walking: from ")


def test_next_with_no_program_and_no_log_says_how_to_name_one(call):
    told = call("next")
    assert told.code == 0
    assert told.out == "no session of me yet; name a program: holdtimer next chair-and-counter\n"
    assert call("next", "--json").json["sets"] == []


def test_show_next_and_trend_fit_80_columns(call, trained, hall):
    trained(40.0, person="A" * 90)
    for command in (("show",), ("log",), ("next",), ("trend",)):
        assert max(map(len, call(*command).out.splitlines())) <= 80
