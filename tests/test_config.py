import pytest

from holdtimer.config import NEEDED, keep, read_config
from holdtimer.errors import ProgramError
from holdtimer.live.keys import LEAVE


@pytest.fixture
def path(tmp_path):
    return tmp_path / "config.toml"


@pytest.fixture
def read(path):
    """Read what is set for a person in a file of these lines."""

    def read(*lines, person="ada", **asked):
        path.write_text("\n".join(lines), encoding="utf-8")
        return read_config(person, path, **asked)

    return read


@pytest.fixture
def faults(read, path):
    """What is wrong with a file of these lines, without its name."""

    def faults(*lines, **asked):
        with pytest.raises(ProgramError) as error:
            read(*lines, **asked)
        return [line.removeprefix(f"{path}:") for line in str(error.value).splitlines()]

    return faults


def test_what_is_set_for_one_person_goes_before_what_is_set_for_all(read):
    found = read("volume = 0.5", "guard_s = 1", "[people.ada]", "guard_s = 2")
    assert (found.values.volume, found.values.guard_s, found.values.voice_volume) == (0.5, 2, 1)
    assert [found.sources[name] for name in ("volume", "guard_s", "voice_volume")] == [
        "file",
        "person",
        "default",
    ]


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('speaker_delay_s = "a"', 'speaker_delay_s is "a"; it should be a number of seconds from 0 to 2'),
        ("guard_s = 0.1", "guard_s is 0.1; it should be a number of seconds from 0.7 to 3"),
        ("back_in_guard_s = nan", "back_in_guard_s is nan; it should be a number of seconds from 0 to 5"),
        ("volume = true", "volume is true; it should be a number from 0 to 1"),
        ('voice = "yes"', 'voice is "yes"; it should be true or false'),
        ("voice = 1", "voice is 1; it should be true or false"),
        (
            "voice_words_per_minute = 150.0",
            "voice_words_per_minute is 150.0; it should be a whole number from 80 to 300",
        ),
        ('theme = "dark"', 'theme is "dark"; it should be "evening", "daylight" or "two-tone"'),
        ("layout = 2", 'layout is 2; it should be "full" or "far"'),
        ('not_taps = "f5"', 'not_taps is "f5"; it should be a list of keys such as ["f5"], 50 at most'),
        ("not_taps = [5]", 'not_taps has 5; it should be a list of keys such as ["f5"], 50 at most'),
        ('not_taps = ["f55"]', 'not_taps has "f55"; there is no key of that name; did you mean "f5"?'),
        (
            'not_taps = [""]',
            'not_taps has ""; there is no key of that name; `holdtimer keys` prints the name of each',
        ),
        ('layuot = "far"', 'unknown key "layuot"; did you mean "layout"?'),
        ('pepole = "far"', 'unknown key "pepole"; did you mean "people"?'),
        ("people = 3", "people is 3; what differs for one person goes into a table such as [people.ada]"),
    ],
)
def test_a_value_that_is_wrong_is_told_as_it_stands_with_what_would_be_right(faults, line, fault):
    assert faults("", line) == [f"2: {fault}"]


def test_all_faults_are_told_at_once_each_with_its_line(faults):
    found = faults(
        "guard_s = 9", "not_taps = [", '  "f55",', '  "",', "]", 'voice = "no"', "[people.ada]", "volume = 2"
    )
    assert [fault.partition(":")[0] for fault in found] == ["1", "3", "4", "6", "8"]


def test_a_list_too_long_to_be_meant_is_a_fault(faults):
    keys = [f'"{chr(code)}"' for code in range(0x4E00, 0x4E00 + 51)]
    assert faults(f"not_taps = [{', '.join(keys)}]") == [
        '1: not_taps is a list; it should be a list of keys such as ["f5"], 50 at most'
    ]


@pytest.mark.parametrize("key", sorted(NEEDED))
def test_a_key_that_is_always_needed_can_not_be_switched_off(faults, key):
    assert faults(f'not_taps = ["{key}"]') == [f'1: not_taps has "{key}"; {NEEDED[key]}']


def test_any_other_key_can_be_switched_off(read):
    keys = {"space", "pointer", "f5", "ctrl+x", "backspace", "shift+tab"}
    assert read(f"not_taps = {sorted(keys)}").values.not_taps == keys
    assert set(NEEDED) == {"escape", "enter", "up", "down"} | LEAVE


@pytest.mark.parametrize("line", ["guard_s = 9", 'not_taps = "f5"', "vloume = 1"])
def test_a_fault_of_one_person_is_told_to_others_and_stops_none_of_them(read, faults, path, line):
    lines = ("volume = 0.5", "[people.zed]", line, "[people.bob]", "guard_s = 1")
    for person in ("bob", "ivy"):
        found = read(*lines, person=person)
        assert (found.values.volume, found.values.guard_s) == (0.5, {"bob": 1}.get(person, 0.8))
        assert [str(fault).partition(": ")[0] for fault in found.others] == [f"{path}:3"]
    assert len(faults(*lines, person="zed")) == 1
    assert len(faults(*lines, person="ivy", whole=True)) == 1


def test_a_person_who_is_no_table_is_told(read, faults):
    assert faults("[people]", "zed = 3", person="zed") == [
        "2: people.zed is 3; what differs for one person goes into a table such as [people.ada]"
    ]
    assert len(read("[people]", "zed = 3", person="bob").others) == 1


def test_a_fault_in_what_is_for_all_stops_everybody(faults):
    for person in ("bob", "zed"):
        assert len(faults("guard_s = 9", "[people.zed]", "volume = 1", person=person)) == 1


def test_a_value_can_be_kept_beside_the_fault_of_another_person(read, path):
    read("[people.zed]", "guard_s = 9  # too long", person="bob")
    keep("bob", "guard_s", 1.2, path)
    assert read_config("bob", path).values.guard_s == 1.2
    assert "guard_s = 9  # too long" in path.read_text(encoding="utf-8")
