import time
from datetime import UTC, datetime
from itertools import product
from string import ascii_lowercase
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.log.csv_file import MAX_BYTES, MAX_ROWS, read_sheet
from holdtimer.program.loading import find, load
from holdtimer.session.paper import plan_import
from tests.profiles import examples
from tests.tables import every

BERLIN = ZoneInfo("Europe/Berlin")
HEADER = "started,exercise,side,rung,first_failure_s,ran_to_end"
ROW = "2026-05-12 18:40,wall-sit,both,high,72.5,"
PROGRAM, NOW = load(find("chair-and-counter")).program, datetime(2026, 6, 1, tzinfo=UTC)


def read(text, zone=BERLIN):
    content = text if isinstance(text, bytes) else text.encode()
    return read_sheet(content, "paper.csv", zone)


def only(sheet):
    assert not sheet.faults
    (row,) = sheet.rows
    return row


def told(faults):
    return [str(fault) for fault in faults]


def cell(column, text):
    """Return what one cell of a row comes to."""
    extra = "" if column in HEADER.split(",") else f"{column}"
    names = [*HEADER.split(","), *([extra] if extra else [])]
    cells = dict(zip(names, [*ROW.split(","), ""], strict=False)) | {column: text}
    quoted = ['"' + cells[name].replace('"', '""') + '"' for name in names]
    return read(",".join(names) + "\n" + ",".join(quoted) + "\n").rows[0]


@every("end", ["\n", "\r\n", "\r"])
@every("mark", ["", "\ufeff"])
@every("delimiter", [",", ";", "\t"])
def test_files_of_every_common_form_say_the_same(end, mark, delimiter):
    text = (mark + HEADER + end + ROW + end).replace(",", delimiter)
    row = only(read(text))
    assert (row.exercise, row.side, row.rung, row.first_failure_s) == ("wall-sit", "both", "high", 72.5)
    assert (row.line, row.ran_to_end) == (2, None)


def test_columns_stand_in_any_order_and_spelling():
    row = only(
        read("RUNG , First Failure S,Side,Exercise,Started,note\nhigh,72,both,wall-sit,2026-05-12,x\n")
    )
    assert (row.rung, row.first_failure_s, row.note) == ("high", 72, "x")


def test_empty_rows_and_a_named_separator_are_passed_over():
    row = only(read(f"sep=;\n\n{HEADER}\n;;;;;\n   \n{ROW}\n;;;;;\n".replace(",", ";")))
    assert row.line == 6


def test_a_row_may_be_shorter_than_the_header():
    assert only(read(f"{HEADER},note\n2026-05-12,wall-sit,both,high,72\n")).note is None


def test_a_decimal_comma_is_one():
    assert (
        only(
            read(f"{HEADER}\n2026-05-12,wall-sit,both,high,72.5,\n".replace(",", ";").replace(".", ","))
        ).first_failure_s
        == 72.5
    )


def test_a_line_break_inside_a_cell_moves_no_line_number():
    text = f'{HEADER},note\n{ROW},"one\ntwo"\n2026-05-13,wall-sit,both,high,abc,,\n'
    sheet = read(text)
    assert sheet.rows[0].note == "one\ntwo"
    assert [row.line for row in sheet.rows] == [2, 4]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("72", 72),
        ("72.5", 72.5),
        ("1:05", 65),
        ("1:05.5", 65.5),
        ("0:59", 59),
        ("10:00", 600),
        (" 72 s ", 72),
        ("1:05,5", 65.5),
        ("72.1234", 72.123),
    ],
)
def test_seconds_are_read_in_every_spelling(text, seconds):
    assert cell("first_failure_s", text).first_failure_s == seconds


@every("text", ["abc", "-5", "1:75", "1:2:3", "1e5", "nan", "inf", "72.5.5", "999999", "٣", "7 2"])
def test_what_is_no_time_is_a_fault(text):
    row = cell("first_failure_s", text)
    assert row.first_failure_s is None
    assert row.faults["first_failure_s"].startswith(f'first_failure_s is "{text}"; ')


@pytest.mark.parametrize(
    ("text", "value"),
    [(word, True) for word in ("yes", "TRUE", "1", "y", "X")]
    + [(word, False) for word in ("no", "False", "0", "N")]
    + [("", None)],
)
def test_yes_and_no_are_read_in_every_spelling(text, value):
    assert cell("ran_to_end", text).ran_to_end is value


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("pain", "perhaps"),
        ("effort", "11"),
        ("effort", "7.5"),
        ("set", "-1"),
        ("set", "first"),
        ("side", "middle"),
        ("stopped", "because"),
        ("note", "x" * 2001),
    ],
)
def test_what_is_no_such_value_is_a_fault(column, text):
    assert list(cell(column, text).faults) == [column]


def test_other_values_are_read():
    assert cell("effort", "7").effort == 7
    assert cell("side", "L").side == "left"
    assert cell("stopped", "Symptom").stopped == "symptom"
    assert cell("stopped", "no").stopped is None
    assert cell("set", "3.0").set == 3


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-05-12T18:40+05:30", "2026-05-12T18:40+05:30"),
        ("2026-05-12 18:40", "2026-05-12T18:40+02:00"),
        ("2026-01-12T18:40:10", "2026-01-12T18:40:10+01:00"),
        ("2026-05-12T18:40Z", "2026-05-12T18:40+00:00"),
        ("20260512T184000", "2026-05-12T18:40+02:00"),
        ("2026-05-12T18:40:10.123456Z", "2026-05-12T18:40:10.123+00:00"),
    ],
)
def test_times_are_read_in_the_local_zone_where_they_name_none(text, moment):
    row = cell("started", text)
    assert row.started == datetime.fromisoformat(moment)
    assert not row.date_only
    assert row.started.utcoffset() == datetime.fromisoformat(moment).utcoffset()


def test_a_date_alone_is_known_as_one():
    row = cell("started", "2026-05-12")
    assert row.date_only
    assert row.started == datetime(2026, 5, 12, tzinfo=BERLIN)


@pytest.mark.parametrize(
    "text",
    [
        "12.05.2026",
        "2026-02-30",
        "yesterday",
        "2026-05-12 25:00",
        "0026-05-12",
        "45789.75",
        "0001-01-01T00:00+14:00",
        "9999-12-31T23:59-12:00",
    ],
)
def test_what_is_no_time_of_the_calendar_is_a_fault(text):
    row = cell("started", text)
    assert row.started is None
    assert "started" in row.faults


def test_exactly_one_mark_before_a_formula_is_taken_off():
    assert [cell("note", text).note for text in ("'=1+1", "''=1+1", "'twas", "'-5 kg", "=1")] == [
        "=1+1",
        "'=1+1",
        "'twas",
        "-5 kg",
        "=1",
    ]
    assert cell("rung", "'+2 kg").rung == "+2 kg"


def test_text_holds_nothing_that_steers_a_terminal():
    assert cell("note", "a\x1b[31m\u202eb").note == "a?[31m?b"
    assert cell("rung", "hi\x1bgh").rung == "hi?gh"
    assert "\x1b" not in cell("effort", "\x1b[1m").faults["effort"]


@pytest.mark.parametrize("column", ["started", "exercise", "side", "rung"])
def test_a_column_that_is_needed_and_missing_is_a_fault(column):
    header = ",".join(name for name in HEADER.split(",") if name != column)
    (fault,) = told(read(header + "\n").faults)
    assert fault.startswith(
        f'paper.csv:1: column "{column}" is missing; needed are started, exercise, side, rung and '
    )


def test_one_column_of_results_is_enough_and_needed():
    assert not read("started,exercise,side,rung,ran_to_end\n").faults
    assert not read("started,exercise,side,rung,first_failure_s\n").faults
    assert len(read("started,exercise,side,rung\n").faults) == 1


def test_every_missing_column_is_told_at_once():
    assert len(read("started\n").faults) == 4


def test_an_unknown_column_is_a_warning_with_the_nearest_name():
    sheet = read(f"{HEADER},efort,x\n{ROW},7,\n")
    assert told(sheet.warnings) == [
        'paper.csv:1: column "efort" is unknown and ignored; did you mean "effort"?',
        'paper.csv:1: column "x" is unknown and ignored',
    ]
    assert only(sheet).effort is None


def test_very_many_columns_take_no_longer_than_as_many_rows():
    begun = time.process_time()
    read("started," * 600_000 + "x")
    read(HEADER + "," * 4_000_000 + "\n" + ROW)
    assert time.process_time() - begun < 10


def test_a_column_given_twice_is_a_fault():
    assert told(read(f"{HEADER},Rung\n").faults) == ['paper.csv:1: there are two columns "rung"; keep one']


FOUR_LETTERS = ",".join(map("".join, product(ascii_lowercase, repeat=4)))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (b"", "1: the file is empty; its first line names the columns"),
        (b"\n\n", "1: the file is empty; its first line names the columns"),
        (f"{HEADER}\n{ROW},,9\n", "2: this row has 8 cells, but the first line names 6 columns; a cell with"),
        (f'{HEADER},note\n{ROW},"open\n{ROW}\n', "2: a quotation mark is never closed"),
        (f'{HEADER},note\n{ROW},"a"b\n', "2: a quotation mark is never closed"),
        (f"{HEADER},note\n{ROW},{'x' * 100_001}\n", "2: a cell is longer"),
        (f"{HEADER}\n{ROW}\n".encode("utf-16"), "1: this is not UTF-8"),
        (f"{HEADER}\n".encode() + b"2026-05-12,\xff\n", "2: this is not UTF-8"),
        (b"a" * (MAX_BYTES + 1), "1: the file is larger than 5 MB"),
        (HEADER + f"\n{ROW}" * (MAX_ROWS + 1), "20002: the file has more than 20000 rows"),
        (HEADER + ",x" * 195, "1: the first line names 201 columns; there may be 200 at most"),
        (FOUR_LETTERS, "1: the first line names 456976 columns"),
    ],
)  # fmt: skip
def test_a_file_that_is_none_says_where_and_why(text, fault):
    (found,) = told(read(text).faults)
    assert found.startswith(f"paper.csv:{fault}")


def test_a_file_of_nothing_but_a_header_holds_nothing():
    sheet = read(HEADER)
    assert (sheet.rows, sheet.faults) == ([], [])


def test_a_null_character_is_text_like_any_other():
    assert cell("note", "a\0b").note == "a?b"


def test_all_faults_of_a_row_are_kept():
    row = only(read(f"{HEADER},effort,pain\nnever,wall-sit,middle,high,x,maybe,12,?\n", UTC))
    assert set(row.faults) == {"started", "side", "first_failure_s", "ran_to_end", "effort", "pain"}


CELLS = [
    "set",
    "ended",
    "wall-sit",
    "both",
    "high",
    "72",
    "1:05",
    "2026-05-12",
    "2026-05-12T18:40",
    "9999-12-31T23:59-12:00",
    "yes",
    "-1",
    "1e9",
]
HOSTILE = ["'=1", '"', "sep=;", "\0", "\x1b[2J", "\ufeff", "ü", " "]
fragments = st.sampled_from([*HEADER.split(","), *CELLS, *HOSTILE])
separators = st.sampled_from([",", ";", "\t", "\n", "\r\n", "\r"])


@examples(300)
@given(st.lists(st.tuples(fragments, separators), max_size=60), st.booleans())
def test_whatever_is_in_a_file_is_read_or_told_as_a_fault(parts, has_header):
    text = (HEADER + "\n" if has_header else "") + "".join(part for pair in parts for part in pair)
    sheet = read(text)
    found = plan_import(sheet.rows, (), PROGRAM, NOW)
    for line, words in [(fault.line, fault.message) for fault in sheet.faults] + found.faults:
        assert 1 <= line <= text.count("\n") + text.count("\r") + 1
        assert words.isprintable()


@examples(200)
@given(st.binary(max_size=400))
def test_no_bytes_at_all_are_too_much(content):
    plan_import(read(content).rows, (), PROGRAM, NOW)
