"""What commands print or write: text that cannot steer a terminal, wherever it comes from."""

import json
import os
import re
import sys
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from io import TextIOWrapper
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Any, TextIO, cast

from holdtimer.errors import BadInputError
from holdtimer.files import from_home, write_whole
from holdtimer.text import CONTROLS, STEERING, sanitize

if TYPE_CHECKING:
    from holdtimer.report.table import Block

_IN_NO_FILE = re.compile(rf"(?![\n\r\t]){CONTROLS.pattern}")


class OutputLostError(OSError):
    """Standard output takes no more."""


class _Harmless(TextIOWrapper):
    """A standard stream that lets nothing through that steers a terminal.

    Where it takes no more, `is_answer` says whether that is an error: of standard error nobody can learn it.
    """

    def __init__(self, stream: TextIO, *, is_answer: bool) -> None:
        super().__init__(
            stream.buffer,
            encoding=stream.encoding,
            errors="replace",  # a letter the terminal has not is no fault
            line_buffering=True if not is_answer else stream.isatty(),
        )
        self._is_answer = is_answer

    def write(self, text: str) -> int:
        """Write a text, control characters in it as `?`. Raises OutputLostError."""
        with self._losing():
            super().write(STEERING.sub("?", text))
        return len(text)

    def flush(self) -> None:
        """Pass on what was written. Raises OutputLostError."""
        with self._losing():
            super().flush()

    def write_bytes(self, data: bytes) -> None:
        """Write bytes as they are, at once. Raises OutputLostError."""
        self.flush()
        with self._losing():
            self.buffer.write(data)
            self.buffer.flush()

    @contextmanager
    def _losing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            if self._is_answer:
                raise OutputLostError(error.errno, error.strerror) from None


@contextmanager
def harmless_streams() -> Iterator[None]:
    """Let no control character through to standard output and error.

    A stream that is closed leads nowhere: its number must not go to the next file that is opened.
    """
    before = sys.stdin, sys.stdout, sys.stderr
    with ExitStack() as inside:
        for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
            if getattr(sys, name) is None:
                setattr(sys, name, inside.enter_context(open(os.devnull, mode, encoding="utf-8")))
        for stream in (sys.stdout, sys.stderr):  # what was printed before comes before
            with suppress(OSError, ValueError):
                stream.flush()
        gates = [_Harmless(sys.stdout, is_answer=True), _Harmless(sys.stderr, is_answer=False)]
        sys.stdout, sys.stderr = gates
        try:
            yield
        finally:
            sys.stdin, sys.stdout, sys.stderr = before
            for gate in gates:
                with suppress(OSError, ValueError):
                    gate.detach()  # or the stream behind it would be closed with it


def print_lines(lines: Iterable[str]) -> None:
    """Print lines, control characters in them as `?`."""
    for line in lines:
        print(sanitize(line))


COLUMNS = 80  # where the output is no terminal
_STYLES = {"strong": "bold", "title": "cyan", "alarm": "bold red", "drawn": "cyan"}


def print_blocks(blocks: "Iterable[Block]") -> None:
    """Print paragraphs and tables: as wide as the terminal, with colour where that is wanted.

    To a dumb terminal nothing is drawn: a screen reader may read it aloud.
    """
    # with models, which `--help` is not to load
    from holdtimer.report.table import ASCII, UNICODE, lay_out, text_lines

    is_dumb = os.environ.get("TERM") == "dumb"
    glyphs = None if is_dumb else UNICODE if _is_unicode() else ASCII
    if not sys.stdout.isatty():
        print_lines(text_lines(blocks, COLUMNS, glyphs))
        return
    lines = lay_out(blocks, get_terminal_size().columns, glyphs)
    if is_dumb or os.environ.get("NO_COLOR"):
        print_lines("".join(text for text, _ in line) for line in lines)
        return
    from rich.console import Console  # 40 ms that no pipe is to pay
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=True)
    with console.capture() as captured:
        for line in lines:
            console.print(Text.assemble(*((sanitize(text), _STYLES.get(style, "")) for text, style in line)))
    cast("_Harmless", sys.stdout).write_bytes(captured.get().encode(sys.stdout.encoding, "replace"))


def print_warnings(warnings: Iterable[object]) -> None:
    """Print warnings on stderr, control characters in them as `?`."""
    for warning in warnings:
        print(sanitize(f"warning: {warning}"), file=sys.stderr)


def print_json(document: Any) -> None:
    """Print a document as JSON, in ASCII alone where the output takes no more."""
    print(json_text(document, is_unicode=_is_unicode()))


def _is_unicode() -> bool:
    return (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")


def json_text(document: Any, *, is_unicode: bool = True) -> str:
    """Return a document as JSON with nothing in it that steers a terminal."""
    text = json.dumps(document, ensure_ascii=not is_unicode, indent=2)
    return STEERING.sub(lambda found: json.dumps(found[0])[1:-1], text)


def is_file_name(name: str | None) -> bool:
    """Whether what was given with `-o` names a file; None and `-` are standard output."""
    return name is not None and name != "-"


def write_out(text: str, name: str | None, beginning: str) -> None:
    """Write a text, in UTF-8, to standard output or into the file of that name, whole; nothing in it steers.

    What was there stays until all of the new is on disk; a file that does not begin as all such texts do,
    with `beginning`, is not one of ours and stays for good. Raises BadInputError where it can't be written.
    """
    data = _IN_NO_FILE.sub("?", text).encode()
    if name is None or not is_file_name(name):
        cast("_Harmless", sys.stdout).write_bytes(data)
        return
    path = from_home(name)
    if os.path.islink(path):  # who else can read what it leads to?
        raise BadInputError(f"{name} is a link; name the file itself")
    if os.path.exists(path) and not os.path.isfile(path):
        raise BadInputError(f"{name} is not a file; name a file to write to, or leave -o out")
    try:
        if not _may_replace(path, beginning.encode()):
            raise BadInputError(
                f"{name} exists and is not an export of this kind, so it was not replaced: name another file"
            )
        write_whole(path, data)
    except OSError as error:
        raise BadInputError(f"{name} can't be written: {error.strerror or type(error).__name__}") from None


def _may_replace(path: Path, beginning: bytes) -> bool:
    if not os.path.exists(path):
        return True
    with path.open("rb") as file:
        found = file.read(len(beginning))
    return found in (beginning, b"")


def needs_screen(otherwise: str) -> None:
    """Raise BadInputError, which says what to do otherwise, unless this is a terminal that has a screen."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        raise BadInputError(otherwise)
