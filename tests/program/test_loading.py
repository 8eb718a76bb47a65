import os
import subprocess
import sys

import pytest

from holdtimer.errors import ProgramError
from holdtimer.files import programs_folder
from holdtimer.program.loading import MAX_FAULTS, find, load, loads


def faults_of(text, name="hall.toml"):
    with pytest.raises(ProgramError) as caught:
        loads(text, name)
    return [str(fault) for fault in caught.value.faults]


def test_all_faults_of_meaning_come_at_once_and_by_line(spoil):
    faults = faults_of(
        spoil(
            ("window_s = 90", "window_s = 5"),
            ("[1, 3]", "[3, 1]"),
            ('start = "high"', 'start = "top"'),
            ('way_out = "Both feet down."', ""),
            ('tempo = "3-1-2-0"', 'tmpo = "3-1-2-0"'),
            ('"one hand"]', '"two hands"]'),
            ('{exercise = "heel-raise"}', '{exercise = "nobody"}'),
            ("band_s = [40, 60]", "band_s = [40, 70]"),
        )
    )
    assert [int(fault.split(":")[1]) for fault in faults] == [6, 10, 26, 28, 33, 37, 45, 46]


def test_an_exercise_id_holds_nothing_but_letters_digits_and_dashes(good):
    faults = faults_of(
        good.replace("heel-raise", "heel raise").replace("[exercises.heel raise]", "[exercises.'heel raise']")
    )
    assert [fault.split(" ")[0] for fault in faults] == ["hall.toml:28:", "hall.toml:45:"]
    assert all("letters, digits, - and _" in fault for fault in faults)


def test_a_fault_of_syntax_comes_alone(spoil):
    assert len(faults_of(spoil(("window_s = 90", "window_s = 5"), ('title = "V', "title = V")))) == 1


def test_a_faulty_value_brings_no_faults_that_only_follow_from_it(spoil):
    assert len(faults_of(spoil(("[60, 90]", '["a", 90]')))) == 1
    assert len(faults_of(spoil(('{rung = "high", load = 0.60}', "{load = 0.60}")))) == 1
    assert len(faults_of(spoil(('back_in = "Rise again."', "back_in = 3")))) == 1


def test_faults_of_a_file_full_of_them_are_bounded(good):
    faults = faults_of("".join(f"key{n} = 1\n" for n in range(5000)) + good)
    assert len(faults) == MAX_FAULTS + 1
    assert "more errors" in faults[-1]


def test_a_list_without_end_is_refused_unread(spoil):
    (fault,) = faults_of(spoil(('["two hands", "one hand"]', "[" + "1, " * 2000 + "]")))
    assert fault == "hall.toml:37: ladder has far too many entries; use fewer"


def test_a_quoted_key_reaches_nobody_as_a_control_sequence(good):
    assert faults_of('"\\u001b[31mred" = 1\n' + good)[0].startswith('hall.toml:1: unknown key "?[31mred"')


def test_lines_are_right_with_dotted_keys_and_lists_over_several_lines(spoil):
    dotted = spoil(
        (
            "[defaults]\nwindow_s = 90\nband_s = [60, 90]",
            "defaults.window_s = 90\ndefaults.band_s = [\n 60,\n 'x',\n]",
        )
    )
    (fault,) = faults_of(dotted)
    assert fault.startswith("hall.toml:8: band_s, item 2,")


def test_lines_are_right_in_lists_of_tables(spoil):
    tables = spoil(
        (
            'steps = [\n  {easy = "March", seconds = 120},\n  {exercise = "heel-raise"},\n'
            '  {exercise = "wall-sit", window_s = 60, band_s = [40, 60], final_s = 20},\n]\n',
            '[[scripts.steps]]\nexercise = "wall-sit"\n\n[[scripts.steps]]\neasy = "March"\n'
            '[[scripts]]\nid = "B"\ntitle = "B"\n[[scripts.steps]]\nexercise = "wall-sat"\n',
        )
    )
    assert [fault.split(": ")[0] for fault in faults_of(tables)] == ["hall.toml:46", "hall.toml:52"]


def test_several_scripts_need_ids_of_their_own(good):
    again = good + '\n[[scripts]]\nid = "A"\ntitle = "Again"\nsteps = [{easy = "March", seconds = 60}]\n'
    assert faults_of(again) == [
        'hall.toml:50: another script before it has the id "A"; give each script its own'
    ]


def test_two_hundred_steps_are_the_most(spoil):
    def steps(count):
        return spoil(('  {exercise = "heel-raise"},\n', '  {exercise = "heel-raise"},\n' * (count - 2)))

    assert len(loads(steps(200), "hall.toml").program.scripts[0].steps) == 200
    assert faults_of(steps(201)) == ["hall.toml:43: steps has too many entries; use at most 200"]


def test_a_step_may_not_reenter_where_there_is_no_way_back(spoil):
    text = spoil(
        ('back_in = "Rise again."', "reentry = false"), ('"heel-raise"}', '"heel-raise", reentry = true}')
    )
    assert faults_of(text)[0].startswith('hall.toml:45: exercise "heel-raise" has no back_in')


def test_windows_line_ends_and_a_byte_order_mark_are_read(good, tmp_path):
    path = tmp_path / "hall.toml"
    path.write_bytes(b"\xef\xbb\xbf" + good.replace("\n", "\r\n").encode())
    assert load(path).program == loads(good, "x").program


def test_line_breaks_in_a_text_become_spaces(spoil):
    loaded = loads(spoil(('"Village hall"', '"""Village\n   hall"""')), "hall.toml")
    assert loaded.program.title == "Village hall"


def test_the_text_alone_gives_the_same_program_again(tmp_path):
    for path in programs_folder().glob("*.toml"):
        loaded = load(path)
        again = loads(loaded.text, loaded.name)
        assert again == loaded
        assert again.program.model_dump() == loaded.program.model_dump()


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        (b"format = 1\ntitle = \"caf\xe9\"\n", 2, "not UTF-8 text from here on"),
        (b"\xff\xfef\x00o\x00", 1, "not UTF-8"),
        (b"", 1, '"format" is missing'),
        (b"# only a remark\n", 1, '"scripts" is missing'),
        (b"# x\n" * 250_001, 1, "larger than 1 MB"),
        (b"format = 1\x00", 1, "TOML"),
    ],
)  # fmt: skip
def test_bytes_that_are_no_program(tmp_path, data, line, words):
    path = tmp_path / "p.toml"
    path.write_bytes(data)
    with pytest.raises(ProgramError) as caught:
        load(path)
    assert any(fault.line == line and words in fault.message for fault in caught.value.faults)


def test_a_folder_and_a_missing_file_are_told_apart(tmp_path):
    for path, words in [(tmp_path, "not a file"), (tmp_path / "none.toml", "no such file")]:
        with pytest.raises(ProgramError, match=words):
            load(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_a_pipe_is_refused_and_never_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(ProgramError, match="not a file"):
        load(tmp_path / "pipe")


def test_an_unreadable_file_is_a_fault(tmp_path, monkeypatch, good):
    path = tmp_path / "hall.toml"
    path.write_text(good)

    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(path), "open", refuse)
    with pytest.raises(ProgramError, match=r"hall.toml:1: this file can't be read: Permission denied"):
        load(path)


def test_a_program_is_found_by_path_or_by_bundled_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert find("floor") == find("floor.toml") == programs_folder() / "floor.toml"
    (tmp_path / "floor.toml").write_text("")
    assert not find("floor.toml").is_absolute()
    with pytest.raises(
        ProgramError, match="programs are: chair-and-counter, easy-day, every-four-weeks, floor"
    ):
        find("ceiling")


def test_reading_a_sound_program_loads_neither_the_screen_nor_the_second_parser():
    code = (
        "import sys; from holdtimer.cli import check; from holdtimer.program import loading;"
        "loaded = loading.load(loading.find('floor')); check.warnings(loaded);"
        "print(*[m for m in ('textual', 'tree_sitter', 'rich', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
