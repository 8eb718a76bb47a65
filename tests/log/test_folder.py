import os
import unicodedata
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.log.folder import (
    files_in,
    id_in,
    make_private,
    new_session_id,
    person_folder,
    session_folder,
    started_at,
)

NOW = datetime(2026, 11, 25, 10, 7, 38, 999000, timezone(timedelta(hours=1)))


def test_a_session_id_begins_with_its_start_in_utc():
    session = new_session_id(NOW)
    assert session.startswith("20261125T090738Z-")
    assert id_in(f"{session}-2 (copy).jsonl") == session
    assert started_at(session) == datetime(2026, 11, 25, 9, 7, 38, tzinfo=UTC)


def test_ids_of_one_second_differ():
    assert len({new_session_id(NOW) for _ in range(1000)}) == 1000


@given(st.datetimes(datetime(2000, 1, 1), datetime(9999, 1, 1)), st.timedeltas(timedelta(seconds=1)))
def test_ids_sort_by_time(start, later):
    earlier = start.replace(tzinfo=UTC)
    try:
        second = earlier + later
    except OverflowError:
        return
    assert new_session_id(earlier) < new_session_id(second)


@pytest.mark.parametrize("name", ["", "holiday.jsonl", "20261125T090738Z.jsonl"])
def test_other_names_hold_no_id(name):
    assert id_in(name) is None


@pytest.mark.parametrize("session", ["", "x", "20261399T000000Z-1a2b3c4d"])
def test_other_ids_tell_no_start(session):
    assert started_at(session) is None


@given(st.text())
def test_a_folder_name_is_safe_on_every_file_system(name):
    (part,) = person_folder(Path(), name).parts
    assert part.isascii()
    assert part.replace("-", "").isalnum()
    assert part == part.lower()
    assert len(part) <= 51


@pytest.mark.parametrize(
    ("one", "other"),
    [("Ada", "ada"), ("Zoë", "Zoe"), ("a b", "a-b"), ("世界", "世"), ("", "person"), ("a" * 60, "a" * 61)],
)
def test_different_names_never_share_a_folder(one, other, data):
    assert person_folder(data, one) != person_folder(data, other)


def test_one_name_in_two_spellings_is_one_folder(data):
    assert person_folder(data, "Zoë  Ames ") == person_folder(data, unicodedata.normalize("NFD", "Zoë Ames"))


@pytest.mark.parametrize("name", ["CON", "nul", "..", "/etc", "a/../b", "C:\\x", "-rf", "x.", " "])
def test_a_hostile_name_stays_inside_the_data_folder(name, data):
    folder = person_folder(data, name)
    assert folder.parent == data
    assert folder.name not in {"con", "nul", "..", "."}


def test_rehearsals_lie_apart_inside(data):
    assert session_folder(data, "Ada", rehearsal=True).parent == session_folder(data, "Ada")


def test_files_are_listed_in_a_fixed_order_with_rehearsals_only_when_asked_for(data):
    for name in ["b", "a", "old/c", "rehearsals/d"]:
        (data / name).parent.mkdir(parents=True, exist_ok=True)
        (data / name).touch()
    assert [path.name for path in files_in(data)] == ["a", "b", "c"]
    assert [path.name for path in files_in(data, rehearsals=True)] == ["a", "b", "c", "d"]


def test_listing_what_is_not_there_yields_nothing_and_creates_nothing(data):
    assert list(files_in(data)) == []
    assert not data.exists()


def test_links_pipes_and_depths_are_passed_over(data):
    deep = data / "1/2/3/4"
    deep.mkdir(parents=True)
    (deep / "too-deep").touch()
    (deep.parent / "deep-enough").touch()
    os.mkfifo(data / "pipe")
    (data / "zero").symlink_to("/dev/zero")
    (data / "round").symlink_to(data)
    assert [path.name for path in files_in(data)] == ["deep-enough"]


def test_created_folders_are_told_top_first(tmp_path):
    assert make_private(tmp_path / "a/b") == [tmp_path / "a", tmp_path / "a/b"]
    assert make_private(tmp_path / "a/b") == []


def test_a_file_in_the_way_of_a_folder_is_an_error(tmp_path):
    (tmp_path / "a").touch()
    with pytest.raises(NotADirectoryError):
        make_private(tmp_path / "a/b")
