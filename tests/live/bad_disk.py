"""The program on a machine with bad disks: `python -m tests.live.bad_disk` takes what `holdtimer` takes.

While the file that BAD_NOW names is there, the folder that BAD_DATA names does not answer. BAD_TEMP is the
folder of temporary files.
"""

import builtins
import io
import os
import sys
import tempfile
import time
from pathlib import Path

from holdtimer.cli import main

NOW, DATA = os.environ.get("BAD_NOW"), os.environ.get("BAD_DATA", "/nowhere")
OF_PATHS = ("open", "stat", "lstat", "scandir", "listdir", "mkdir", "unlink", "rename", "replace")
OF_FILES = ("read", "write", "fsync", "fstat", "close")

_stat, _readlink = os.stat, os.readlink


def hangs(path):
    """Whether what is at a path does not answer now."""
    if not f"{path}/".startswith(f"{DATA}/"):
        return False
    try:
        _stat(NOW)
    except OSError:
        return False
    return True


def hanging(call):
    def asked(what, *more, **named):
        path = what
        if isinstance(what, int):
            try:
                path = _readlink(f"/proc/self/fd/{what}")
            except OSError:
                path = ""
        while hangs(path):
            time.sleep(0.05)
        return call(what, *more, **named)

    return asked


if NOW is not None:
    for name in (*OF_PATHS, *OF_FILES):
        setattr(os, name, hanging(getattr(os, name)))
    os.supports_follow_symlinks.add(os.stat)
    builtins.open = io.open = hanging(open)
tempfile.tempdir = os.environ.get("BAD_TEMP")
if __name__ == "__main__":
    assert Path(DATA).is_absolute()
    sys.exit(main())
