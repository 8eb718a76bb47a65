"""The text of a program file: its TOML tables, each key with its line, errors in plain words."""

import datetime
import re
import tomllib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from holdtimer.errors import Fault, KeyPath, ProgramError
from holdtimer.text import harmless

MAX_KEY_PARTS = 32  # the reader's time grows with the square of a key's parts
_TOO_DEEP = 50
_KEY_PART = re.compile(r"""[\w"'-][ \t]*\.""")
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_SCRIPTS_TABLE = re.compile(r"\s*\[\[?\s*scripts\s*\]")

ONE_SCRIPT = "[scripts] is a single table; write [[scripts]], with two brackets, before each script"
_BROKEN_LINE = 'what is between "{" and "}" must be on one line; join it with the next line'

_PLAIN = (
    (r"^Expected '=' after a key", 'there must be "=" after a key, such as name = "Wall sit"'),
    (
        r"^Expected newline or end of document",
        "there is more on this line after its value; begin a new line, or check the quotes",
    ),
    (r"^Cannot overwrite a value", "this key is here twice; keep one of them"),
    (r"^Duplicate inline table key (.*)", "this key is in one table twice; keep one of them"),
    (r"^Cannot (declare|mutate|redefine)", "this table or key is in the file twice; keep one of them"),
    (r"^Unclosed array", 'a list that begins with "[" is not closed; check the commas and the "]"'),
    (
        r"^Unclosed inline table",
        'a table that begins with "{" is not closed; check the commas and the "}"',
    ),
    (r"^Expected '\]", 'the name of a table must end with "]", or "]]" if it begins with "[["'),
    (r"^Unterminated string|^Expected [\"']", "a text is not closed; check its quotes"),
    (r"^Illegal character '\\n'", "a text is not closed at the end of this line; check its quotes"),
    (r"^Illegal character", "there is a character here that TOML does not allow; take it out"),
    (
        r"^Unescaped '\\'|^Invalid hex value|^Escaped character",
        'in a text, "\\" is followed by a wrong letter; write "\\\\" for one "\\"',
    ),
    (
        r"^Invalid (initial character for a )?key",
        "a key is expected here: letters, digits, - and _ only, or in quotes",
    ),
    (r"^Invalid statement", "this line is neither key = value nor [table]; begin a comment with #"),
    (
        r"^Invalid value at the end",
        'the file ends in the middle of a value; look for a "[" or "{" that is not closed',
    ),
    (r"^Invalid value", 'the value after the "=" can\'t be read; text needs quotes, a number none'),
    (r"^Invalid date", "this is not a date; write it such as 2026-05-12"),
)


def parse(text: str, name: str) -> dict[str, Any]:
    """Return the tables of a TOML text. Raises ProgramError, with one error, where it is not TOML."""
    _refuse_long_keys(text, name)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line, message = _plain(str(error), text)
    except RecursionError:
        line, message = (
            _deepest_line(text),
            "lists or tables are nested too deeply here; five levels are enough for a program file",
        )
    except ValueError:
        line, message = (
            _longest_number_line(text),
            "a number here has far too many digits; write a shorter one",
        )
    raise ProgramError([Fault(name, line, message)])


def _refuse_long_keys(text: str, name: str) -> None:
    for number, line in enumerate(text.split("\n"), start=1):
        if any(len(_KEY_PART.findall(piece)) > MAX_KEY_PARTS for piece in line.split("=")):
            raise ProgramError(
                [Fault(name, number, "a key in this line has far too many dots; write it with fewer")]
            )


def _plain(message: str, text: str) -> tuple[int, str]:
    place = _AT.search(message)
    line = int(place[1]) if place and place[1] else text.rstrip().count("\n") + 1
    said = _AT.sub("" if place and place[1] else " at the end", message)
    source = text.split("\n")[line - 1]
    if place and place[2] and _is_in_broken_table(source, int(place[2]) - 1):
        plain = _BROKEN_LINE
    elif said.startswith("Cannot") and _SCRIPTS_TABLE.match(source):
        plain = ONE_SCRIPT
    else:
        plain = next((words for pattern, words in _PLAIN if re.search(pattern, said)), harmless(said, 120))
    return line, f"this is not TOML: {plain}"


def _is_in_broken_table(line: str, column: int) -> bool:
    """Whether a line ends at this column inside a table that began with `{` on it."""
    before, after = line[:column], line[column:].strip()
    return before.rfind("{") > before.rfind("}") and (not after or after.startswith("#"))


def _deepest_line(text: str) -> int:
    depth, deepest, line = 0, 0, 1
    for number, source in enumerate(text.split("\n"), start=1):
        for char in source:
            depth += (char in "[{") - (char in "]}")
        if depth > deepest:
            deepest, line = depth, number
        if deepest > _TOO_DEEP:
            break
    return line


def _longest_number_line(text: str) -> int:
    digits = [max(map(len, re.findall(r"[\d_]+", line)), default=0) for line in text.split("\n")]
    return digits.index(max(digits)) + 1


def described(value: object) -> str:
    """Return a value of a TOML file in words, short and harmless."""
    match value:
        case str():
            return f'"{harmless(value)}"'
        case bool():
            return "true" if value else "false"
        case int() | float():
            return "a number too large" if abs(value) >= 1e15 else str(value)
        case list() | tuple():
            return "a list"
        case dict():
            return "a table"
        case datetime.date() | datetime.time():
            return "a date or time"
        case _:
            return "something else"


if TYPE_CHECKING:
    from tree_sitter import Node


class Lines:
    """The lines (from 1) of every key, table and list item of a TOML text that parses."""

    def __init__(self, text: str) -> None:
        self._lines: dict[KeyPath, int] = {(): 1}
        self._tables: dict[KeyPath, int] = {}  # how many tables each list of tables has so far
        prefix: KeyPath = ()
        for node in _root(text).named_children:
            if node.type in ("table", "table_array_element") and not node.named_children[0].has_error:
                prefix = self._open_table(node)
                for pair in node.named_children[1:]:
                    self._add_pair(prefix, pair)
            else:
                self._add_pair((), node)

    def of(self, path: KeyPath) -> int:
        """Return the line of a key, or of the nearest table around it that is written down."""
        while path not in self._lines:
            path = path[:-1]
        return self._lines[path]

    def _open_table(self, node: "Node") -> KeyPath:
        line = node.start_point[0] + 1
        path: KeyPath = ()
        keys = list(_keys(node.named_children[0]))
        for key in keys[:-1]:
            path = self._current((*path, key))
            self._lines.setdefault(path, line)
        path = (*path, keys[-1])
        if node.type == "table_array_element":
            self._tables[path] = self._tables.get(path, 0) + 1
            self._lines.setdefault(path, line)
            path = self._current(path)
        self._lines[path] = line
        return path

    def _current(self, path: KeyPath) -> KeyPath:
        return (*path, self._tables[path] - 1) if path in self._tables else path

    def _add_pair(self, prefix: KeyPath, pair: "Node") -> None:
        pending = [
            (prefix, pair)
        ]  # a list of work rather than recursion: files may nest deeper than the stack
        while pending:
            path, node = pending.pop()
            line = node.start_point[0] + 1
            children = [child for child in node.named_children if child.type != "comment"]
            if node.type == "pair" and len(children) == 2 and not children[0].has_error:
                for key in _keys(children[0]):
                    path = (*path, key)
                    self._lines.setdefault(path, line)
                pending.append((path, children[1]))
            elif node.type == "array":
                for index, child in enumerate(children):
                    self._lines[*path, index] = child.start_point[0] + 1
                    pending.append(((*path, index), child))
            elif node.type == "inline_table":
                pending.extend((path, child) for child in children)


def _root(text: str) -> "Node":
    import tree_sitter
    import tree_sitter_toml

    language = tree_sitter.Language(tree_sitter_toml.language())
    return tree_sitter.Parser(language).parse(text.encode()).root_node


def _keys(node: "Node") -> Iterator[str]:
    """Yield the parts of a key, dotted or not, unquoted."""
    parts = []
    while node.type == "dotted_key":  # a.b.c is ((a.b).c)
        node, last = node.named_children
        parts.append(last)
    for part in (node, *reversed(parts)):
        yield _unquoted(part)


def _unquoted(node: "Node") -> str:
    import tomllib

    source = (node.text or b"").decode()
    return source if node.type == "bare_key" else next(iter(tomllib.loads(f"{source} = 0")))
