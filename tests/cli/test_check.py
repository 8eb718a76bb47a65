import json

import pytest

from holdtimer.files import programs_folder


@pytest.mark.parametrize("name", sorted(path.stem for path in programs_folder().glob("*.toml")))
def test_each_bundled_program_is_sound(call, name):
    told = call("check", name)
    assert (told.code, told.err) == (0, "")
    assert "set 1" in told.out or "easy" in told.out.lower()


def test_a_good_file_is_told_as_a_timeline(call, hall):
    told = call("check", hall)
    assert told.code == 0
    assert "Village hall" in told.out
    assert "0:03" in told.out
    assert "Wall sit" in told.out


def test_all_faults_are_told_at_once_each_with_its_line(call, hall):
    text = hall.read_text().replace("window_s", "windows").replace('"wall-sit"', '"wal-sit"')
    hall.write_text(text)
    told = call("check", hall)
    assert (told.code, told.out) == (2, "")
    lines = told.err.splitlines()
    assert len(lines) >= 2
    for line in lines:
        assert line.startswith(f"{hall}:")
        number = int(line.removeprefix(f"{hall}:").split(":")[0])
        assert 1 <= number <= len(text.splitlines())
    assert "window_s" in told.err
    assert "wall-sit" in told.err


def test_a_step_wider_than_the_band_is_warned_of_and_no_fault(call, hall):
    ladder = 'ladder = [{rung = "half way", load = 1.0}, {rung = "low", load = 2.0}]'
    hall.write_text(hall.read_text().replace('ladder = ["high", "half way", "low"]', ladder))
    told = call("check", hall)
    assert told.code == 0
    assert told.err.count("\n") == 1
    assert str(hall) in told.err


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"\x00" * 100, b"format = 1\n" * 3, b"[" * 10_000])
def test_a_file_that_is_no_program_is_a_line_not_a_traceback(call, hall, content):
    hall.write_bytes(content)
    told = call("check", hall)
    assert told.code == 2
    assert str(hall) in told.err
    assert "Traceback" not in told.err


def test_a_program_that_is_not_there_names_those_that_are(call):
    told = call("check", "no-such-program")
    assert told.code == 2
    assert "chair-and-counter" in told.err


def test_names_that_steer_a_terminal_are_shown_harmlessly(call):
    told = call("check", "\x1b[31mred")
    assert told.code == 2
    assert "\x1b" not in told.err


def test_schema_is_a_json_schema(call):
    told = call("schema")
    assert told.code == 0
    assert json.loads(told.out)["$schema"].startswith("https://json-schema.org/")
