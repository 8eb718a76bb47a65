"""What commands print: text that steers no terminal, whoever wrote it."""

import json
import re
import sys
from collections.abc import Iterable
from typing import Any

from holdtimer.script.text import shown

# raw in JSON these could still steer a terminal, reorder a line or break it
_ESCAPED = re.compile("[\x7f-\x9f\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def print_lines(lines: Iterable[str]) -> None:
    """Print lines, control characters in them as `?`."""
    for line in lines:
        print(shown(line))


def print_warnings(warnings: Iterable[object]) -> None:
    """Print warnings on stderr, control characters in them as `?`."""
    for warning in warnings:
        print(shown(f"warning: {warning}"), file=sys.stderr)


def print_json(document: Any) -> None:
    """Print a document as JSON, in ASCII alone where the output takes no more."""
    is_unicode = (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
    print(json_text(document, is_unicode=is_unicode))


def json_text(document: Any, *, is_unicode: bool = True) -> str:
    """Return a document as JSON with nothing in it that steers a terminal."""
    text = json.dumps(document, ensure_ascii=not is_unicode, indent=2)
    return _ESCAPED.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
