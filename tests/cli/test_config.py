import time

import pytest


@pytest.fixture
def settings(tmp_path, monkeypatch):
    path = tmp_path / "config.toml"
    monkeypatch.setenv("HOLDTIMER_CONFIG", str(path))
    return path


@pytest.fixture
def spoilt(settings):
    """Settings with a fault in what is set for Zed alone; its line."""
    settings.write_text('volume = 0.5\nnot_taps = ["f5"]\n[people.zed]\nguard_s = 9\n')
    return f"{settings}:4: guard_s is 9; it should be a number of seconds from 0.7 to 3"


def test_each_value_in_force_is_printed_with_where_it_comes_from(settings, call, data):
    settings.write_text('volume = 0.5\nnot_taps = ["f5"]\n[people.ada]\nvolume = 0.25\n')
    lines = call("config", "--person", "ada").out.splitlines()
    assert lines[:3] == [f"file: {settings}", f"data: {data}", "person: ada"]
    assert "volume = 0.25  # from the file, for ada" in lines
    assert 'not_taps = ["f5"]  # from the file' in lines
    assert "voice = true  # default" in lines


@pytest.mark.parametrize("command", [("config",), ("config", "--person", "zed")])
def test_a_fault_of_one_person_is_a_fault_for_that_one_and_where_nobody_is_named(spoilt, call, command):
    said = call(*command)
    assert (said.code, said.out, said.err) == (2, "", f"{spoilt}\n")


def test_a_fault_of_one_person_is_a_warning_for_another(spoilt, call):
    said = call("config", "--person", "bob")
    assert (said.code, said.err) == (0, f"warning: {spoilt}\n")
    assert "volume = 0.5  # from the file" in said.out


def test_a_fault_of_one_person_stops_no_session_of_another(spoilt, plain, process, hall):
    run = ("run", hall, "--plain", "--sound", "off", "--voice", "off", "--person")
    ivy = plain(*run, "ivy")
    ivy.until("tap: I have read this")
    time.sleep(1.7)  # on a page the clock of the wall counts
    ivy.press()
    ivy.until("the settings of somebody else have errors: `holdtimer config` lists them")
    ivy.until("opened")
    ivy.end(closes_input=True)
    zed = process(*run, "zed", keys=b"   ")
    assert (zed.code, zed.err) == (2, f"{spoilt}\n")
