import errno
import os
import stat
import threading

import pytest

from holdtimer.log.lines import encode
from holdtimer.log.reader import read_person
from holdtimer.log.session_log import read_session
from holdtimer.log.writer import HANG_S, ClosedLogError, Environment, LogWriter

LONG = 30  # seconds; no test waits that long unless it fails


@pytest.fixture
def write(folder, session_id, environment):
    """Begin a writer on the faulty disk."""
    writers = []

    def write(**options):
        writers.append(LogWriter(folder, session_id, options.get("environment", environment)))
        return writers[-1]

    yield write
    environment.disk.answers.set()
    for writer in writers:
        writer.close(0)


def hand_in(writer, events):
    for event in events:
        writer.append(event)


def the_log(data):
    (log,) = read_person(data, "Ada")
    return log


def test_every_event_is_written_once_in_order(write, session, data, folder, session_id):
    writer = write()
    hand_in(writer, session())
    assert writer.close(LONG)
    assert (folder / f"{session_id}.jsonl").read_bytes() == b"".join(map(encode, session()))
    assert (writer.handed_in, writer.written, writer.saved, writer.trouble()) == (11, 11, 11, None)
    assert the_log(data).events == tuple(session())


def test_nothing_is_created_before_the_first_event(write, data):
    assert write().close(LONG)
    assert not data.exists()


def test_an_event_is_acknowledged_only_when_it_is_in_the_file(write, session, folder, disk):
    disk.fail("create", "hang")
    writer = write()
    writer.append(session()[0])
    assert disk.hung.wait(LONG)
    assert not writer.wait_written(0)
    assert (writer.written, writer.saved) == (0, 0)
    disk.answers.set()
    assert writer.wait_written(LONG)
    assert writer.path.read_bytes() == encode(session()[0])


def test_a_burst_shares_one_flush(write, session, disk):
    disk.fail("create", "hang")
    writer = write()
    writer.append(session()[0])
    assert disk.hung.wait(LONG)
    hand_in(writer, session()[1:])
    disk.answers.set()
    assert writer.close(LONG)
    assert disk.calls.count("write") == 11
    assert disk.calls.count("flush") <= 2


def test_written_is_not_yet_saved(write, session, disk, patience):
    disk.fail("flush", errno.EIO)
    writer = write()
    writer.append(session()[0])
    patience.until_it_failed()
    assert (writer.written, writer.saved) == (1, 0)


@pytest.mark.parametrize("umask", [0o000, 0o077, 0o377])
def test_folders_and_files_are_for_their_owner_alone_whatever_the_umask(umask, write, session, data, folder):
    before = os.umask(umask)
    try:
        writer = write()
        hand_in(writer, session())
        assert writer.close(LONG)
    finally:
        os.umask(before)
    modes = [stat.S_IMODE(each.stat().st_mode) for each in (data, folder, writer.path)]
    assert modes == [
        0o700,
        0o700,
        0o600,
    ]


def test_a_file_that_is_there_is_never_written_over(write, session, put, data):
    theirs = put(session()[:3])
    before = theirs.read_bytes()
    writer = write()
    hand_in(writer, session())
    assert writer.close(LONG)
    assert theirs.read_bytes() == before
    assert writer.path != theirs
    assert the_log(data).events == tuple(session())


@pytest.mark.parametrize("taken", range(1, 40))
def test_a_short_write_is_completed(taken, write, session, disk, data):
    disk.fail("write", ("short", 9999), ("short", taken))
    writer = write()
    hand_in(writer, session())
    assert writer.close(LONG)
    assert writer.path.read_bytes() == b"".join(map(encode, session()))


@pytest.mark.parametrize("taken", [1, 5, 40, -2, -1])
def test_a_line_cut_off_by_a_full_disk_is_closed_and_written_again_whole(
    taken, write, session, disk, patience, full
):
    lines = [encode(event) for event in session()]
    taken %= len(lines[2])
    disk.fail("write", None, None, ("short", taken), full, full)
    writer = write()
    hand_in(writer, session())
    patience.until_it_failed()
    assert writer.trouble() == "the disk is full"
    assert writer.written == 2
    patience.try_again()
    patience.until_it_failed()
    patience.try_again()
    assert writer.close(LONG)
    assert writer.trouble() is None
    torn = lines[2][:taken]
    assert writer.path.read_bytes() == b"".join(lines[:2]) + torn + b"\n" + b"".join(lines[2:])
    assert read_session(writer.path).events == tuple(session())


def test_a_full_disk_loses_nothing_and_makes_no_further_files(write, session, disk, patience, full, folder):
    disk.always["write"] = full
    writer = write()
    hand_in(writer, session()[:5])
    for _ in range(5):
        assert patience.until_it_failed() == 1.0
        patience.try_again()
    hand_in(writer, session()[5:])
    disk.always.clear()
    assert writer.close(LONG)
    assert len(list(folder.iterdir())) == 1
    assert read_session(writer.path).events == tuple(session())


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (errno.EROFS, "the folder is read-only"),
        (errno.EACCES, "the folder is read-only"),
        (errno.ENOSPC, "the disk is full"),
        (errno.ENOENT, "the folder is gone"),
        (errno.EIO, "the disk reports an error"),
        (errno.ELOOP, "the disk reports: injected"),
    ],
)
def test_a_folder_that_takes_no_file_is_told_and_tried_again(
    fault, words, write, session, disk, patience, folder, session_id
):
    disk.fail("create", fault, fault)
    writer = write()
    hand_in(writer, session())
    patience.until_it_failed()
    assert writer.trouble() == words
    assert writer.written == 0
    patience.try_again()
    patience.until_it_failed()
    patience.try_again()
    assert writer.close(LONG)
    assert writer.path == folder / f"{session_id}.jsonl"


def test_a_file_where_the_folder_should_be_is_told(write, session, data, patience):
    data.write_text("in the way")
    writer = write()
    writer.append(session()[0])
    patience.until_it_failed()
    assert writer.trouble() == "the folder is gone"
    data.unlink()
    assert writer.close(LONG)


@pytest.mark.parametrize("call", ["flush", "write"])
def test_after_a_fault_a_new_file_holds_the_whole_session(
    call, write, session, disk, patience, data, session_id
):
    disk.fail(call, *[None] * (4 if call == "write" else 0), errno.EIO)
    writer = write()
    hand_in(writer, session())
    patience.until_it_failed()
    assert writer.trouble() == "the disk reports an error"
    patience.try_again()
    assert writer.close(LONG)
    assert writer.path.stem.endswith("-2")
    assert read_session(writer.path).events == tuple(session())
    log = the_log(data)
    assert (log.events, log.damage, len(log.files)) == (tuple(session()), (), 2)


def test_a_disk_that_never_flushes_is_tried_ever_more_rarely(write, session, disk, patience):
    disk.always["flush"] = errno.EIO
    write().append(session()[0])
    waits = []
    for _ in range(8):
        waits.append(patience.until_it_failed())
        patience.try_again()
    assert waits == [1, 2, 4, 8, 16, 30, 30, 30]


def test_a_file_system_that_cannot_flush_is_no_trouble(write, session, monkeypatch):
    def cannot(fd):
        raise OSError(errno.EINVAL, "no flush here")

    monkeypatch.setattr("holdtimer.log.disk._flush", cannot)
    writer = write()
    hand_in(writer, session())
    assert writer.close(LONG)
    assert writer.trouble() is None


@pytest.mark.parametrize("how", ["deleted", "renamed", "replaced"])
def test_a_file_taken_away_meanwhile_is_written_anew(how, write, session, patience, tmp_path):
    writer = write()
    writer.append(session()[0])
    with writer._changed:
        assert writer._changed.wait_for(lambda: writer.saved == 1, LONG)
    path = writer.path
    if how == "deleted":
        path.unlink()
    elif how == "renamed":
        path.rename(tmp_path / "elsewhere")
    else:
        (tmp_path / "other").write_bytes(b"")
        (tmp_path / "other").rename(path)
    hand_in(writer, session()[1:])
    patience.until_it_failed()
    assert writer.trouble() == "the file was moved or replaced"
    patience.try_again()
    assert writer.close(LONG)
    assert read_session(writer.path).events == tuple(session())


def truncate(path):
    with path.open("r+b") as file:
        file.truncate(100)


def overwrite(path):
    path.write_bytes(b"x" * 100_000)


def replace_linked(path):
    os.link(path, path.with_name("backup"))
    path.unlink()
    path.write_bytes(b"x" * 100_000)


def pipe(path):
    path.unlink()
    os.mkfifo(path)


def spoil_one_line(path):
    content = path.read_bytes()
    path.write_bytes(content.replace(b'"ev":"ready"', b'"ev":"reedy"'))


@pytest.mark.skipif(os.name != "posix", reason="an open file cannot be replaced there")
@pytest.mark.parametrize("spoil", [truncate, overwrite, replace_linked, pipe, spoil_one_line])
@pytest.mark.parametrize("last", [False, True])
def test_whatever_happens_to_the_file_all_is_in_one_before_that_is_said(
    spoil, last, write, session, patience, data
):
    writer = write()
    first = session() if last else session()[:6]
    hand_in(writer, first)
    with writer._changed:
        assert writer._changed.wait_for(lambda: writer.saved == len(first), LONG)
    spoil(writer.path)
    hand_in(writer, session()[len(first) :])
    closed = threading.Thread(target=lambda: closed.said.append(writer.close(LONG)))
    closed.said = []
    closed.start()
    patience.until_it_failed()
    patience.try_again()
    closed.join(LONG)
    assert closed.said == [True]
    assert writer.path.stem.endswith("-2")
    assert read_session(writer.path).events == tuple(session())


def test_closing_says_no_where_the_file_cannot_be_looked_at(write, session, disk, monkeypatch):
    monkeypatch.setattr(disk, "holds", lambda path, lines: False)
    writer = write()
    hand_in(writer, session())
    assert not writer.close(0.5)


def test_a_hanging_disk_holds_nobody_up_and_is_told(session, folder, session_id, disk):
    now = [0.0]
    disk.fail("create", "hang")
    writer = LogWriter(folder, session_id, Environment(disk=disk, clock=lambda: now[0]))
    hand_in(writer, session())
    assert disk.hung.wait(LONG)
    assert writer.trouble() is None
    now[0] = HANG_S + 0.1
    assert writer.trouble() == "the disk does not answer"
    assert not writer.wait_written(0)
    assert not writer.close(0)


def test_a_session_moves_to_another_folder_while_the_old_disk_hangs(write, session, disk, tmp_path):
    writer = write()
    disk.fail("write", None, None, None, "hang")
    hand_in(writer, session()[:5])
    assert disk.hung.wait(LONG)
    writer.move_to(tmp_path / "elsewhere")
    hand_in(writer, session()[5:])
    assert writer.close(LONG)
    assert writer.path.parent == tmp_path / "elsewhere"
    assert read_session(writer.path).events == tuple(session())


def test_a_session_moves_off_a_full_disk(write, session, disk, patience, tmp_path, full):
    disk.fail("write", None, None, full)
    writer = write()
    hand_in(writer, session())
    patience.until_it_failed()
    writer.move_to(tmp_path / "elsewhere")
    assert writer.close(LONG)
    assert read_session(writer.path).events == tuple(session())


def test_closing_on_a_full_disk_tries_once_more_and_then_says_no(write, session, disk, patience, full):
    disk.always["write"] = full
    writer = write()
    hand_in(writer, session())
    patience.until_it_failed()
    assert not writer.close(0.05)
    assert patience.until_it_failed()
    assert writer.trouble() == "the disk is full"


def test_nothing_is_taken_in_after_the_end(write, session):
    writer = write()
    hand_in(writer, session())
    with pytest.raises(ClosedLogError, match="is closed, nothing is added"):
        writer.append(session()[2])
    other = write()
    other.close(LONG)
    with pytest.raises(ClosedLogError):
        other.append(session()[0])


def test_the_thread_keeps_no_program_from_ending(write):
    write()
    assert all(thread.daemon for thread in threading.enumerate() if thread.name == "holdtimer-log")


def test_a_left_session_goes_on_in_its_file(put, session, data, environment):
    path = put(session()[:7])
    writer = LogWriter.resume(the_log(data), environment)
    hand_in(writer, session()[7:])
    assert writer.close(LONG)
    assert writer.path == path
    assert path.read_bytes() == b"".join(map(encode, session()))


def test_a_closed_session_is_never_gone_on_with(put, session, data, environment):
    put(session())
    with pytest.raises(ClosedLogError, match="is closed"):
        LogWriter.resume(the_log(data), environment)


def test_a_session_goes_on_after_a_torn_tail_wherever_it_was_torn(put, session, session_id, environment):
    lines = [encode(event) for event in session()]
    for cut in range(len(lines[6])):
        path = put(b"".join(lines[:6]) + lines[6][:cut])
        log = read_session(path)
        kept = len(log.events)
        assert log.events == tuple(session()[:kept])
        writer = LogWriter.resume(log, environment)
        hand_in(writer, session()[kept:])
        assert writer.close(LONG)
        assert read_session(path).events == tuple(session())
        assert path.read_bytes().startswith(b"".join(lines[:6]) + lines[6][:cut])


def test_a_session_in_pieces_goes_on_in_a_file_that_holds_all_of_it(
    put, session, data, environment, session_id
):
    put(session()[:4])
    put([session()[0], *session()[4:7]], f"{session_id} (copy).jsonl")
    writer = LogWriter.resume(the_log(data), environment)
    hand_in(writer, session()[7:])
    assert writer.close(LONG)
    assert writer.path.name == f"{session_id}-2.jsonl"
    assert read_session(writer.path).events == tuple(session())


def test_what_came_while_the_disk_was_slow_goes_into_the_same_file_at_the_end(folder, session, environment):
    environment.disk.fail("flush", "hang")
    writer = LogWriter(folder, session()[0].session, environment)
    writer.append(session()[0])
    assert environment.disk.hung.wait(LONG)
    hand_in(writer, session()[1:])
    closing = threading.Thread(target=writer.close, args=(LONG,))
    closing.start()
    closing.join(0.2)  # it waits for the disk
    environment.disk.answers.set()
    closing.join(LONG)
    assert writer.saved == len(session())
    assert [path.name for path in folder.iterdir()] == [writer.path.name]
    assert read_session(writer.path).events == tuple(session())


def test_a_file_that_cannot_be_reopened_is_left_for_a_new_one(put, session, data, environment, patience):
    put(session()[:4])
    environment.disk.fail("reopen", errno.EACCES)
    writer = LogWriter.resume(the_log(data), environment)
    hand_in(writer, session()[4:])
    patience.until_it_failed()
    patience.try_again()
    assert writer.close(LONG)
    assert read_session(writer.path).events == tuple(session())
    assert len(the_log(data).files) == 2


def test_an_id_from_a_stranger_leads_out_of_no_folder(put, session, folder, data, environment, patience):
    path = put(session("../../outside")[:4], "stray.jsonl")
    writer = LogWriter.resume(read_session(path), environment)
    environment.disk.fail("flush", errno.EIO)
    hand_in(writer, session()[4:])
    patience.until_it_failed()
    patience.try_again()
    assert writer.close(LONG)
    assert writer.path == folder / "stray-2.jsonl"


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")  # it is to die
@pytest.mark.parametrize("taken", [0, 1, 30, -1])
@pytest.mark.parametrize("number", range(11))
def test_what_was_acknowledged_survives_a_death_in_any_write(
    number, taken, session, folder, environment, data
):
    """The thread dies as a killed process would: in the middle of a line, with nothing tidied up."""
    lines = [encode(event) for event in session()]
    part = [("short", taken % len(lines[number]))] if taken else []
    environment.disk.fail("write", *[None] * number, *part, SystemExit())
    writer = LogWriter(folder, "killed", environment)
    hand_in(writer, session())
    writer._file.join(LONG)
    assert not writer._file.is_alive()
    assert writer.written == number
    survived = [event for log in read_person(data, "Ada") for event in log.events]
    assert survived == session()[: number + (taken == -1)]
