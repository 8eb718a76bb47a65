"""What README.md and DEVELOPERS.md say is so."""

import json
import re
import shlex
import tomllib
from contextlib import redirect_stdout
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest

from holdtimer.cli import main
from holdtimer.cli.check import warnings
from holdtimer.cli.parser import build_parser
from holdtimer.cli.reports import day_of
from holdtimer.config import Personal, read_config, right_words
from holdtimer.errors import ExitCode
from holdtimer.files import programs_folder
from holdtimer.live.keys import LEAVE
from holdtimer.log.csv_columns import COLUMNS
from holdtimer.log.history import read_summaries
from holdtimer.log.lines import decode
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import Loaded, find, load
from holdtimer.program.models import (
    Defaults,
    EasyStep,
    Exercise,
    ExerciseStep,
    FunctionTest,
    Overrides,
    Program,
    Rung,
    Script,
    Spacing,
    TrialStep,
)
from holdtimer.report import pages
from holdtimer.report.text import STOP_SIGNS
from holdtimer.session.debounce import ADJUSTING, NOT_TAPS
from holdtimer.session.engine import Engine
from holdtimer.session.events import AnyEvent, Event, Failure, InSet, Opened, Planned
from holdtimer.session.menu import REASONS, Choice
from holdtimer.session.state import Tap
from holdtimer.session.words import CHOICE_WORDS, TAP_WORDS
from holdtimer.sound.players import ORDER, how_to_add
from holdtimer.text import in_seconds
from tests.invented.six_weeks import six_weeks, write_logs
from tests.tables import every

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

SCANNED_ONLY = {Choice.TO_THE_END, Choice.EASIER, Choice.HARDER, Choice.LEAVE}
KEY_NAMES = {
    "Esc": "escape",
    "↑": "up",
    "↓": "down",
    "Enter": "enter",
    "Backspace": "backspace",
    "?": "question_mark",
    "+": "plus",
    "-": "minus",
    "o": "o",
    "Ctrl+Q": "ctrl+q",
    "Ctrl+C": "ctrl+c",
}


def blocks(kind, text=README):
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


def table(header, text=README):
    """The rows below the table header that begins so, as lists of cells."""
    lines = text.splitlines()
    begin = next(n for n, line in enumerate(lines) if line.startswith(f"| {header} |"))
    rows = []
    for line in lines[begin + 2 :]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split(" | ")])
    return rows


def tables_of_keys():
    """The tables with program keys, by the bold words before them."""
    parts = re.split(
        r"^\*\*(At the top|Settings|An exercise|A rung|A script|A test)\*\*", README, flags=re.MULTILINE
    )
    return {
        name: re.findall(r"^\| `(\w+)` \|", text.partition("\n## ")[0], re.MULTILINE)
        for name, text in zip(parts[1::2], parts[2::2], strict=True)
    }


def commands():
    for block in blocks("sh"):
        for line in block.splitlines():
            for part in line.split("&&"):
                words = shlex.split(part.strip().removeprefix(".venv/bin/"))
                if words[0] == "holdtimer":
                    yield words[1 : words.index(">") if ">" in words else None]


@pytest.mark.parametrize("words", list(commands()), ids=" ".join)
def test_every_command_printed_is_taken_by_the_command_line(words):
    build_parser().parse_args(words)


def test_every_command_of_the_program_that_readme_does_not_leave_out_is_printed():
    printed = {words[0] for words in commands() if words}
    assert {"run", "check", "show", "log", "schema", "sounds", "next", "trend", "keys", "config"} <= printed


def test_how_seconds_are_written_is_as_the_readme_says():
    assert f"59.9 s is {in_seconds(59.9)}. From 100 s on they have minutes: {in_seconds(105)}" in " ".join(
        README.split()
    )


def test_the_days_the_readme_names_are_days():
    named = {words[1] for words in commands() if words and words[0] == "show" and len(words) == 2}
    days = {each for each in named if not each.startswith("-")}
    assert days
    assert all(day_of(each) is not None for each in days)


def test_there_are_exactly_two_commands_for_a_fresh_machine():
    fresh = [block for block in blocks("sh") if "python3 -m venv" in block]
    assert len(fresh) == 2
    assert all(len(block.splitlines()) == 1 for block in fresh)


def test_the_whole_check_runs_the_tests_as_the_readme_says():
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    install, test = ".venv/bin/pip install '.[test]'", ".venv/bin/pytest -q"
    assert f"{install} && {test}" in README
    assert "\"$VENV/bin/pip\" install -q '.[test]'\n" in run
    assert run.rstrip().endswith('"$VENV/bin/pytest" -q')


def test_the_bundled_programs_are_named():
    named = re.search(r"Four programs are bundled: (.*?)\. To choose", README, re.DOTALL)[1]
    assert set(re.findall(r"`([\w-]+)`", named)) == {path.stem for path in programs_folder().glob("*.toml")}


def example_with(words, path) -> Loaded:
    path.write_text(next(block for block in blocks("toml") if words in block), encoding="utf-8")
    return load(path)


@pytest.fixture
def example(tmp_path) -> Loaded:
    return example_with("[[scripts]]", tmp_path / "my-program.toml")


def test_the_example_programs_have_no_fault_and_no_warning(example, tmp_path):
    assert list(warnings(example)) == []
    tests = example_with("[tests.", tmp_path / "tests.toml")
    assert list(warnings(tests)) == []
    assert len(tests.program.tests) == 2


@pytest.mark.parametrize("program", ["my-program.toml", "chair-and-counter"])
def test_the_example_results_are_taken_in(example, tmp_path, monkeypatch, program):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "on-paper.csv").write_text("".join(blocks("csv")), encoding="utf-8")
    assert main(["import", "on-paper.csv", program, "--data", "data"]) == ExitCode.DONE
    assert [each.results[0].counted for each in read_summaries(tmp_path / "data", "me").sessions] == [
        True,
        True,
    ]


def test_no_file_is_both_taken_in_and_written_to():
    taken = {words[1] for words in commands() if words[:1] == ["import"]}
    written = {words[words.index("-o") + 1] for words in commands() if "-o" in words}
    assert taken
    assert written
    assert not taken & written


def test_the_example_settings_have_no_fault(tmp_path):
    path = tmp_path / "config.toml"
    text = next(block for block in blocks("toml") if "guard_s" in block)
    path.write_text(text, encoding="utf-8")
    assert read_config("ada", path, whole=True).values.guard_s == 1.2
    assert read_config("somebody", path).values.speaker_delay_s == tomllib.loads(text)["speaker_delay_s"]


def test_every_setting_is_told_with_what_it_is_when_left_out_and_what_it_can_be():
    told = {row[0].strip("`"): tuple(row[1:3]) for row in table("setting")}
    assert told == {
        name: (json.dumps(sorted(value) if isinstance(value, frozenset) else value), right_words(name))
        for name, value in Personal()
    }


def test_the_tables_name_every_key_of_a_program_file():
    tables = tables_of_keys()
    assert set(tables["At the top"]) == set(Program.model_fields)
    assert set(tables["Settings"]) == set(Defaults.model_fields)
    assert set(tables["An exercise"]) == set(Exercise.model_fields) - set(Overrides.model_fields)
    assert set(tables["A rung"]) == set(Rung.model_fields)
    assert set(tables["A test"]) == set(FunctionTest.model_fields)


def test_the_words_on_scripts_steps_and_spacing_name_every_key():
    told = re.search(r"^\*\*A script\*\*.*?(?=\n\n)", README, re.DOTALL | re.MULTILINE)[0]
    steps = set(ExerciseStep.model_fields) - set(Overrides.model_fields)
    steps |= set(TrialStep.model_fields) | set(EasyStep.model_fields)
    assert set(re.findall(r"`(\w+)`", told)) == set(Script.model_fields) | steps
    spacing = re.search(r"^\| `spacing` \| (.*)$", README, re.MULTILINE)[1]
    assert set(re.findall(r"`([a-z_]+)`", spacing)) == set(Spacing.model_fields)


def test_the_values_when_left_out_are_those_of_the_program():
    rows = table("key | default")
    told = {row[0].strip("`"): tomllib.loads(f"value = {row[1]}")["value"] for row in rows}
    defaults = Defaults().model_dump()
    assert told == defaults | {"band_s": list(defaults["band_s"])}


def test_the_keys_that_are_no_taps_are_those_of_the_program():
    told = {KEY_NAMES[key] for row in table("key | what it does") for key in re.split(r",? ", row[0])}
    assert told == NOT_TAPS | ADJUSTING | LEAVE | {"enter"}


def test_the_keys_that_are_taps_at_times_are_told_apart_from_those_that_never_are(example):
    told = {KEY_NAMES[key]: row[2] for row in table("key | what it does") for key in re.split(r",? ", row[0])}
    never = {key for key, when in told.items() if when == "always"}
    assert {key for key in told.keys() - LEAVE if not stamps(key, example)} | LEAVE == never
    assert {key for key, when in told.items() if "ready, rest" in when} == ADJUSTING


def stamps(key, loaded):
    """Whether a key is a tap in an open window."""
    engine = Engine(compile_script(loaded.program))
    engine.record(Opened, 0, session="s", person="ada", program="hall-evening", script="A", program_text="")
    at = 0.0
    while engine.session.open_set is None and at < 600:
        at += 2
        engine.tick(at)
        if engine.tap_meaning(at) in (Tap.BEGIN, Tap.READY):
            engine.press("space", at)
    return any(isinstance(event, Failure) for event in engine.press(key, at + 5))


def test_the_letters_of_single_pages_are_told_in_the_words_on_them():
    every = [
        pages.left_page("", "", 60),
        pages.hold_page([], is_today=False),
        pages.settled_page(),
        pages.checked_page([]),
        pages.paused_page([]),
        pages.restore_page([]),
        pages.early_page("", "", "Easy day"),
    ]
    shown = {(page.headline, key.upper(), does) for page in every for key, does in page.keys}
    shown = {(page, key, does.removesuffix(": Easy day")) for page, key, does in shown}
    told = {tuple(row) for row in table("page | letter")}
    assert {row for row in told if row[0] != "what is due today"} == shown
    today = (ROOT / "holdtimer" / "cli" / "today.py").read_text(encoding="utf-8")
    for _, key, does in (row for row in told if row[0] == "what is due today"):
        assert f'"{key.lower()}"' in today
        assert f'"{does}"' in today


def test_what_a_tap_does_is_told_in_the_words_on_screen():
    told = {row[0].removeprefix("tap: ") for row in table("on screen")}
    assert told == set(TAP_WORDS.values())


def test_the_menu_is_told_in_the_words_on_screen():
    told = {line: row[1] for row in table("line") for line in re.split(r", (?=a )", row[0])}
    assert set(told) == {CHOICE_WORDS[choice] for choice in Choice if choice not in REASONS[:-1]}
    single = {line for line, what in told.items() if "with a single switch" in what}
    assert single == {CHOICE_WORDS[choice] for choice in SCANNED_ONLY}


def test_every_stop_sign_is_told():
    assert [sign for sign in STOP_SIGNS if f"\n- {sign}\n" not in README] == []


def test_the_sound_players_are_told_in_the_order_they_are_tried():
    assert [row[0] for row in table("`--sound`")] == ["auto", *ORDER, "off"]


def test_what_the_program_says_to_install_is_what_the_readme_says():
    sources = [path.read_text(encoding="utf-8") for path in (ROOT / "holdtimer").rglob("*.py")]
    extras = {found for text in sources for found in re.findall(r"how_to_add\(['\"](\w+)['\"]\)", text)}
    assert extras == {"simpleaudio", "voice"}
    commands = [how_to_add(extra).partition(": ")[2] for extra in extras]
    assert [command for command in commands if f".venv/bin/{command}\n" not in README] == []
    assert sum("pip install '" in text for text in sources) == 1  # nobody else says how
    assert [text for text in sources if "holdtimer[" in text] == []


def test_the_exit_codes_are_those_of_the_program():
    codes = {code for code in ExitCode if code < 128} | {ExitCode.INTERRUPTED}
    told = {int(code) for row in table("code") for code in re.findall(r"^\d+$", row[0])}
    assert told | {ExitCode.INTERRUPTED} == codes
    assert f"; {ExitCode.INTERRUPTED} is Ctrl+C" in README


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_a_page_links_to_is_there(text):
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in link]
    assert [link for link in links if not (ROOT / link).is_file()] == []


@every("path", re.findall(r"`((?:holdtimer|tests|programs|sounds|\.ci)/[a-z_./]*)`", DEVELOPERS))
def test_every_path_the_developers_page_names_is_there(path):
    assert (ROOT / path).exists()


def test_the_picture_is_small():
    pictures = [ROOT / link for link in re.findall(r"!\[[^]]*\]\(([^)]+)\)", README)]
    assert pictures
    assert all(path.stat().st_size < 150_000 for path in pictures)


# ---- CSV and JSON, field by field


def fields_in(document, path=""):
    """Return the fields of a JSON document, those within others as `outer.inner`."""
    if isinstance(document, list):
        return set().union(*(fields_in(each, path) for each in document))
    if not isinstance(document, dict):
        return {path}
    return set().union(*(fields_in(value, f"{path}.{key}".strip(".")) for key, value in document.items()))


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    """What each command prints as JSON of two invented weeks."""
    data = tmp_path_factory.mktemp("data")
    write_logs(data, six_weeks(load(find("chair-and-counter")), weeks=2))

    def printed(*args):
        with TextIOWrapper(BytesIO(), encoding="utf-8") as out:
            with redirect_stdout(out):
                assert main([*args, "--json", "--data", str(data)]) == ExitCode.DONE
            out.seek(0)
            return json.load(out)

    return printed


def test_every_column_and_every_field_of_a_session_is_told(printed):
    told = [(row[0].strip("`"), row[1].split(", ")) for row in table("column or field")]
    assert [name for name, places in told if "CSV" in places] == list(COLUMNS)
    session = printed("show")
    fields = session.keys() | session["sets"][0].keys()
    assert {name for name, places in told if "JSON" in places} == fields - {"format", "sets"}
    assert len(told) == len(dict(told))


@pytest.mark.parametrize(
    "args", [("next", "--at", "2026-03-18T18:00"), ("trend", "--at", "2026-03-18T18:00"), ("log",)]
)
def test_every_field_of_a_document_is_told(printed, args):
    told = [name for row in table(f"`{args[0]} --json`") for name in re.findall(r"`([\w.]+)`", row[0])]
    assert sorted(told) == sorted(fields_in(printed(*args)) - {"format"})


# ---- the log, field by field

GROUPS = {"SET": InSet, "TARGET": Planned}


def fields_told(cell):
    found = set(re.findall(r"`([a-z_]+\??)`", cell))
    for group, model in GROUPS.items():
        if group in cell.split("`")[0].split():
            found |= fields_of(model)
    return found


def fields_of(model):
    own = {name: field for name, field in model.model_fields.items() if name not in Event.model_fields}
    return {
        name + ("?" if not field.is_required() and field.default is None else "")
        for name, field in own.items()
    }


def test_the_groups_of_fields_of_the_log_are_told():
    rows = {row[0]: set(re.findall(r"`([a-z_]+)`", row[1])) for row in table("group", DEVELOPERS)}
    assert rows["EVERY"] == set(Event.model_fields) | {"crc"}
    assert rows["SET"] == fields_of(InSet)
    assert rows["TARGET"] == fields_of(Planned) - fields_of(InSet)


def test_every_event_of_the_log_is_told_with_all_its_fields():
    told = {row[0].strip("`"): fields_told(row[1]) for row in table("event", DEVELOPERS)}
    assert told == {kind.model_fields["ev"].default: fields_of(kind) for kind in AnyEvent.__args__}


def test_the_line_shown_is_a_sound_line_of_a_log():
    line = next(line.strip() for line in DEVELOPERS.splitlines() if '"crc":' in line)
    assert isinstance(decode(line.encode()), AnyEvent)
