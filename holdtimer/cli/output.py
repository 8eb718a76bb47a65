"""What commands print or write: text that steers no terminal, whoever wrote it."""

import json
import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from holdtimer.errors import BadInputError
from holdtimer.files import write_whole
from holdtimer.text import sanitize

# raw in JSON these could still steer a terminal, reorder a line or break it
_ESCAPED = re.compile("[\x7f-\x9f\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def print_lines(lines: Iterable[str]) -> None:
    """Print lines, control characters in them as `?`."""
    for line in lines:
        print(sanitize(line))


def print_warnings(warnings: Iterable[object]) -> None:
    """Print warnings on stderr, control characters in them as `?`."""
    for warning in warnings:
        print(sanitize(f"warning: {warning}"), file=sys.stderr)


def print_json(document: Any) -> None:
    """Print a document as JSON, in ASCII alone where the output takes no more."""
    is_unicode = (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
    print(json_text(document, is_unicode=is_unicode))


def json_text(document: Any, *, is_unicode: bool = True) -> str:
    """Return a document as JSON with nothing in it that steers a terminal."""
    text = json.dumps(document, ensure_ascii=not is_unicode, indent=2)
    return _ESCAPED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def is_file_name(name: str | None) -> bool:
    """Whether what was given with `-o` names a file; None and `-` are standard output."""
    return name is not None and name != "-"


def write_out(text: str, name: str | None, beginning: str) -> None:
    """Write a text, in UTF-8, to standard output or into the file of that name, whole.

    What was there stays until all of the new is on disk; a file that does not begin as all such texts do,
    with `beginning`, is not one of ours and stays for good. Raises BadInputError where it can't be written.
    """
    data = text.encode()
    if name is None or not is_file_name(name):
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    path = Path(name).expanduser()
    if path.exists() and not path.is_file():
        raise BadInputError(f"{name} is not a file; name a file to write to, or leave -o out")
    try:
        if not _may_replace(path, beginning.encode()):
            raise BadInputError(
                f"{name} exists and is not an export of this kind, so it was not replaced: name another file"
            )
        write_whole(path.resolve(), data)
    except OSError as error:
        raise BadInputError(f"{name} can't be written: {error.strerror or type(error).__name__}") from None


def _may_replace(path: Path, beginning: bytes) -> bool:
    if not path.exists():
        return True
    with path.open("rb") as file:
        found = file.read(len(beginning))
    return found in (beginning, b"")


def needs_screen(otherwise: str) -> None:
    """Raise BadInputError, which says what to do otherwise, unless this is a terminal that has a screen."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        raise BadInputError(otherwise)
