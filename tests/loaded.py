"""A process that has loaded all of the program and runs it in forks of itself, as `tests/running.py` asks.

A run begins where `python -m holdtimer` has come to once it is loaded, and ends as that does.
"""

import fcntl
import gc
import importlib
import json
import os
import resource
import runpy
import socket
import struct
import sys
import tempfile
import termios
from collections.abc import Sequence
from contextlib import suppress
from typing import NoReturn

LARGEST_ORDER = 200_000  # bytes
MODULES = (
    *("holdtimer.cli.run_plain", "holdtimer.cli.run_screen", "holdtimer.cli.today", "holdtimer.cli.reports"),
    *("holdtimer.screens.app", "holdtimer.screens.summary", "textual.drivers.linux_driver", "wakepy"),
)


def prepare(has_terminal: bool, limit: int | None) -> None:
    """Make this process what a run is: at its terminal, and with no more room than that for a file."""
    if has_terminal:
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    if limit is not None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))


def _become(order: dict, given: list[int]) -> None:
    """Turn this fork into what was ordered: its streams, its terminal, its environment, its arguments."""
    if order["has_terminal"]:
        os.setsid()
    for number in range(3):
        os.dup2(given[number], number)
    os.closerange(3, max(given) + 1)
    prepare(order["has_terminal"], order["limit"])
    sys.stdout.reconfigure(line_buffering=os.isatty(1))
    os.chdir(order["cwd"])
    os.environ.clear()
    os.environ.update(order["env"])
    tempfile.tempdir = os.environ.get("BAD_TEMP")
    sys.argv = ["holdtimer", *order["args"]]


def _watch(pid: int, given: Sequence[int]) -> NoReturn:
    """Report which process runs, and how it ended."""
    *streams, report = given
    for stream in (*range(3), *streams):
        os.close(stream)
    os.write(report, struct.pack("i", pid))
    _, status = os.waitpid(pid, 0)
    os.write(report, struct.pack("i", os.waitstatus_to_exitcode(status)))
    os._exit(0)


def _until_it_is_a_run(orders: socket.socket) -> None:
    """Take orders, each with the streams of a run and where to report; return in the fork that is to run."""
    while True:
        order, given, *_ = socket.recv_fds(orders, LARGEST_ORDER, 4)
        with suppress(ChildProcessError):
            while os.waitpid(-1, os.WNOHANG)[0]:  # those who have watched a run to its end
                pass
        if not order:
            os._exit(0)
        if os.fork() == 0:
            orders.close()
            if pid := os.fork():
                _watch(pid, given)
            _become(json.loads(order), list(given))
            return
        for each in given:
            os.close(each)


if __name__ == "__main__":
    for module in MODULES:
        importlib.import_module(module)
    gc.collect()
    gc.freeze()
    _until_it_is_a_run(socket.socket(fileno=int(sys.argv[1])))
    runpy.run_module("holdtimer", run_name="__main__", alter_sys=True)
