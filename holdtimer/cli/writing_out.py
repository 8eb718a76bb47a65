"""What a command hands on: to the terminal or a pipe, or into a file for its owner alone."""

import os
import sys
from contextlib import suppress
from pathlib import Path
from secrets import token_hex

from holdtimer.cli.faults import BadInput


def is_file_name(name: str | None) -> bool:
    """Whether what was given with `-o` names a file; None and `-` are standard output."""
    return name is not None and name != "-"


def write_out(text: str, name: str | None, beginning: str) -> None:
    """Write a text, in UTF-8, to standard output or into the file of that name, whole.

    What was there stays until all of the new is on disk; a file that does not begin as all such texts do,
    with `beginning`, is not one of ours and stays for good. Raises BadInput where it can't be written.
    """
    data = text.encode()
    if name is None or not is_file_name(name):
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    path = Path(name).expanduser()
    if path.exists() and not path.is_file():
        raise BadInput(f"{name} is not a file; name a file to write to, or leave -o out")
    try:
        if not _may_replace(path, beginning.encode()):
            raise BadInput(
                f"{name} is there and is no export of this kind; it is left as it is: name another file"
            )
        _replace(path.resolve(), data)
    except OSError as error:
        raise BadInput(f"{name} can't be written: {error.strerror or type(error).__name__}") from None


def _may_replace(path: Path, beginning: bytes) -> bool:
    if not path.exists():
        return True
    with path.open("rb") as file:
        found = file.read(len(beginning))
    return found in (beginning, b"")


def _replace(path: Path, data: bytes) -> None:
    part = path.with_name(f".{path.name}.{token_hex(4)}")
    try:
        with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        raise
