"""What each room and each command loads, seen in a process of its own."""

import os
import subprocess
import sys

import pytest

HEAVY = ("textual", "rich.console", "scipy", "numpy", "miniaudio", "simpleaudio", "wakepy")
PARSER = ("tree_sitter", "tree_sitter_toml")
SEEN = "import sys; sys.stderr.write('\\n' + ' '.join(sorted(sys.modules)))"


@pytest.fixture
def loaded(tmp_path):
    """Run some Python, and return which modules were loaded by the end of it."""

    def loaded(code, keys=b""):
        env = os.environ | {
            "HOLDTIMER_DATA": str(tmp_path / "data"),
            "HOLDTIMER_CONFIG": str(tmp_path / "no-config.toml"),
        }
        done = subprocess.run(
            [sys.executable, "-c", f"{code}\n{SEEN}"], input=keys, capture_output=True, env=env, check=True
        )
        return set(done.stderr.decode().splitlines()[-1].split())

    return loaded


def command(*args):
    return (
        "import holdtimer.cli\n"
        "try:\n"
        f"    holdtimer.cli.main({[str(arg) for arg in args]!r})\n"
        "except SystemExit:\n"
        "    pass"
    )


@pytest.mark.parametrize("room", ["program", "session", "log", "progression", "report"])
def test_the_pure_rooms_load_no_screen_no_sound_no_scipy(loaded, room):
    code = (
        "import importlib, pkgutil\n"
        f"import holdtimer.{room} as room\n"
        "for each in pkgutil.walk_packages(room.__path__, room.__name__ + '.'):\n"
        "    importlib.import_module(each.name)"
    )
    found = loaded(code)
    assert not found & set(HEAVY)
    assert "holdtimer" in found


@pytest.mark.parametrize(
    "args", [["--help"], ["--version"], ["check", "floor"], ["show"], ["show", "--json"], ["schema"]]
)
def test_a_command_loads_nothing_it_does_not_use(loaded, args):
    assert not loaded(command(*args)) & {*HEAVY, *PARSER, "asyncio"}


def test_help_loads_no_models_either(loaded):
    assert not loaded(command("--help")) & {"pydantic", "filelock", "platformdirs"}


def test_the_parser_that_finds_lines_is_loaded_for_a_fault_alone(loaded, tmp_path):
    spoilt = tmp_path / "spoilt.toml"
    spoilt.write_text("format = 2\n")
    found = loaded(command("check", spoilt))
    assert set(PARSER) <= found
    assert not found & set(HEAVY)


def test_a_plain_run_loads_no_screen_and_no_sound_that_is_off(loaded):
    found = loaded(command("run", "floor", "--plain", "--sound", "off"))
    assert not found & ({*HEAVY, *PARSER, "asyncio"} - {"wakepy"})


def test_what_is_due_and_the_trend_load_no_screen(loaded):
    assert not loaded(command("next", "floor")) & set(HEAVY)
    assert not loaded(command("trend")) & {*HEAVY}
