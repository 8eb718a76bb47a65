"""Function tests as a CSV file: out and in again, twice, and from a clinic."""

import errno
from datetime import UTC, datetime, timedelta

import pytest

from holdtimer.cli import main
from holdtimer.errors import ExitCode
from holdtimer.log import writer as writing
from holdtimer.log.csv_tests import is_of_tests, read_tests
from holdtimer.log.disk import Disk
from holdtimer.log.history import read_summaries
from holdtimer.progression.function import State, function_days, function_trends
from holdtimer.session.paper_trials import plan_tests
from tests.tables import every

NOW = datetime(2026, 11, 26, tzinfo=UTC)
CLINIC = "started;protocol;variant;seat_cm;stands\n" + "".join(
    f"2026-{month:02}-05 10:00;chair-stand-30;crossed;43;{stands}\n"
    for month, stands in enumerate((9, 9, 10, 14, 14), start=1)
)


@pytest.fixture
def call(tmp_path, capsys):
    """Run a command in a folder of its own; return its exit code and what it printed."""

    def call(*args, data="data"):
        code = main([*map(str, args), "--data", str(tmp_path / data), "--person", "ada"])
        done = capsys.readouterr()
        return code, done.out + done.err

    return call


def faults_of(row, columns="started,protocol,variant,lane_m,stands,seconds,able"):
    sheet = read_tests(f"{columns}\n{row}\n".encode(), "t.csv", UTC)
    found = plan_tests(sheet.rows, (), NOW)
    faults = [fault.message for fault in sheet.faults] + [words for _, words in found.faults]
    assert not (found.sessions and faults)
    return faults


def test_results_of_a_clinic_are_a_series_of_their_own_and_judged(tmp_path, call):
    (tmp_path / "clinic.csv").write_text(CLINIC)
    code, said = call("import", tmp_path / "clinic.csv")
    assert (code, said) == (ExitCode.DONE, "added: 5 trials of 5 test days\nalready known: 0 trials\n")
    (trend,) = function_trends(
        function_days(read_summaries(tmp_path / "data", "ada").sessions), "older-adults"
    )
    assert (trend.series.presser, trend.state, trend.base) == ("helper", State.CHANGED, 9.5)
    _, said = call("log")
    assert "no script  0  1 test, on paper" in " ".join(said.split("\n")).replace("     ", "  "), said


def test_what_is_exported_is_imported_and_gives_the_same_and_twice_adds_nothing(tmp_path, call):
    (tmp_path / "clinic.csv").write_text(CLINIC + "2026-06-05 10:00;chair-stand-30;hands;43;7\n")
    call("import", tmp_path / "clinic.csv")
    code, _ = call("export", "tests", "-o", tmp_path / "out.csv")
    assert code == ExitCode.DONE
    call("import", tmp_path / "out.csv", data="other")
    code, said = call("import", tmp_path / "out.csv", data="other")
    assert "added: 0 trials" in said
    assert "already known: 6 trials" in said
    call("export", "tests", "-o", tmp_path / "again.csv", data="other")
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "out.csv").read_bytes()


def test_an_off_day_holds_for_the_tests_that_say_so(tmp_path, call):
    rows = ["2026-06-05 10:00,chair-stand-30,hands,7,no", "2026-06-05 10:00,chair-stand-30,crossed,8,yes"]
    (tmp_path / "in.csv").write_text("\n".join(["started,protocol,variant,stands,off_day", *rows]))
    call("import", tmp_path / "in.csv")
    (session,) = read_summaries(tmp_path / "data", "ada").sessions
    assert [each.is_off_day for each in session.tests] == [False, True]
    call("export", "tests", "-o", tmp_path / "out.csv")
    call("import", tmp_path / "out.csv", data="other")
    (again,) = read_summaries(tmp_path / "other", "ada").sessions
    assert [each.is_off_day for each in again.tests] == [False, True]


def test_a_test_that_is_kept_with_another_result_is_named_and_changes_nothing(tmp_path, call):
    (tmp_path / "clinic.csv").write_text(CLINIC)
    call("import", tmp_path / "clinic.csv")
    (tmp_path / "clinic.csv").write_text(CLINIC.replace(";9\n", ";11\n", 1))
    _, said = call("import", tmp_path / "clinic.csv")
    assert "clinic.csv:2: this test is in the log already, with another result" in said
    assert "added: 0 trials" in said


@every(
    ("row", "words"),
    [
        ("2026-01-05,chair-stand-30,,,9,,", '"variant" is missing; write variant = "crossed"'),
        (
            "2026-01-05,one-leg,,,9,,",
            'protocol is "one-leg"; it must be "chair-stand-30", "five-stands", "timed-walk" or "up-and-go"',
        ),
        ("2026-01-05,,hands,,9,,", '"protocol" is missing; write what is done, such as protocol ='),
        ("2026-01-05,timed-walk,,60,,7.2,", "lane_m is 60; it must be at most 30"),
        ("2026-01-05,timed-walk,,six,,7.2,", 'lane_m is "six"; write a number such as 46 or 7.62'),
        ("2026-01-05,timed-walk,,6,,0,", "speed_m_s is missing or 0"),
        ("2026-01-05,chair-stand-30,arms,,9,,", 'variant is "arms"; it must be "crossed" or "hands"'),
        ("2026-01-05,chair-stand-30,hands,,9.5,,", 'stands is "9.5"; write a whole number such as 3'),
        ("2027-01-05,five-stands,,,,12,", "started is in the future"),
        ("2026-01-05,timed-walk,,,,7.2,", '"lane_m" is missing'),
        ("2026-01-05,five-stands,hands,,,9,", "five stands are done with arms crossed"),
        ("2026-01-05,five-stands,,,,,", "seconds is missing or 0"),
        ("2026-01-05,chair-stand-30,hands,,0,,", "stands is missing or 0"),
        ("2026-01-05,chair-stand-30,hands,,140,,", "stands is 140; that is more than 100; check it"),
        ("2026-01-05,five-stands,,,,12,,4", "this row has 8 cells, but the first line names 7 columns"),
        ("soon,five-stands,,,,9,", 'started is "soon"; write a time such as'),
        (",five-stands,,,,9,", "started is missing"),
        ("2026-01-05,five-stands,,4,,9,", 'lane_m is only for protocol = "timed-walk"'),
    ],
)
def test_a_faulty_row_says_what_would_be_right(row, words):
    (fault,) = faults_of(row)
    assert words in fault


@every(
    ("cells", "words"),
    [
        ("6.1,2.5,", "speed_m_s is 2.5, but 6 m in 6.1 s are 0.98 m/s; correct one of them, or leave it out"),
        ("6.1,0.98,", ""),
        ("12,,no", "able is no, and seconds is 12; clear one of them"),
        (",0.5,no", "able is no, and speed_m_s is 0.5; clear one of them"),
    ],
)
def test_a_row_that_contradicts_itself_is_a_fault(cells, words):
    text = f"started,protocol,lane_m,seconds,speed_m_s,able\n2026-01-05,timed-walk,6,{cells}\n"
    found = plan_tests(read_tests(text.encode(), "t.csv", UTC).rows, (), NOW)
    assert found.faults == ([(2, words)] if words else [])


def test_not_able_needs_no_number_and_a_speed_comes_from_lane_and_seconds():
    text = "started,protocol,lane_m,seconds,able\n2026-01-05,timed-walk,6,7.5,\n2026-02-05,timed-walk,6,,no\n"
    found = plan_tests(read_tests(text.encode(), "t.csv", UTC).rows, (), NOW)
    assert found.faults == []
    results = [each.results[-1] for each in found.sessions]
    assert [(each.speed_m_s, each.able) for each in results] == [(0.8, True), (None, False)]
    assert found.sessions[1].started - found.sessions[0].started == timedelta(days=31)


def test_a_date_alone_stays_one_in_and_out_and_in_again(tmp_path, call):
    (tmp_path / "clinic.csv").write_text(CLINIC.replace(" 10:00", ""))
    call("import", tmp_path / "clinic.csv")
    first, *_ = read_summaries(tmp_path / "data", "ada").sessions
    assert (first.date_only, first.ended) == (True, first.started + timedelta(days=1))
    call("export", "tests", "-o", tmp_path / "out.csv")
    lines = (tmp_path / "out.csv").read_text().splitlines()
    assert [line.split(",")[0] for line in lines[1:]] == [f"2026-{month:02}-05" for month in range(1, 6)]
    assert "added: 5 trials of 5 test days" in call("import", tmp_path / "out.csv", data="other")[1]
    for data in ("data", "other"):
        assert "added: 0 trials of 0 test days" in call("import", tmp_path / "clinic.csv", data=data)[1]
    call("export", "tests", "-o", tmp_path / "again.csv", data="other")
    assert (tmp_path / "again.csv").read_text().splitlines() == lines
    assert ":00" not in call("log")[1] + call("show")[1]


def test_a_date_that_was_once_kept_as_its_midnight_is_known_and_a_time_of_that_day_is_another(tmp_path, call):
    for cell, added in (("2026-06-05 00:00", 1), ("2026-06-05", 0), ("2026-06-05 10:00", 1)):
        (tmp_path / "in.csv").write_text(f"started,protocol,variant,stands\n{cell},chair-stand-30,hands,7\n")
        assert f"added: {added} trial" in call("import", tmp_path / "in.csv")[1], cell


def test_a_second_trial_that_comes_later_joins_the_first_and_one_written_twice_is_named(tmp_path, call):
    head, walk = "started,protocol,lane_m,trials,trial,seconds,off_day", "2026-06-05,timed-walk,6,2"
    for rows in ([f"{walk},1,6,yes"], [f"{walk},1,6,yes", f"{walk},2,7.5,", f"{walk},2,8,"]):
        (tmp_path / "in.csv").write_text("\n".join([head, *rows]))
        _, said = call("import", tmp_path / "in.csv")
    assert "added: 1 trial of 1 test day\nalready known: 2 trials" in said
    assert "in.csv:4: line 3 has this test too; if you did it twice, number them in a column trial" in said
    (session,) = read_summaries(tmp_path / "data", "ada").sessions
    (test,) = session.tests
    assert (test.value, test.is_off_day) == (0.9, True)


def test_tests_of_one_name_but_another_way_stay_two(tmp_path, call):
    rows = [f"2026-06-05,stand,chair-stand-30,{way},7" for way in ("hands", "crossed")]
    (tmp_path / "in.csv").write_text("\n".join(["started,test,protocol,variant,stands", *rows]))
    for added in (2, 0):
        assert f"added: {added} trials of {added} test days" in call("import", tmp_path / "in.csv")[1]
    found = [each for past in read_summaries(tmp_path / "data", "ada").sessions for each in past.tests]
    assert sorted(each.series.variant for each in found) == ["crossed", "hands"]


def test_a_disk_that_fails_in_the_middle_keeps_whole_days_and_says_how_many(tmp_path, call, monkeypatch):
    write, lines = Disk.write, []

    def full_after_some(disk, fd, data):
        lines.append(data)
        if len(lines) > 7:  # five are a day
            raise OSError(errno.ENOSPC, "full")
        return write(disk, fd, data)

    (tmp_path / "clinic.csv").write_text(CLINIC)
    monkeypatch.setattr(Disk, "write", full_after_some)
    monkeypatch.setattr(writing, "CLOSE_WAIT_S", 0.2)
    code, said = call("import", tmp_path / "clinic.csv")
    assert code == ExitCode.NOT_WRITTEN
    assert "the disk is full: 1 of 5 sessions were kept; import the file again to add the rest" in said
    assert len(list(tmp_path.glob("data/*/*.jsonl"))) == 1
    monkeypatch.setattr(Disk, "write", write)
    assert (
        "added: 4 trials of 4 test days\nalready known: 1 trial" in call("import", tmp_path / "clinic.csv")[1]
    )


def test_the_two_kinds_of_file_are_told_apart_and_sets_need_their_program(tmp_path, call):
    assert is_of_tests(CLINIC.encode())
    sets = "started,exercise,side,rung,first_failure_s\n2026-01-05,wall-sit,both,hips high,52\n"
    assert not is_of_tests(sets.encode())
    (tmp_path / "sets.csv").write_text(sets)
    code, said = call("import", tmp_path / "sets.csv")
    assert code == ExitCode.BAD_INPUT
    assert "name their program too" in said


def test_the_page_that_is_handed_on_shows_them_below_strength(tmp_path, call):
    (tmp_path / "clinic.csv").write_text(CLINIC)
    call("import", tmp_path / "clinic.csv")
    at = ("--at", "2026-05-20T10:00", "--weeks", "26")
    code, _ = call("export", "html", "chair-and-counter", *at, "-o", tmp_path / "record.html")
    assert code == ExitCode.DONE
    _, _, tests = (tmp_path / "record.html").read_text().partition("<h2>Function tests</h2>")
    assert (tests.count('<circle class="open"'), tests.count('<circle class="mark"')) == (1, 4)
    assert "changed by more than the test&#39;s own error: 9.5 to 14 stands" in tests
    assert "Ho-Henriksson 2024" in tests


def test_what_a_clinic_measured_takes_no_program_away(tmp_path, call):
    (tmp_path / "paper.csv").write_text(
        "started,exercise,side,rung,first_failure_s\n2025-12-01 18:00,wall-sit,both,hips high,65\n"
    )
    call("import", tmp_path / "paper.csv", "chair-and-counter")
    (tmp_path / "clinic.csv").write_text(CLINIC)
    call("import", tmp_path / "clinic.csv")
    for command in ("next", "trend"):
        code, said = call(command)
        assert (code, "Chair and counter" in said) == (ExitCode.DONE, True), said
