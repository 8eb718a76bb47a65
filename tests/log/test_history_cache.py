"""What comes from the cache is what reading the logs would give, whatever happened to them since."""

import os
import random
import stat
import time
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from holdtimer.log import history, session_log
from holdtimer.log.history import read_summaries
from holdtimer.session import events as ev

PERSON = "Ada"
FIRST = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
PLACE = {"set": 1, "exercise": "wall-sit", "side": "both"}


def _id(number):
    return f"{FIRST + timedelta(days=3 * number):%Y%m%dT%H%M%SZ}-{number:08x}"


@pytest.fixture(autouse=True)
def worth_it(monkeypatch):
    monkeypatch.setattr(history, "CACHED_FROM", 2)


@pytest.fixture(autouse=True)
def _each_file_parsed_once(monkeypatch):
    """Of files that are read again and again, parse those that are the same once."""
    monkeypatch.setattr(session_log, "parse", cache(session_log.parse))


@pytest.fixture
def lead(put, session):
    """Write the session of that number, closed, in which failure came at that second."""

    def lead(number, failed_s=64.6234, **opened):
        events = session(_id(number), **opened)
        wall = (FIRST + timedelta(days=3 * number)).isoformat()
        events[1] = events[1].model_copy(update={"wall": wall})
        events[6] = events[6].model_copy(update={"at": failed_s, "t": 13.5 + failed_s})
        return put(events, name=f"{_id(number)}.jsonl")

    return lead


@pytest.fixture
def answer(put):
    """Write a file that answers the session of that number."""

    def answer(number, about, day=None, **said):
        name = _id(day or about).replace("Z-", f"Z-{number:04x}")[:25]
        about = {"session": name, "about": _id(about), "person": PERSON, "program": "chair"}
        opened = ev.Opened(n=0, t=0, kind="answers", **about)
        said = ev.Answer(n=1, t=0, id=f"{name}:1", set=1, session=about["about"], **said)
        return put([opened, said, ev.Closed(n=2, t=0, reason="finished")], name=f"{name}.jsonl")

    return answer


@pytest.fixture
def kept(data):
    """Return the files of caches."""
    return lambda: list(data.glob(".*.digest"))


@pytest.fixture
def read(data, monkeypatch):
    """Read the summaries; return which files were opened for it."""
    opened = []
    really = history.read_files

    def noted(paths, *args):
        opened.extend(path.name for path in paths)
        return really(paths, *args)

    monkeypatch.setattr(history, "read_files", noted)

    def read(**more):
        opened.clear()
        return read_summaries(data, PERSON, **more), list(opened)

    return read


def _afresh(data, kept, **more):
    """Return the summaries as read without a cache; the cache is put back."""
    held = [(path, path.read_bytes()) for path in kept()]
    for path, _ in held:
        path.unlink()
    found = read_summaries(data, PERSON, **more)
    for path in kept():
        path.unlink()
    for path, content in held:
        path.write_bytes(content)
    return found


def test_closed_sessions_are_read_once(lead, answer, read):
    for number in range(4):
        lead(number)
    answer(1, about=2, field="effort", value=7)
    first, opened = read()
    assert len(opened) == 5
    again, opened = read()
    assert (again, opened) == (first, [])
    assert again.sessions[2].results[0].effort == 7


def test_a_new_session_is_read_alone_and_kept_too(lead, read):
    for number in range(3):
        lead(number)
    read()
    lead(3, failed_s=70)
    found, opened = read()
    assert opened == [f"{_id(3)}.jsonl"]
    assert found.sessions[3].results[0].first_failure_s == 70
    assert read()[1] == []


def test_a_correction_made_later_is_in_force(lead, answer, read):
    for number in range(3):
        lead(number)
    assert read()[0].sessions[1].results[0].first_failure_s == 64.623
    answer(1, about=1, field="moved", value=61.0, of=6)
    assert read()[0].sessions[1].results[0].first_failure_s == 61
    assert read() == (read()[0], [])


def test_what_was_said_later_than_the_moment_asked_about_is_not_in_force(lead, answer, read):
    for number in range(5):
        lead(number)
    answer(1, about=1, day=4, field="off_day", value=True)
    assert read()[0].sessions[1].off_day
    found, _ = read(until=FIRST + timedelta(days=7))
    assert [each.session for each in found.sessions] == [_id(0), _id(1), _id(2)]
    assert not found.sessions[1].off_day
    assert read() == (read()[0], [])


def test_damage_is_named_every_time(lead, read):
    for number in range(3):
        lead(number)
    path = lead(3)
    read()
    content = bytearray(path.read_bytes())
    content[-60] ^= 1
    path.write_bytes(content)
    os.utime(path, ns=(time.time_ns(), time.time_ns() + 1))
    first, opened = read()
    assert opened == [path.name]
    assert first.damage
    assert read() == (first, [path.name])


def test_a_session_that_goes_on_is_read_again(put, session, lead, read):
    for number in range(2):
        lead(number)
    events = session(_id(5))
    put(events[:6], name=f"{_id(5)}.jsonl")
    assert not read()[0].sessions[2].complete
    put(events, name=f"{_id(5)}.jsonl")
    assert read()[0].sessions[2].complete


def test_a_session_that_was_removed_is_gone(lead, read):
    for number in range(3):
        lead(number)
    read()
    lead(1).unlink()
    assert [each.session for each in read()[0].sessions] == [_id(0), _id(2)]


def test_a_copy_that_differs_is_named(lead, read, session, put):
    for number in range(3):
        lead(number)
    read()
    other = session(_id(1))
    other[6] = other[6].model_copy(update={"at": 50.0})
    put(other, name=f"{_id(1)} (copy).jsonl")
    found, opened = read()
    assert len(opened) == 1 + 2  # the copy, and then both
    assert any("differs" in fault.reason for fault in found.damage)


def test_rehearsals_and_unfinished_sessions_are_not_kept(lead, read, put, session):
    for number in range(2):
        lead(number)
    rehearsal, unfinished = lead(3, speed=4.0), put(session(_id(4))[:6], name=f"{_id(4)}.jsonl")
    read()
    found, opened = read(rehearsals=True)
    assert sorted(opened) == [rehearsal.name, unfinished.name]
    assert [each.rehearsal for each in found.sessions] == [False, False, True, False]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda content: b"",
        lambda content: b"\x00" * 40,
        lambda content: content[:-30],
        lambda content: content.replace(b"64.623", b"84.623"),
        lambda content: content.replace(b'"read_by":', b'"read_by":"1", "was":', 1),
        lambda content: content.split(b"\n", 1)[1],
        lambda content: b"[]\n",
    ],
)
def test_a_spoilt_cache_is_not_believed(lead, read, kept, spoil):
    for number in range(3):
        lead(number)
    true, _ = read()
    (path,) = kept()
    path.write_bytes(spoil(path.read_bytes()))
    found, opened = read()
    assert found == true
    assert len(opened) == 3
    assert read() == (true, [])


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
@pytest.mark.parametrize("kind", ["pipe", "link", "folder"])
def test_whatever_lies_in_the_place_of_the_cache_holds_nobody_up(lead, read, data, folder, tmp_path, kind):
    for number in range(3):
        lead(number)
    true, _ = read()
    path = data / f".{folder.name}.digest"
    path.unlink()
    victim = tmp_path / "victim"
    victim.write_text("mine")
    {"pipe": os.mkfifo, "link": lambda path: path.symlink_to(victim), "folder": os.mkdir}[kind](path)
    assert read()[0] == true
    assert read()[0] == true
    assert victim.read_text() == "mine"
    assert kind == "folder" or read()[1] == []


def test_what_other_code_has_read_is_not_believed(lead, read, monkeypatch):
    for number in range(3):
        lead(number)
    read()
    monkeypatch.setattr(history, "_code_version", lambda: "another version")
    assert len(read()[1]) == 3
    assert read()[1] == []


def test_the_code_of_every_room_that_reads_a_session_is_looked_at():
    package = Path(history.__file__).parent.parent
    assert all(list((package / room).glob("*.py")) for room in history._ROOMS)


def test_an_entry_that_cannot_be_read_costs_that_session_alone(lead, read, kept):
    for number in range(3):
        lead(number)
    true, _ = read()
    (path,) = kept()
    _, *lines = path.read_bytes().splitlines()
    body = b"\n".join([lines[0], lines[1].replace(b'"kind":"hold"', b'"kind":"held"'), lines[2]]) + b"\n"
    path.write_bytes(history.json.dumps(history._cache_head(body)).encode() + b"\n" + body)
    assert read() == (true, [f"{_id(1)}.jsonl"])


def test_a_few_sessions_have_no_cache(lead, read, kept):
    lead(1)
    read()
    assert kept() == []


def test_it_is_readable_by_its_owner_alone_and_leaves_nothing_beside_it(lead, read, kept, data):
    for number in range(3):
        lead(number)
    read()
    (path,) = kept()
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert sorted(each.name for each in data.iterdir() if each.is_file()) == [path.name]


def test_a_folder_that_cannot_be_written_is_read_all_the_same(lead, read, monkeypatch):
    for number in range(3):
        lead(number)
    really = os.open

    def refuse(path, flags, *args):
        if flags & os.O_CREAT:
            raise PermissionError(13, "injected")
        return really(path, flags, *args)

    monkeypatch.setattr(os, "open", refuse)
    assert len(read()[0].sessions) == 3
    assert len(read()[1]) == 3


@pytest.mark.parametrize("seed", range(6))
def test_whatever_happens_to_the_files_it_tells_what_they_tell(lead, answer, read, kept, data, folder, seed):
    """Sessions led, answered, corrected, removed, spoilt, copied and renamed in any order."""
    chance = random.Random(seed)
    for number in range(3):
        lead(number)
    for turn in range(40):
        files = sorted(folder.iterdir())
        path, about = chance.choice(files), chance.randrange(8)
        content = path.read_bytes()
        match chance.randrange(7):
            case 0:
                lead(chance.randrange(8), failed_s=chance.uniform(20, 89))
            case 1:
                answer(turn, about, field="moved", value=chance.uniform(20, 89), of=6)
            case 2:
                answer(turn, about, day=chance.randrange(8), field="off_day", value=chance.random() < 0.5)
            case 3 if len(files) > 3:
                path.unlink()
            case 4:
                at = chance.randrange(len(content))
                path.write_bytes(content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :])
            case 5:
                path.with_name(f"copy of {turn} {path.name}").write_bytes(content)
            case 6:
                path.with_name(f"{path.stem}.{turn}.jsonl").write_bytes(content + b"\n")
        until = FIRST + timedelta(days=3 * chance.randrange(9)) if chance.random() < 0.3 else None
        expected = _afresh(data, kept, until=until)
        assert read(until=until)[0] == expected
        assert read(until=until)[0] == expected
