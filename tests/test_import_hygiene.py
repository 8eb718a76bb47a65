"""What each room and each command loads, seen in a process of its own."""

import os
import subprocess
import sys

HEAVY = ("textual", "rich.console", "scipy", "numpy", "miniaudio", "simpleaudio", "wakepy")
HANDED_ON = ("htpy", "icalendar")
PARSER = ("tree_sitter", "tree_sitter_toml")
SEEN = "print('\\n', *sorted(sys.modules), file=sys.stderr)"


def loaded(folder, *pieces):
    """Run one piece of Python after another, and return which modules were loaded by the end of each."""
    env = os.environ | {
        "HOLDTIMER_DATA": str(folder / "data"),
        "HOLDTIMER_CONFIG": str(folder / "no-config.toml"),
    }
    code = "\n".join(["import sys", *(f"{piece}\n{SEEN}" for piece in pieces)])
    done = subprocess.run([sys.executable, "-c", code], input=b"", capture_output=True, env=env, check=True)
    seen = [set(line.split()) for line in done.stderr.decode().splitlines() if line.startswith(" ")]
    assert len(seen) == len(pieces)
    return seen


def command(*args):
    return (
        "import holdtimer.cli\n"
        "try:\n"
        f"    holdtimer.cli.main({[str(arg) for arg in args]!r})\n"
        "except SystemExit:\n"
        "    pass"
    )


def test_the_pure_rooms_load_no_screen_no_sound_no_scipy_and_the_parser_of_lines_for_a_fault_alone(tmp_path):
    rooms = ["program", "session", "log", "progression", "report"]
    code = [
        "import importlib, pkgutil\n"
        f"import holdtimer.{room} as room\n"
        "for each in pkgutil.walk_packages(room.__path__, room.__name__ + '.'):\n"
        "    importlib.import_module(each.name)"
        for room in rooms
    ]
    spoilt = tmp_path / "spoilt.toml"
    spoilt.write_text("format = 2\n")
    *seen, with_fault = loaded(tmp_path, *code, command("check", spoilt))
    for room, found in zip(rooms, seen, strict=True):
        assert not found & {*HEAVY, *PARSER}, room
        assert "holdtimer" in found
    assert set(PARSER) <= with_fault
    assert not with_fault & set(HEAVY)


def test_a_command_loads_nothing_it_does_not_use_and_help_no_models_either(tmp_path):
    commands = [["--help"], ["--version"], ["schema"], ["check", "floor"], ["show"], ["show", "--json"]]
    commands += [["export", "csv"], ["next", "floor"], ["trend"]]
    plain_run = ["run", "floor", "--plain", "--sound", "off"]
    *seen, after_run = loaded(tmp_path, *(command(*args) for args in [*commands, plain_run]))
    for args, found in zip(commands, seen, strict=True):
        assert not found & {*HEAVY, *PARSER, *HANDED_ON, "asyncio"}, args
    assert not seen[0] & {"pydantic", "filelock", "platformdirs"}
    assert not after_run & ({*HEAVY, *PARSER, "asyncio"} - {"wakepy"})
