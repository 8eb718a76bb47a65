"""What a running window costs on the full screen, by hand: `python -m tests.bench.bench_screen [200x60]`.

Starts `holdtimer run` on a terminal of its own, waits for a window, and tells for 20 s of it how much of one
core the program took and how many bytes it wrote.
"""

import fcntl
import os
import pty
import select
import struct
import sys
import tempfile
import termios
import time
from pathlib import Path

PROGRAM = """\
format = 1
id = "hall"
title = "Village hall"
defaults = {window_s = 90, count_in_s = 5}
[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Slide down again."
ladder = ["high"]
[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}]
"""
MEASURED_S = 20.0


def read_for(fd, seconds):
    """Read what the program writes for so many seconds; return how many bytes."""
    end, count = time.monotonic() + seconds, 0
    while (left := end - time.monotonic()) > 0:
        if select.select([fd], [], [], left)[0]:
            try:
                count += len(os.read(fd, 65536))
            except OSError:  # the program has ended
                break
    return count


def cpu_s(pid):
    """Return the processor time of a process so far in seconds (Linux)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main():
    """Measure and print."""
    columns, rows = map(int, (sys.argv[1] if len(sys.argv) > 1 else "200x60").split("x"))
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "hall.toml"
        program.write_text(PROGRAM)
        pid, fd = pty.fork()
        if pid == 0:
            os.environ |= {"HOLDTIMER_DATA": folder, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
            command = [sys.executable, "-m", "holdtimer", "run", str(program), "--sound", "off"]
            os.execv(sys.executable, command)
        fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        for wait in (5.0, 4.0):  # the cautions, then ready
            read_for(fd, wait)
            os.write(fd, b" ")
        read_for(fd, 8.0)
        before = cpu_s(pid)
        count = read_for(fd, MEASURED_S)
        share = (cpu_s(pid) - before) / MEASURED_S
        os.write(fd, b" ")
        at_failure = read_for(fd, 1.0)
        os.write(fd, b"\x11")
        read_for(fd, 2.0)
        os.waitpid(pid, 0)
        print(
            f"{columns}x{rows}: {share:.1%} of a core, {count / MEASURED_S / 1024:.1f} KiB/s in work, "
            f"{at_failure / 1024:.0f} KiB in the second of a failure"
        )


if __name__ == "__main__":
    main()
