"""How every test runs: by the chosen profile of Hypothesis, and on how many workers."""

import os

import pytest

# the sums are small: on a busy machine, threads that wait for each other would cost more
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# or else each worker, and each process that a test starts, compiles the whole program again
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

import tests.profiles  # noqa: F401 - chooses the profile before any test is read


def pytest_xdist_auto_num_workers():
    """One worker for each core, and two for what runs in terminals and through pipes, which mostly waits."""
    return (os.cpu_count() or 1) + 2


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector):
    """Let each worker begin to read a folder elsewhere: one compiles a file, the others find it compiled."""
    report = yield
    if isinstance(collector, pytest.Directory):
        number = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
        begin = len(report.result) * number // int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
        report.result = report.result[begin:] + report.result[:begin]
    return report


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Begin with two files whose runs mostly wait, and spread the others of that kind among the rest."""
    files = {}
    for item in sorted(items, key=lambda each: each.path):
        files.setdefault(item.path, []).append(item)
    waiting = [file for file in files.values() if file[0].get_closest_marker("waits")]
    busy = [file for file in files.values() if file not in waiting]
    placed = [(max(0, n - 1) / len(waiting), file) for n, file in enumerate(waiting)]
    placed += [((n + 1) / len(busy), file) for n, file in enumerate(busy)]
    items[:] = [item for _, file in sorted(placed, key=lambda each: each[0]) for item in file]
