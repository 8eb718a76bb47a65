"""What a command hands on: to the terminal or a pipe, or into a file for its owner alone."""

import os
import sys
from contextlib import suppress
from pathlib import Path
from secrets import token_hex

from holdtimer.cli.faults import BadInput


def write_out(text: str, name: str | None) -> None:
    """Write a text, in UTF-8, to standard output where `name` is None or `-`, else into that file, whole.

    What was there stays until all of the new is on disk. Raises BadInput where it can't be written.
    """
    data = text.encode()
    if name is None or name == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    path = Path(name).expanduser()
    if path.exists() and not path.is_file():
        raise BadInput(f"{name} is not a file; name a file to write to, or leave -o out")
    try:
        _replace(path.resolve(), data)
    except OSError as error:
        raise BadInput(f"{name} can't be written: {error.strerror or type(error).__name__}") from None


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
