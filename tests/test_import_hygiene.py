"""What each room and each command loads, seen in a process of its own."""

import os
import subprocess
import sys

import pytest

HEAVY = ("textual", "rich.console", "scipy", "numpy", "miniaudio", "simpleaudio", "wakepy")
HANDED_ON = ("htpy", "icalendar")
PARSER = ("tree_sitter", "tree_sitter_toml")
SEEN = "print('\\n', *sorted(sys.modules), file=sys.stderr)"


@pytest.fixture
def loaded(tmp_path):
    """Run one piece of Python after another, and return which modules were loaded by the end of each."""

    def loaded(*pieces):
        env = os.environ | {
            "HOLDTIMER_DATA": str(tmp_path / "data"),
            "HOLDTIMER_CONFIG": str(tmp_path / "no-config.toml"),
        }
        code = "\n".join(["import sys", *(f"{piece}\n{SEEN}" for piece in pieces)])
        done = subprocess.run(
            [sys.executable, "-c", code], input=b"", capture_output=True, env=env, check=True
        )
        seen = [set(line.split()) for line in done.stderr.decode().splitlines() if line.startswith(" ")]
        assert len(seen) == len(pieces)
        return seen

    return loaded


def command(*args):
    return (
        "import holdtimer.cli\n"
        "try:\n"
        f"    holdtimer.cli.main({[str(arg) for arg in args]!r})\n"
        "except SystemExit:\n"
        "    pass"
    )


def test_the_pure_rooms_load_no_screen_no_sound_no_scipy(loaded):
    rooms = ["program", "session", "log", "progression", "report"]
    code = [
        "import importlib, pkgutil\n"
        f"import holdtimer.{room} as room\n"
        "for each in pkgutil.walk_packages(room.__path__, room.__name__ + '.'):\n"
        "    importlib.import_module(each.name)"
        for room in rooms
    ]
    for room, found in zip(rooms, loaded(*code), strict=True):
        assert not found & set(HEAVY), room
        assert "holdtimer" in found


def test_a_command_loads_nothing_it_does_not_use_and_help_no_models_either(loaded):
    commands = [["--help"], ["--version"], ["schema"], ["check", "floor"], ["show"], ["show", "--json"]]
    commands.append(["export", "csv"])
    seen = loaded(*(command(*args) for args in commands))
    for args, found in zip(commands, seen, strict=True):
        assert not found & {*HEAVY, *PARSER, *HANDED_ON, "asyncio"}, args
    assert not seen[0] & {"pydantic", "filelock", "platformdirs"}


def test_the_parser_that_finds_lines_is_loaded_for_a_fault_alone(loaded, tmp_path):
    spoilt = tmp_path / "spoilt.toml"
    spoilt.write_text("format = 2\n")
    (found,) = loaded(command("check", spoilt))
    assert set(PARSER) <= found
    assert not found & set(HEAVY)


def test_a_plain_run_loads_no_screen_and_no_sound_that_is_off(loaded):
    (found,) = loaded(command("run", "floor", "--plain", "--sound", "off"))
    assert not found & ({*HEAVY, *PARSER, "asyncio"} - {"wakepy"})


def test_what_is_due_and_the_trend_load_no_screen(loaded):
    for found in loaded(command("next", "floor"), command("trend")):
        assert not found & set(HEAVY)
