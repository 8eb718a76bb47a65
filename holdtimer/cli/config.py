"""`config`: where the settings are, every value in force, and where each comes from."""

from argparse import Namespace

from holdtimer.cli.output import print_warnings
from holdtimer.cli.paths import data_folder, person_named
from holdtimer.config import Config, read_config
from holdtimer.errors import ExitCode

_SOURCES = {"default": "default", "file": "from the file", "person": "from the file, for {person}"}


def config(args: Namespace) -> int:
    """Print the settings in force for a person.

    Raises ProgramError with every fault of the file, but for those that concern others where one is named.
    """
    data = data_folder(args)
    person = person_named(args, data)
    found = read_config(person, whole=args.person is None)
    print_warnings(found.others)
    print(f"file: {found.path}{'' if found.exists else ' (not there yet)'}")
    print(f"data: {data}")
    print(f"person: {person}")
    for name in sorted(found.sources):
        print(f"{name} = {_value(found, name)}  # {_SOURCES[found.sources[name]].format(person=person)}")
    return ExitCode.DONE


def _value(found: Config, name: str) -> str:
    value = getattr(found.values, name)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, frozenset):
        return "[" + ", ".join(f'"{each}"' for each in sorted(value)) + "]"
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"
