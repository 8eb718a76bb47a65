"""Which line of a program file a key stands on."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holdtimer.script.faults import KeyPath

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
