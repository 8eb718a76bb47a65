"""How the house is built: modules, lines, imports between modules, circles, lengths of functions.

Run by hand from the root: `python -m tests.bench.house [ROOT]`. Each row has its aim; it only reads.
"""

import ast
import statistics
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
STAMP_PATH = "the modules a stamp passes from key to log: see `stamp_path`"


def modules(root: Path) -> dict[str, Path]:
    """Return every module of the package by its dotted name."""
    package = root / "holdtimer"
    return {
        ".".join(path.relative_to(root).with_suffix("").parts).removesuffix(".__init__"): path
        for path in sorted(package.rglob("*.py"))
    }


def imports(tree: ast.AST, known: dict[str, Path]) -> Iterator[str]:
    """Yield each module that an import statement of ours reaches, once a statement at least."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "holdtimer":
            found = [name for each in node.names if (name := f"{node.module}.{each.name}") in known]
            yield from found or [str(node.module)]
        elif isinstance(node, ast.Import):
            yield from (each.name for each in node.names if each.name.split(".")[0] == "holdtimer")


def circles(graph: dict[str, set[str]]) -> list[set[str]]:
    """Return the groups of modules that reach each other."""
    reach = {name: _reachable(name, graph) for name in graph}
    found: list[set[str]] = []
    for name in graph:
        group = {other for other in reach[name] if name in reach.get(other, set())}
        if group and group not in found:
            found.append(group)
    return found


def _reachable(name: str, graph: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    waiting = [*graph[name]]
    while waiting:
        each = waiting.pop()
        if each not in seen:
            seen.add(each)
            waiting.extend(graph.get(each, ()))
    return seen


def lengths(tree: ast.AST) -> Iterator[int]:
    """Yield how many lines each function has, its docstring not counted."""
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            first = node.body[0]
            is_documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
            end = node.end_lineno or node.lineno
            yield end - node.lineno + 1 - ((first.end_lineno or 0) - first.lineno + 1 if is_documented else 0)


def main(root: Path = ROOT) -> None:
    """Print the table."""
    known = modules(root)
    lines = {name: len(path.read_text(encoding="utf-8").splitlines()) for name, path in known.items()}
    trees = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in known.items()}
    statements = {name: list(imports(tree, known)) for name, tree in trees.items()}
    total = sum(lines.values())
    count = sum(
        isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "holdtimer"
        for tree in trees.values()
        for node in ast.walk(tree)
    )
    functions = sorted(length for tree in trees.values() for length in lengths(tree))
    longest = max(lines, key=lambda name: lines[name])
    found = circles({name: set(reached) - {name} for name, reached in statements.items()})
    rows = [
        ("modules", str(len(known)), "at most 125"),
        ("lines", f"{total:,}", "at most 17,500"),
        ("lines of a module, median", f"{statistics.median(lines.values()):g}", ""),
        ("longest module", f"{longest} {lines[longest]}", "at most 450 lines"),
        ("imports of ours", str(count), ""),
        ("... per 1,000 lines", f"{1000 * count / total:.1f}", "at most 24"),
        ("circles of imports", str(len(found)), "0"),
        ("lines of a function, p90", str(functions[int(len(functions) * 0.9)]), "at most 20"),
        ("longest function", str(functions[-1]), "at most 45 lines"),
    ]
    for what, value, aim in rows:
        print(f"{what:28} {value:34} {aim}")
    for circle in found:
        print("circle:", ", ".join(sorted(circle)))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
