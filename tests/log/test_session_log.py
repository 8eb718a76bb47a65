import os
import zlib
from pathlib import Path

import pytest

from holdtimer.log import session_log
from holdtimer.log.lines import Damage, encode
from holdtimer.log.session_log import merge, parse, read_session
from holdtimer.session.events import Failure, Ready


@pytest.fixture
def lines(session):
    return [encode(event) for event in session()]


def faults(log):
    return [(fault.line, fault.reason) for fault in log.damage]


def test_a_session_reads_back_as_it_was_written(put, session, session_id):
    path = put(session())
    log = read_session(path)
    assert (log.session, log.events, log.damage, log.files) == (session_id, tuple(session()), (), (path,))
    assert log.opened == session()[0]
    assert log.closed
    assert not log.rehearsal


def test_a_session_at_another_speed_is_a_rehearsal(put, session):
    assert read_session(put(session(speed=10))).rehearsal


def test_events_passed_over_are_not_read_but_their_damage_is_named(put, session, lines):
    kept = tuple(event for event in session() if event.ev not in {"band", "anchor"})
    log = read_session(put(b"".join(lines)), frozenset({"band", "anchor"}))
    assert (log.events, log.damage, log.lost, sorted(log.passed)) == (kept, (), (), [1, 5])
    lines[5] = lines[5].replace(b"wall-sit", b"wall-six")
    log = read_session(put(b"".join(lines)), frozenset({"band", "anchor"}))
    assert (log.events, log.lost) == (kept, (range(5, 6),))
    assert faults(log) == [(6, "the line does not match its checksum")]


@pytest.mark.usefixtures("lines_decoded_once")
def test_a_file_cut_off_at_any_byte_keeps_every_whole_line(session, lines):
    content, written = b"".join(lines), tuple(session())
    ends = [len(b"".join(lines[: n + 1])) - 1 for n in range(len(lines))]
    for cut in range(1, len(content)):
        log = parse(Path("a.jsonl"), content[:cut])
        whole = sum(end <= cut for end in ends)
        assert log.events == written[:whole]
        torn = cut not in ends and cut - 1 not in ends
        assert [fault.line for fault in log.damage] == [whole + 1] * torn


@pytest.mark.usefixtures("lines_decoded_once")
@pytest.mark.parametrize("flip", [0x01, 0x20, 0x80, 0xFF])
def test_a_wrong_byte_anywhere_costs_at_most_its_own_line_and_is_named(flip, session, lines):
    content, written = b"".join(lines), session()
    for place in range(len(content)):
        wrong = bytearray(content)
        wrong[place] ^= flip
        log = parse(Path("a.jsonl"), bytes(wrong))
        line = content.count(b"\n", 0, place)
        lost = {line, line + 1} if content[place] == ord("\n") else {line}
        assert all(event == written[event.n] for event in log.events)
        assert {event.n for event in log.events} >= {*range(len(lines))} - lost
        assert log.damage or log.events == tuple(written)
        assert all(fault.line in {line + 1, line + 2} for fault in log.damage)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda content: content.replace(b"\n", b"\r\n"),
        lambda content: b"\xef\xbb\xbf" + content,
        lambda content: b"\xef\xbb\xbf" + content.replace(b"\n", b"\r\n"),
        lambda content: content.replace(b"\n", b"\n\n"),
        lambda content: content + b"\n \n",
        lambda content: content + content,
        lambda content: content.rstrip(b"\n"),
    ],
    ids=["CRLF", "BOM", "both", "blank lines", "blank end", "twice", "no last newline"],
)
def test_what_other_tools_do_to_a_file_changes_nothing(spoil, put, session, lines):
    log = read_session(put(spoil(b"".join(lines))))
    assert log.events == tuple(session())
    assert log.damage == ()
    assert log.others == ()


def test_text_cut_off_inside_a_character_costs_its_line_alone(put, session, lines):
    cut = lines[9].index("世".encode()) + 1
    log = read_session(put(b"".join(lines[:9]) + lines[9][:cut] + b"\n" + lines[10]))
    assert log.events == (*session()[:9], session()[10])
    assert faults(log) == [(10, "the line is cut off or was not written by holdtimer")]


def test_a_tail_of_zeros_is_named(put, session, lines):
    log = read_session(put(b"".join(lines[:5]) + bytes(4096)))
    assert log.events == tuple(session()[:5])
    assert [fault.line for fault in log.damage] == [6]


def test_an_empty_file_is_named(put):
    assert faults(read_session(put(b""))) == [(0, "the file is empty")]


def test_a_huge_line_costs_itself_alone(put, session, lines):
    log = read_session(put(b"".join(lines[:5]) + b"x" * 5_000_000 + b"\n" + b"".join(lines[5:])))
    assert log.events == tuple(session())
    assert faults(log) == [(6, "the line is longer than 4 MB")]


def test_a_file_too_large_is_not_read_and_named(put, monkeypatch):
    monkeypatch.setattr(session_log, "MAX_FILE", 2 * 1024**2)
    log = read_session(put(b"x" * (2 * 1024**2 + 1)))
    assert faults(log) == [(0, "the file cannot be read: it is larger than 2 MB")]


def test_a_file_that_is_not_a_log_is_named_once(put):
    log = read_session(put(b"some\nother\nnotes\n", "notes.jsonl"))
    assert (log.session, log.opened) == ("notes", None)
    assert faults(log) == [(0, "nothing in the file can be read")]


def test_very_many_faults_are_counted_not_listed(put, lines):
    log = read_session(put(lines[0] + b"x\n" * 1000))
    assert len(log.damage) == 101
    assert log.damage[-1].reason == "and 900 more errors"


def test_endless_faults_end_the_reading(put, lines):
    log = read_session(put(lines[0] + b"x\n" * 20_000 + lines[1]))
    assert len(log.events) == 1
    assert log.damage[-1].reason == "and 9900 more errors, and the rest of the file is not read"


@pytest.mark.parametrize("kind", ["missing", "folder", "pipe", "device", "loop"])
def test_what_is_no_file_is_named_and_holds_nobody_up(kind, tmp_path):
    path = tmp_path / "20261125T090738Z-1a2b3c4d.jsonl"
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path.symlink_to("/dev/zero")
    elif kind == "loop":
        path.symlink_to(path)
    log = read_session(path)
    assert log.session == "20261125T090738Z-1a2b3c4d"
    assert [fault.reason.startswith("the file cannot be read: ") for fault in log.damage] == [True]


def test_events_of_a_later_version_are_counted(put, session, lines):
    later = encode(Ready(n=99, t=1)).replace(b"ready", b"cheer")
    body = later[: later.rindex(b',"crc"')]
    path = put(lines[0] + b'%b,"crc":"%08x"}\n' % (body, zlib.crc32(body)))
    log = read_session(path)
    assert (log.unknown, log.damage, log.events) == (1, (), (session()[0],))


def test_two_sessions_in_one_file_are_never_mixed(put, session, session_id):
    path = put([*session()[:6], *session("20270101T000000Z-00000000")])
    log = read_session(path)
    assert (log.session, log.events) == (session_id, tuple(session()[:6]))
    assert faults(log) == [(7, "another session begins here, the rest of the file is not used")]


def test_a_first_line_lost_leaves_no_opened(put, session, session_id, lines):
    log = read_session(put(b"".join(lines[1:])))
    assert (log.opened, log.session, log.events) == (None, session_id, tuple(session()[1:]))


def another_failure(n=6):
    return Failure(n=n, t=80, set=1, exercise="wall-sit", side="both", at=66.5)


def test_one_number_for_two_events_in_a_file_keeps_both_and_uses_the_first(put, session):
    log = read_session(put([*session(), another_failure()]))
    assert log.events == tuple(session())
    assert log.others == (another_failure(),)
    assert faults(log) == [(12, "event 6 (failure) differs from the one that is used")]


def test_files_of_one_session_fill_each_others_gaps(put, session, lines):
    one = read_session(put(b"".join(lines[:8]), "one.jsonl"))
    torn = read_session(put(b"".join([*lines[:3], b"{torn\n", *lines[4:]]), "two.jsonl"))
    log = merge([one, torn])
    assert log.events == tuple(session())
    assert log.damage == (
        Damage("the line is cut off or was not written by holdtimer", str(torn.files[0]), 4),
    )
    assert log.whole_file is None
    assert set(log.files) == {*one.files, *torn.files}


def test_a_copy_changes_nothing(put, session, session_id):
    logs = [read_session(put(session(), name)) for name in (f"{session_id}.jsonl", "copy of it")]
    log = merge(logs)
    assert (log.events, log.damage, log.others) == (tuple(session()), (), ())
    assert log.whole_file in log.files


def test_of_two_that_differ_the_fuller_file_is_believed_and_both_are_kept(put, session):
    short = read_session(put([*session()[:6], another_failure()], "a.jsonl"))
    fuller = read_session(put(session(), "b.jsonl"))
    log = merge([short, fuller])
    assert log.events == tuple(session())
    assert log.others == (another_failure(),)
    assert log.damage == (Damage("event 6 (failure) differs from the one that is used", str(short.files[0])),)


def test_of_files_as_full_the_one_that_sorts_first_is_believed(put, session):
    changed = [*session()[:6], another_failure(), *session()[7:]]
    logs = [read_session(put(changed, "b.jsonl")), read_session(put(session(), "a.jsonl"))]
    assert merge(logs) == merge(logs[::-1])
    assert merge(logs).events == tuple(session())
    assert merge(logs).others == (another_failure(),)


@pytest.mark.skipif(os.name == "nt", reason="no such names there")
def test_a_file_with_a_hostile_name_is_named_harmlessly(put):
    path = put(b"rot", os.fsdecode(b"\x1b[2J\xff\n.jsonl"))
    (fault,) = read_session(path).damage
    assert fault.file.endswith("?[2J??.jsonl")
    assert str(fault).isprintable()
    assert read_session(path).session == "?[2J??"
