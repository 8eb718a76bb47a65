"""How every test runs: by the chosen profile of Hypothesis, and on how many workers."""

import os

import pytest

# of a small problem on a busy machine, threads that wait for each other cost more than all of its sums
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import tests.profiles  # noqa: F401 - chooses the profile before any test is read


def pytest_xdist_auto_num_workers():
    """One worker for each core, and one for the real terminals, which mostly wait."""
    return (os.cpu_count() or 1) + 1


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Begin with the real terminals, which have one worker: theirs is the longest wait."""
    items.sort(key=lambda item: item.get_closest_marker("xdist_group") is None)
