"""One rule over a table: one test that names every row that breaks it."""

import functools
import inspect
from collections.abc import Callable, Iterable


def every(names: str | tuple[str, ...], rows: Iterable, ids: Callable | None = None) -> Callable:
    """Check a test on each row, as `pytest.mark.parametrize` does, but in one test: all rows are tried.

    The fixtures of the test are shared by its rows. Raises an AssertionError with every row that failed.
    """
    columns = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)
    table = [_cells(row, len(columns)) for row in rows]
    assert table, "no rows"

    def on_each_row(test: Callable) -> Callable:
        @functools.wraps(test)
        def tried(**fixtures: object) -> None:
            failed = []
            for cells in table:
                try:
                    test(**fixtures, **dict(zip(columns, cells, strict=True)))
                except Exception as error:
                    failed.append(f"{', '.join(map(repr, cells))}: {type(error).__name__}: {error}")
            assert not failed, f"{len(failed)} of {len(table)} rows:\n" + "\n".join(failed)

        given = inspect.signature(test).parameters.values()
        tried.__signature__ = inspect.Signature([each for each in given if each.name not in columns])
        return tried

    return on_each_row


def _cells(row: object, count: int) -> tuple:
    values = getattr(row, "values", None)
    if isinstance(values, tuple):  # a pytest.param
        return values
    return (row,) if count == 1 else tuple(row)
