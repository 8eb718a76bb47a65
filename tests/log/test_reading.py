import math
import os
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.errors import NoSuchSessionError
from holdtimer.log.folder import person_folder, session_folder
from holdtimer.log.lines import encode
from holdtimer.log.reader import find_session, last_session, persons, read_person, unfinished
from holdtimer.session.events import Left, Opened, Ready

OPENED_AT = datetime(2026, 11, 25, 9, 7, 38, 250000, UTC)
FIRST, SECOND, THIRD = "20261120T090000Z-00000001", "20261122T090000Z-00000002", "20261124T090000Z-00000003"


@pytest.fixture
def three(put, session):
    """Three sessions of Ada, one a copy under a strange name, and what else may lie about."""
    for each in (THIRD, FIRST, SECOND):
        put(session(each), f"{each}.jsonl")
    put(session(SECOND)[:4], "conflict of laptop (2)")
    put(b"\x00\x01", "thumbs.db")
    put(b"remember the milk", "notes.txt")
    put(b'{"name": "other"}', "other.json")
    return FIRST, SECOND, THIRD


def test_sessions_are_read_oldest_first_and_other_files_ignored(three, data):
    logs = read_person(data, "Ada")
    assert tuple(log.session for log in logs) == three
    assert [log.damage for log in logs] == [(), (), ()]
    assert [len(log.files) for log in logs] == [1, 2, 1]


def test_reading_creates_nothing(data):
    assert read_person(data, "Ada") == []
    assert last_session(data, "Ada") is None
    assert unfinished(data, "Ada", OPENED_AT) is None
    assert persons(data) == ()
    assert not data.exists()


def test_one_unreadable_session_is_named_and_breaks_nothing_else(three, put, session, data):
    lines = [encode(event) for event in session(SECOND)]
    put(b"#" + b"".join(lines), f"{SECOND}.jsonl")
    (person_folder(data, "Ada") / "conflict of laptop (2)").unlink()
    logs = read_person(data, "Ada")
    assert [bool(log.opened) for log in logs] == [True, False, True]
    assert [fault.line for fault in logs[1].damage] == [1, 0]
    assert "the first line is lost" in logs[1].damage[-1].reason
    assert last_session(data, "Ada").session == THIRD


def test_a_copy_makes_up_for_a_lost_first_line(three, put, session, data):
    lines = [encode(event) for event in session(SECOND)]
    put(b"#" + b"".join(lines), f"{SECOND}.jsonl")
    assert find_session(data, "Ada", SECOND).events == tuple(session(SECOND))


def test_a_file_under_the_name_of_another_session_is_never_mixed_into_it(three, put, session, data):
    put(session(FIRST)[:6], f"{THIRD} (copy).jsonl")
    assert last_session(data, "Ada").events == tuple(session(THIRD))
    assert last_session(data, "Ada").damage == ()


def test_rehearsals_are_left_out_unless_asked_for_wherever_they_lie(put, session, data):
    put(session(FIRST, speed=10), f"rehearsals/{FIRST}.jsonl")
    put(session(SECOND, speed=2), f"{SECOND}.jsonl")
    put(session(THIRD), f"{THIRD}.jsonl")
    assert [log.session for log in read_person(data, "Ada")] == [THIRD]
    assert len(read_person(data, "Ada", rehearsals=True)) == 3


def test_what_belongs_to_somebody_else_is_named_and_never_used(put, session, data):
    put(session(FIRST, person="Bea"))
    (log,) = read_person(data, "Ada")
    assert log.events == ()
    assert log.damage[-1].reason == "it belongs to somebody else: nothing in the file is used"


def test_pipes_devices_and_folders_that_loop_hold_nobody_up(three, data):
    folder = person_folder(data, "Ada")
    os.mkfifo(folder / "20261126T090000Z-00000004.jsonl")
    (folder / "zero.jsonl").symlink_to("/dev/zero")
    (folder / "loop").symlink_to(folder)
    (folder / "a.jsonl").mkdir()
    assert len(read_person(data, "Ada")) == 3
    assert persons(data) == ("Ada",)


def test_events_a_caller_does_not_need_are_passed_over(three, data):
    logs = read_person(data, "Ada", skip=frozenset({"band", "anchor"}))
    assert {event.ev for log in logs for event in log.events}.isdisjoint({"band", "anchor"})


def test_the_last_session_is_the_newest_and_whole(three, session, data):
    assert last_session(data, "Ada").events == tuple(session(THIRD))


def test_answers_are_read_but_are_no_session(three, put, data):
    name = "20261125T100000Z-00000009"
    opened = Opened(n=0, t=0, kind="answers", session=name, about=THIRD, person="Ada", program="x")
    put([opened], f"{name}.jsonl")
    assert [log.opened.kind for log in read_person(data, "Ada")] == ["session"] * 3 + ["answers"]
    assert last_session(data, "Ada").session == THIRD


def test_a_session_is_found_by_the_beginning_of_its_id(three, data):
    assert find_session(data, "Ada", "20261122").session == SECOND


@pytest.mark.parametrize(
    ("prefix", "words"),
    [
        ("1999", "no session of Ada begins with '1999'"),
        ("2026112", "several sessions of Ada begin with '2026112': 20261124"),
    ],
)
def test_a_beginning_that_fits_none_or_several_is_told(three, prefix, words, data):
    with pytest.raises(NoSuchSessionError, match=words):
        find_session(data, "Ada", prefix)


def test_an_unfinished_session_is_found_with_its_age(three, put, session, data):
    put(session()[:8])
    found = unfinished(data, "Ada", OPENED_AT + timedelta(seconds=84.5 + 600))
    assert found.log.events == tuple(session()[:8])
    assert found.age_s == 600


def test_a_session_that_was_left_is_unfinished(put, session, data):
    put([*session()[:8], Left(n=8, t=100, reason="hang-up")])
    assert unfinished(data, "Ada", OPENED_AT).log.events[-1].ev == "left"


def test_a_session_whose_beginning_is_lost_is_unfinished_by_what_is_left_of_its_sets(put, session, data):
    events = [each for each in session() if each.ev not in ("ready", "count-in", "rest", "closed")]
    assert any(each.ev == "failure" for each in events)
    put(events)
    assert unfinished(data, "Ada", OPENED_AT) is not None


def test_a_session_that_was_merely_opened_is_not_unfinished(put, session, data):
    put(session()[:2])
    assert unfinished(data, "Ada", OPENED_AT) is None


def test_a_session_closed_in_one_of_its_files_is_not_unfinished(put, session, session_id, data):
    put(session()[:8])
    put(session(), f"{session_id}-2.jsonl")
    assert unfinished(data, "Ada", OPENED_AT) is None


def test_an_answer_given_after_a_crash_hides_no_unfinished_session(put, session, data):
    put(session(FIRST)[:5], f"{FIRST}.jsonl")
    put([Opened(n=0, t=0, kind="answers", session=SECOND, person="Ada", program="x")], f"{SECOND}.jsonl")
    assert unfinished(data, "Ada", OPENED_AT).log.session == FIRST


def test_many_that_fit_a_beginning_are_not_all_listed(put, session, data):
    for number in range(8):
        put(session(f"20261125T090738Z-0000000{number}")[:1], f"20261125T090738Z-0000000{number}.jsonl")
    with pytest.raises(NoSuchSessionError, match=r"00000007, .*, 20261125T090738Z-00000003, \.\.\.$"):
        find_session(data, "Ada", "2026")


def test_of_several_unfinished_the_newest_counts(put, session, data):
    for each in (SECOND, FIRST):
        put(session(each)[:5], f"{each}.jsonl")
    put(session(THIRD), f"{THIRD}.jsonl")
    assert unfinished(data, "Ada", OPENED_AT).log.session == SECOND


def test_an_unfinished_session_without_a_clock_is_too_old_for_anything(put, data):
    put([Opened(n=0, t=0, session="strange", person="Ada", program="x"), Ready(n=1, t=1)], "strange.jsonl")
    assert unfinished(data, "Ada", OPENED_AT).age_s == math.inf


def test_a_newer_session_hides_no_rehearsal_that_was_left(put, session, data):
    first, *rest = session(FIRST)[:8]
    put([first.model_copy(update={"speed": 4.0}), *rest], name=f"rehearsals/{FIRST}.jsonl")
    put(session(SECOND)[:8], name=f"{SECOND}.jsonl")
    assert unfinished(data, "Ada", OPENED_AT, rehearsals=True).log.session == FIRST
    assert unfinished(data, "Ada", OPENED_AT).log.session == SECOND


def test_rehearsals_are_unfinished_only_when_asked_for(put, session, session_id, data):
    put(session(speed=10)[:5], f"rehearsals/{session_id}.jsonl")
    assert unfinished(data, "Ada", OPENED_AT) is None
    assert unfinished(data, "Ada", OPENED_AT, rehearsals=True).log.session == session_id


def test_persons_are_told_by_the_name_in_their_logs(three, session, data):
    for person in ("Zoë Ames", "bo"):
        folder = session_folder(data, person, rehearsal=True)
        folder.mkdir(parents=True)
        (folder / "x.jsonl").write_bytes(b"damaged\n")
        (folder / "y.jsonl").write_bytes(encode(session(person=person)[0]))
    (data / "empty").mkdir()
    (data / "stray").mkdir()
    (data / "stray/x.jsonl").write_bytes(encode(session()[0]))
    (data / "file").touch()
    assert persons(data) == ("Ada", "Zoë Ames", "bo")
