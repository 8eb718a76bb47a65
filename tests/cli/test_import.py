import errno
import os
import stat
from datetime import datetime, timedelta

import pytest

from holdtimer.log import writer as writing
from holdtimer.log.disk import Disk
from holdtimer.log.folder import person_folder
from holdtimer.log.history import read_summaries
from holdtimer.log.lock import hold
from holdtimer.log.reader import read_person
from tests.invented.programs import HEEL_RAISE, ON_THE_WALL, WALL_SIT, program, script

LEGS = program(
    WALL_SIT + 'ladder = ["high", {rung = "half way", was = ["middle"]}, "low"]\n',
    HEEL_RAISE + 'ladder = ["both hands", "fingertips"]\nwindow_s = 60\nband_s = [40, 60]\n',
    script(
        "A", "Wall", ON_THE_WALL, '{exercise = "wall-sit", window_s = 30, band_s = [20, 30], final_s = 10}'
    ),
    script("B", "Heels", '{exercise = "heel-raise"}'),
    name="legs",
    title="Legs",
)
HEADER = "started,exercise,side,rung,first_failure_s,ran_to_end"


@pytest.fixture
def legs(tmp_path):
    path = tmp_path / "legs.toml"
    path.write_text(LEGS)
    return path


@pytest.fixture
def take(tmp_path, call, legs):
    """Take rows in, under a header of their own where one is given, and return what was answered."""

    def take(*rows, header=HEADER, program=legs, person="Ada"):
        path = tmp_path / "paper.csv"
        path.write_text("\n".join([header, *rows, ""]), encoding="utf-8")
        return call("import", path, program, "--person", person)

    return take


@pytest.fixture
def kept(data):
    """Return what is kept of Ada."""
    return lambda: read_summaries(data, "Ada").sessions


def at_fault(said, line):
    """Return the faults told of one line of the file, nothing having been taken in."""
    assert said.code == 2
    assert said.out == ""
    assert said.err.endswith("nothing was imported\n")
    mark = f"paper.csv:{line}: "
    return [each.split(mark, 1)[1] for each in said.err.splitlines() if mark in each]


# ---- what is kept


def test_each_session_is_a_file_of_its_own_made_like_every_log(take, data):
    said = take(
        "2026-05-12 18:40,wall-sit,both,high,72.5,",
        "2026-05-12 18:40,wall-sit,both,high,25,",
        "2026-05-14,heel-raise,left,fingertips,,yes",
    )
    assert said.code == 0
    assert said.out == "added: 3 sets in 2 sessions\nalready known: 0 sets\n"
    logs = read_person(data, "Ada")
    assert [(log.opened.kind, log.opened.script, log.closed) for log in logs] == [
        ("paper", "A", True),
        ("paper", "B", True),
    ]
    assert [event.ev for event in logs[0].events] == [
        "opened",
        "anchor",
        "paper-result",
        "paper-result",
        "closed",
    ]
    assert not any(log.damage for log in logs)
    assert {stat.S_IMODE(os.stat(log.files[0]).st_mode) for log in logs} == {0o600}


def test_window_band_and_kind_are_the_programs_where_none_are_given(take, kept):
    take(
        "2026-05-12 18:40,wall-sit,both,high,72.5,",
        "2026-05-12 18:40,wall-sit,both,high,25,",
        "2026-05-14,heel-raise,left,fingertips,,yes",
    )
    first, second, third = [result for each in kept() for result in each.results]
    assert (first.window_s, first.band_s, first.kind, first.set) == (90, (60, 90), "hold", 1)
    assert (second.window_s, second.band_s, second.set) == (30, (20, 30), 2)  # the second step of the script
    assert (third.window_s, third.band_s, third.kind) == (60, (40, 60), "reps")


def test_every_column_is_kept(take, kept):
    header = (
        "started,ended,program,script,set,attempt,exercise,side,rung,window_s,band_low_s,band_high_s,first_failure_s,"
        "ran_to_end,confirmed,late_tap_s,tension_s,reentries,interrupted,skipped,stopped,effort,form_broke,pain,"
        "off_day,note"
    )
    row = (
        "2026-05-12T18:40+02:00,2026-05-12T19:05+02:00,legs,A,3,2,wall-sit,both,low,80,50,75,61.25,no,no,,70,2,yes,"
        "no,choice,9,yes,no,yes,'=cold"
    )
    assert take(row, header=header).code == 0
    (session,) = kept()
    assert session.started == datetime.fromisoformat("2026-05-12T18:40+02:00")
    assert session.ended == datetime.fromisoformat("2026-05-12T19:05+02:00")
    assert (session.script, session.off_day, session.is_hard, session.complete) == ("A", True, True, True)
    (result,) = session.results
    assert (result.set, result.attempt, result.rung, result.window_s, result.band_s) == (
        3,
        2,
        "low",
        80,
        (50, 75),
    )
    assert (result.first_failure_s, result.tension_s, result.reentries) == (61.25, 70, 2)
    assert (result.interrupted, result.stopped, result.effort) == (True, "choice", 9)
    assert (result.form_broke, result.pain, result.note) == (True, False, "=cold")
    assert (result.failures_s, result.reentries_s) == ((), ())  # no stamps are made up
    assert result.counted_because == "an off day"


@pytest.mark.parametrize(
    ("cells", "ran_to_end", "confirmed", "counted"),
    [
        (",yes,", True, True, True),  # what is written on paper is the person's word
        (",yes,yes", True, True, True),
        (",yes,no", True, False, False),
        (",no,", False, False, False),
        ("72,,", False, False, True),
        ("72,no,no", False, False, True),
    ],
)
def test_a_run_to_the_end_on_paper_is_confirmed(take, kept, cells, ran_to_end, confirmed, counted):
    take(f"2026-05-12,wall-sit,both,high,{cells}", header=f"{HEADER},confirmed")
    (result,) = kept()[0].results
    assert (result.ran_to_end, result.confirmed, result.counted) == (ran_to_end, confirmed, counted)


def test_names_are_forgiven_their_spelling_and_former_rungs_are_known(take, kept):
    take("2026-05-12,Wall Sit,,MIDDLE,70,", "2026-05-12,HEEL-RAISE,r,Both Hands,50,")
    results = kept()[0].results
    assert [(each.exercise, each.side, each.rung) for each in results] == [
        ("wall-sit", "both", "half way"),
        ("heel-raise", "right", "both hands"),
    ]


def test_a_script_is_told_by_its_exercises_only_where_one_alone_fits(take, kept):
    take("2026-05-12,wall-sit,both,high,70,", "2026-05-12,heel-raise,left,fingertips,50,")
    assert kept()[0].script == ""


def test_a_date_alone_counts_from_the_end_of_its_day(take, kept, call, legs, monkeypatch):
    monkeypatch.setenv("TZ", "Europe/Berlin")
    take("2026-03-29,wall-sit,both,high,70,")
    assert kept()[0].date_only
    found = call("next", legs, "--json", "--at", "2026-03-30T12:00").json
    assert found["earliest_start"] == "2026-04-01T00:00:00+02:00"
    assert found["done_last_7_days"] == 1


def test_an_end_that_is_not_known_is_the_start_and_the_scripts_length(take, call, legs):
    """Two windows of 90 and 30 s, two count-ins of 10 s and 90 s of rest between: 230 s."""
    take("2026-05-12T18:00:00Z,wall-sit,both,high,70,")
    found = call("next", legs, "--json", "--at", "2026-05-13T12:00Z").json
    assert found["earliest_start"] == "2026-05-14T18:03:50+00:00"


def test_it_is_shown_like_any_session(take, call):
    take("2026-05-12 18:40,wall-sit,both,high,20,")
    shown = call("show", "20260512", "--json").json
    assert (shown["script"], shown["complete"], shown["sets"][0]["first_failure_s"]) == ("A", True, 20)
    assert shown["sets"][0]["verdict"] == "same"  # at the bottom of the ladder
    assert "\nLegs: Wall\nAda, Tuesday 2026-05-12 18:40\n" in call("show").out


# ---- what is known already


def test_taking_a_file_in_twice_adds_nothing(take, kept):
    rows = ["2026-05-12 18:40,wall-sit,both,high,72.5,", "2026-05-14,heel-raise,l,fingertips,,yes"]
    take(*rows)
    before = kept()
    said = take(*rows)
    assert said.out == "added: 0 sets in 0 sessions\nalready known: 2 sets\n"
    assert (said.err, kept()) == ("", before)


def test_a_row_written_down_later_joins_its_session(take, kept, data):
    take("2026-05-12 18:40,wall-sit,both,high,72.5,")
    said = take(
        "2026-05-12 18:40,heel-raise,left,fingertips,50,", "2026-05-12 18:40,wall-sit,both,high,72.5,"
    )
    assert said.out == "added: 1 set in 1 session\nalready known: 1 set\n"
    (session,) = kept()
    assert [(each.set, each.exercise) for each in session.results] == [(1, "wall-sit"), (2, "heel-raise")]
    assert not any(log.damage for log in read_person(data, "Ada"))


def test_each_person_has_sessions_of_their_own(take, data):
    take("2026-05-12,wall-sit,both,high,72,")
    assert take("2026-05-12,wall-sit,both,high,72,", person="Ben").out.startswith("added: 1 set")


def test_rows_of_another_program_are_left_out_and_counted(take, kept):
    header = f"program,{HEADER}"
    said = take("floor,2026-05-12,bridge,both,x,72,", "legs,2026-05-12,wall-sit,both,high,72,", header=header)
    assert (
        said.out
        == "added: 1 set in 1 session\nalready known: 0 sets\nleft out, of the program floor: 1 set\n"
    )
    assert len(kept()) == 1


def test_a_file_of_another_program_alone_is_a_fault(take):
    said = take("floor,2026-05-12,bridge,both,x,72,", header=f"program,{HEADER}")
    assert at_fault(said, 1) == ["every row is of another program; name that one: floor"]


def test_a_result_from_a_longer_window_is_taken_in_with_its_length(take, kept):
    header = f"{HEADER},window_s"
    assert at_fault(take("2026-05-12,wall-sit,both,high,110,,", header=header), 2)
    assert take("2026-05-12,wall-sit,both,high,110,,120", header=header).code == 0
    assert (kept()[0].results[0].first_failure_s, kept()[0].results[0].window_s) == (110, 120)


# ---- faults


def test_nothing_is_taken_in_when_one_row_is_wrong(take, data):
    said = take("2026-05-12,wall-sit,both,high,72,", "2026-05-13,wall-sit,both,high,91,")
    assert at_fault(said, 3) == [
        "first_failure_s is 91, outside the window of 90 s; "
        "if the window was longer then, write its length under window_s"
    ]
    assert not list(data.rglob("*.jsonl"))


def test_every_fault_of_every_row_is_told_at_once(take):
    said = take("never,wal-sit,middle,high,x,maybe", "2026-05-12,wall-sit,left,hihg,20,yes")
    assert len(at_fault(said, 2)) == 5
    assert at_fault(said, 3) == [
        '"wall-sit" has no rung "hihg"; did you mean "high"?',
        "first_failure_s and ran_to_end are both filled in; a set that failed did not run to the end",
        'side is left, but "wall-sit" is one set for both sides; write both',
    ]


@pytest.mark.parametrize(
    ("cells", "fault"),
    [
        ("started=", "started is empty; write when the session began"),
        ("exercise=", "exercise is empty; write its id, such as wall-sit, heel-raise"),
        ("exercise=wal-sit", 'the program has no exercise "wal-sit"; did you mean "wall-sit"?'),
        ("rung=", 'rung is empty; the rungs of "wall-sit" are: high, half way, low'),
        ("rung=hi", '"wall-sit" has no rung "hi"; '),
        ("exercise=heel-raise", 'side is both, but "heel-raise" is a set for each side; write left or right'),
        ("exercise=heel-raise side=", 'side is empty, but "heel-raise" is a set for each side; write left'),
        ("side=right", 'side is right, but "wall-sit" is one set for both sides; write both'),
        ("first_failure_s=", "there is no result; write the seconds under first_failure_s"),
        ("ran_to_end=yes", "first_failure_s and ran_to_end are both filled in"),
        ("window_s=70", "first_failure_s is 72, outside the window of 70 s"),
        ("window_s=70", "the band is 60 to 90 s; it must rise and be inside the window of 70 s"),
        ("window_s=5", "window_s is 5; a work window lasts 10 to 600 s"),
        ("band_low_s=90", "the band is 90 to 90 s; it must rise"),
        ("tension_s=99", "tension_s is 99, outside the window of 90 s"),
        ("late_tap_s=9 first_failure_s=", "late_tap_s is 9; it counts seconds after the end, 2 at most"),
        ("first_failure_s= ran_to_end=yes skipped=x", "ran_to_end is yes, but the set was skipped"),
        ("first_failure_s= ran_to_end=yes interrupted=x", "ran_to_end is yes, but the set was interrupted"),
        ("first_failure_s= ran_to_end=yes stopped=choice", "ran_to_end is yes, but the set was stopped by"),
        ("script=C", 'the program has no script "C"; '),
        ("set=0", "set is 0; the first is 1"),
        ("effort=12", 'effort is "12"; write a whole number from 0'),
        ("ended=2026-05-12T17:00", "ended is 2026-05-12 17:00+00:00, which is before started"),
        ("ended=2026-06-12T18:20", "ended is 2026-06-12 18:20+00:00, which is more than a day after"),
        ("ended=2026-05-12", "started and ended both need a time of day"),
        ("started=2026-05-12 ended=2026-05-12T18:20", "started and ended both need a time of day"),
    ],
)
def test_what_is_wrong_is_told_with_what_would_be_right(take, monkeypatch, cells, fault):
    monkeypatch.setenv("TZ", "UTC")
    row = dict(
        zip(HEADER.split(","), ["2026-05-12T18:00", "wall-sit", "both", "high", "72", ""], strict=True)
    )
    row |= dict(each.split("=") for each in cells.split())
    said = take(",".join(row.values()), header=",".join(row))
    assert any(each.startswith(fault) for each in at_fault(said, 2)), said.err


def test_a_time_that_is_still_to_come_is_a_fault_but_today_is_not(take):
    now = datetime.now().astimezone()
    later, tomorrow = now + timedelta(hours=1), now + timedelta(days=1)
    said = take(
        f"{later:%Y-%m-%dT%H:%M:%S%z},wall-sit,both,high,72,", f"{tomorrow:%Y-%m-%d},wall-sit,both,high,72,"
    )
    assert [len(at_fault(said, line)) for line in (2, 3)] == [1, 1]
    assert "in the future" in said.err
    assert take(f"{now:%Y-%m-%d},wall-sit,both,high,72,").code == 0


def test_the_same_set_twice_is_a_fault(take):
    header = f"{HEADER},set"
    said = take(
        "2026-05-12,wall-sit,both,high,72,,1", "2026-05-12,heel-raise,left,fingertips,50,,1", header=header
    )
    assert at_fault(said, 3) == ["set 1 of this session is also in line 2; give each set its own number"]
    said = take("2026-05-12,wall-sit,both,high,22,", "2026-05-12,wall-sit,both,high,22,")
    assert at_fault(said, 3)[0].startswith("this row repeats line 2; ")
    assert (
        take("2026-05-12,wall-sit,both,high,22,,1", "2026-05-12,wall-sit,both,high,22,,2", header=header).code
        == 0
    )


def test_a_result_that_counts_for_nothing_is_named(take):
    said = take("2026-05-12,wall-sit,both,high,,no")
    assert said.code == 0
    assert (
        "paper.csv:2: neither a first failure nor a run to the end: the set is kept, but it does not count"
        in said.err
    )


@pytest.mark.parametrize(("seconds", "is_named"), [("0", True), ("0:00.4", True), ("1", False)])
def test_a_failure_at_once_is_kept_and_asked_about(take, kept, seconds, is_named):
    said = take(f"2026-05-12,wall-sit,both,high,{seconds},")
    assert said.code == 0
    assert said.out.startswith("added: 1 set")
    words = "paper.csv:2: first_failure_s is 0; if the set was not done, write yes under skipped"
    assert (words.replace("is 0;", "is 0.4;" if "4" in seconds else "is 0;") in said.err) == is_named
    assert kept()[0].results[0].counted


def test_a_failure_at_once_that_was_led_is_still_taken_in_elsewhere(trained, call, tmp_path, hall, data):
    trained(0.5)
    file = tmp_path / "led.csv"
    call("export", "csv", "-o", file)
    said = call("import", file, hall, "--person", "Ben")
    assert (said.code, said.out.splitlines()[0]) == (0, "added: 1 set in 1 session")
    assert read_summaries(data, "Ben").sessions[0].results[0].first_failure_s == 0.5


def test_sets_written_down_as_sessions_of_their_own_are_remarked_on(take):
    said = take("2026-05-12 18:00,wall-sit,both,high,72,", "2026-05-12 18:05,heel-raise,left,fingertips,50,")
    assert "paper.csv:3: this begins less than half an hour after another session" in said.err


def test_hostile_cells_reach_no_terminal(take):
    said = take('2026-05-12,"\x1b[2Jwall",both,"\u202egnur",72,')
    assert said.code == 2
    assert "\x1b" not in said.err
    assert "\u202e" not in said.err


def test_thousands_of_faults_are_told_in_part(take):
    said = take(*(f"2026-05-12,wal-sit,both,high,{seconds}," for seconds in range(300)))
    assert said.code == 2
    assert "paper.csv:301: there are 100 more errors" in said.err


@pytest.mark.parametrize("what", ["missing.csv", "."])
def test_a_file_that_is_not_there_is_bad_input(call, legs, what):
    said = call("import", what, legs)
    assert said.code == 2
    assert said.err.startswith(f"{what}:1: ")


def test_a_faulty_program_is_told_before_the_file_is_looked_at(call, tmp_path):
    spoilt = tmp_path / "spoilt.toml"
    spoilt.write_text("format = 1\n")
    said = call("import", "missing.csv", spoilt)
    assert said.code == 2
    assert "spoilt.toml:1: " in said.err


def test_nothing_is_taken_in_while_a_session_runs(take, data):
    with hold(person_folder(data, "Ada"), datetime.now().astimezone()):
        said = take("2026-05-12,wall-sit,both,high,72,")
    assert said.code == 4
    assert not list(data.rglob("*.jsonl"))


def test_a_header_alone_adds_nothing(take):
    assert take().out == "added: 0 sets in 0 sessions\nalready known: 0 sets\n"


def test_a_program_edited_since_still_knows_what_was_taken_in(take, legs, kept):
    """Its rung is gone and its exercise has another name: what is kept stays, and adds nothing."""
    rows = ["2026-05-12,wall-sit,both,low,72,", "2026-05-12,heel-raise,left,fingertips,50,"]
    take(*rows)
    legs.write_text(LEGS.replace(', "low"]', "]").replace("heel-raise", "toe-raise"))
    assert take(*rows).out == "added: 0 sets in 0 sessions\nalready known: 2 sets\n"
    assert [len(each.results) for each in kept()] == [2]


def test_a_disk_that_does_not_take_it_is_told_and_a_second_try_adds_the_rest(take, kept, monkeypatch):
    create, calls = Disk.create, []

    def full_after_one(disk, path):
        calls.append(path)
        if len(calls) > 1:
            raise OSError(errno.ENOSPC, "full")
        return create(disk, path)

    rows = ["2026-05-12,wall-sit,both,high,72,", "2026-05-14,wall-sit,both,high,75,"]
    monkeypatch.setattr(Disk, "create", full_after_one)
    monkeypatch.setattr(writing, "CLOSE_WAIT_S", 0.2)
    said = take(*rows)
    assert said.code == 3
    assert "the disk is full: 1 of 2 sessions were kept; import the file again to add the rest" in said.err
    monkeypatch.setattr(Disk, "create", create)
    assert take(*rows).out == "added: 1 set in 1 session\nalready known: 1 set\n"
    assert len(kept()) == 2
