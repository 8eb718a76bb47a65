"""What is installed is whole: a wheel as pip builds it, unpacked far from the checkout and used there."""

import ast
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from contextlib import chdir
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import hatchling.build
import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
OPTIONAL = {"simpleaudio"}  # loaded by name, only where the extra is installed


def built(kind, source, out):
    with chdir(source):
        return out / getattr(hatchling.build, f"build_{kind}")(str(out))


@pytest.fixture(scope="session")
def wheel(tmp_path_factory):
    return built("wheel", ROOT, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="session")
def sdist(tmp_path_factory):
    return built("sdist", ROOT, tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="session")
def away(wheel, tmp_path_factory):
    """Runs holdtimer from the unpacked wheel, with the checkout out of sight."""
    house = tmp_path_factory.mktemp("house")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(house)
    rest = [path for path in sys.path if path and Path(path).resolve() != ROOT]
    paths = os.pathsep.join([str(house), *rest])

    def run(*code):
        return subprocess.run(
            [sys.executable, *code], cwd=house.parent, env=os.environ | {"PYTHONPATH": paths},
            capture_output=True, text=True, check=True,
        ).stdout  # fmt: skip

    run.house = house
    return run


def test_a_wheel_holds_every_program_and_every_sound(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {f"holdtimer/bundled/programs/{path.name}" for path in (ROOT / "programs").iterdir()}
    wanted |= {f"holdtimer/bundled/sounds/{path.name}" for path in (ROOT / "sounds").glob("*.wav")}
    assert len(wanted) > 20
    assert wanted <= names


def test_a_wheel_holds_every_module_and_nothing_of_the_tests(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {path.relative_to(ROOT).as_posix() for path in (ROOT / "holdtimer").rglob("*.py")} <= names
    assert "holdtimer/report/page.css" in names
    assert {name.partition("/")[0].partition("-")[0] for name in names} == {"holdtimer"}


def test_a_wheel_carries_its_licence(wheel):
    packed = zipfile.ZipFile(wheel)
    name = next(name for name in packed.namelist() if name.endswith("/licenses/LICENSE"))
    assert packed.read(name) == (ROOT / "LICENSE").read_bytes()


def test_a_wheel_needs_no_compiler_to_be_installed(wheel):
    assert wheel.name.endswith("-py3-none-any.whl")


def test_a_source_archive_builds_the_same_wheel(wheel, sdist, tmp_path):
    with tarfile.open(sdist) as packed:
        packed.extraction_filter = getattr(tarfile, "data_filter", None)  # Python 3.11.4 is the first with it
        packed.extractall(tmp_path)
    again = built("wheel", next(tmp_path.iterdir()), tmp_path)
    first, second = (zipfile.ZipFile(each) for each in (wheel, again))
    assert {name: first.read(name) for name in first.namelist()} == {
        name: second.read(name) for name in second.namelist()
    }


def test_the_package_outside_the_checkout_is_the_one_that_runs(away):
    where = away("-c", "import holdtimer; print(holdtimer.__file__)")
    assert Path(where.strip()).is_relative_to(away.house)


def test_bundled_programs_are_found_by_name_outside_the_checkout(away):
    names = sorted(path.stem for path in (ROOT / "programs").glob("*.toml"))
    code = f"from holdtimer.cli import main\nfor name in {names}: print(main(['check', name]), end='\\f')"
    told = away("-c", code).split("\f")[:-1]
    assert [each[-1] for each in told] == ["0"] * len(names)
    assert all("Script" in each for each in told)


def test_every_sound_is_found_outside_the_checkout(away):
    code = (
        "from holdtimer.files import sounds_folder; from holdtimer.sound.samples import read_all; "
        "print(sounds_folder(), *sorted(read_all(sounds_folder())), sep='\\n')"
    )
    folder, *sounds = away("-c", code).splitlines()
    assert Path(folder).is_relative_to(away.house)
    assert sounds == sorted(path.stem for path in (ROOT / "sounds").glob("*.wav"))


def imported_by(folder):
    for path in (ROOT / folder).rglob("*.py"):
        if "bench" not in path.parts:
            yield from imports(ast.parse(path.read_text(encoding="utf-8")))


def statements(node):
    """Yield every statement in it; no expression is looked into, as none can import."""
    for each in ast.iter_child_nodes(node):
        if isinstance(each, ast.stmt | ast.ExceptHandler | ast.match_case):
            yield each
            yield from statements(each)


def imports(tree):
    for node in statements(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield node.module.partition(".")[0]


def plain(name):
    return re.sub(r"[-_.]+", "-", name).lower()


def named_in(*lists):
    return {plain(Requirement(each).name) for requirements in lists for each in requirements}


@cache
def sources_of_packages():
    return packages_distributions()


def unnamed(folder, known):
    ours = set(sys.stdlib_module_names) | {"holdtimer", "tests", "conftest"} | OPTIONAL
    sources = sources_of_packages()
    for module in sorted(set(imported_by(folder)) - ours):
        if not {plain(each) for each in sources.get(module, [module])} & known:
            yield module


# Textual brings rich, pydantic its core; what they need of each other's versions is theirs to say
BROUGHT = {"rich", "pydantic-core"}


def test_everything_the_package_imports_is_named_as_its_need():
    assert list(unnamed("holdtimer", named_in(PROJECT["dependencies"]) | BROUGHT)) == []


def test_everything_the_tests_import_is_named_in_their_extra():
    extras = PROJECT["optional-dependencies"]
    assert list(unnamed("tests", named_in(PROJECT["dependencies"], extras["test"]) | BROUGHT)) == []


MINIAUDIO_WHEELS = {  # common practice, no source: as the package's files are named
    ("linux", "x86_64"): True,
    ("linux", "aarch64"): False,
    ("linux", "armv7l"): False,
    ("darwin", "arm64"): True,
    ("darwin", "x86_64"): True,
    ("win32", "AMD64"): True,
    ("win32", "ARM64"): False,
    ("freebsd14", "amd64"): False,
}


@pytest.mark.parametrize(("machine", "has_wheel"), MINIAUDIO_WHEELS.items())
def test_miniaudio_is_asked_for_only_where_it_has_a_wheel(machine, has_wheel):
    needs = [Requirement(each) for each in PROJECT["dependencies"]]
    marker = next(each.marker for each in needs if each.name == "miniaudio")
    system, processor = machine
    assert marker.evaluate({"sys_platform": system, "platform_machine": processor}) is has_wheel


@pytest.mark.parametrize(
    ("python", "name"),
    [("3.11", "simpleaudio"), ("3.12", "simpleaudio-patched"), ("3.13", "simpleaudio-patched")],
)
def test_the_simpleaudio_extra_brings_the_one_that_does_not_crash(python, name):
    extra = [Requirement(each) for each in PROJECT["optional-dependencies"]["simpleaudio"]]
    chosen = [each.name for each in extra if each.marker.evaluate({"python_version": python})]
    assert chosen == [name]


def test_no_part_of_the_plain_install_builds_from_source():
    assert not {"simpleaudio", "simpleaudio-patched"} & named_in(PROJECT["dependencies"])
