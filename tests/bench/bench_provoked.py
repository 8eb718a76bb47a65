"""What is hard to provoke in a test: a lost sound server, killed processes, a stepped clock, an hour led.

Run by hand: `python -m tests.bench.bench_provoked [NAME ...]`, every one of them when no name is given. Each
leads real sessions in terminals of its own and prints what came of it; it ends with an error where something
did not hold. The sound server is PulseAudio with a device that leads nowhere, known to this run alone; the
clock is stepped by libfaketime. Where one of them is missing, that is said.
"""

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from glob import glob
from pathlib import Path

from tests.bench.bench_stamps import PROGRAM, Session

FAKETIME = "/usr/lib/*/faketime/libfaketime.so.1"
HOUR_SPEED = 10  # an hour in six minutes
GROWTH_KB = 4096  # what a session of an hour may grow by
SHORT = (
    PROGRAM.replace("window_s = 600", "window_s = 60")
    .replace("[300, 600]", "[30, 60]")
    .replace("count_in_s = 3", "count_in_s = 3\nfinal_s = 20\nrest_s = 10")
)


class MissingError(Exception):
    """A program that this needs is not here."""


def check(holds: bool, words: str) -> None:
    """Print what was seen; end with an error where it does not hold."""
    print(f"    {'ok  ' if holds else 'NOT '} {words}", flush=True)
    if not holds:
        raise SystemExit(1)


@contextmanager
def session(plain: bool, program: str = SHORT, **more: object) -> Iterator[Session]:
    """Lead a session until its first window is open; `more` as for `Session`."""
    with tempfile.TemporaryDirectory() as folder:
        led = Session(Path(folder), plain, program, **more)  # type: ignore[arg-type]
        try:
            led.begin()
            led.wait_for("window-open")
            yield led
        finally:
            led.end()


def until(holds: Callable[[], bool], within_s: float) -> float:
    """Return how long it took (s) until it held; `within_s` where it never did."""
    began = time.monotonic()
    while not holds() and time.monotonic() < began + within_s:
        time.sleep(0.05)
    return min(time.monotonic() - began, within_s)


def children(pid: int) -> list[int]:
    """Return the processes that a process has begun."""
    found = []
    for path in glob("/proc/[0-9]*/stat"):
        try:
            fields = Path(path).read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == pid and fields[0] != "Z":
            found.append(int(path.split("/")[2]))
    return found


def is_alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


class SoundServer:
    """A sound server of this run's own, to be killed and started again."""

    def __init__(self, folder: Path) -> None:
        if shutil.which("pulseaudio") is None:
            raise MissingError("pulseaudio is not here")
        self._folder = folder
        setup = f"load-module module-native-protocol-unix auth-anonymous=1 socket={folder}/native\n"
        setup += "load-module module-null-sink sink_name=nowhere rate=48000 channels=2 format=s16le\n"
        (folder / "setup.pa").write_text(setup + "set-default-sink nowhere\n")
        (folder / ".asoundrc").write_text("pcm.!default pulse\nctl.!default pulse\n")
        self.env = {
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_SERVER": f"unix:{folder}/native",
            "HOME": str(folder),
        }
        self.start()

    def start(self) -> None:
        flags = ["--exit-idle-time=-1", "--daemonize=no", "--disallow-exit", "--realtime=no"]
        flags += ["--high-priority=no", "--use-pid-file=no"]
        command = ["pulseaudio", "-n", "-F", str(self._folder / "setup.pa"), *flags]
        (self._folder / "native").unlink(missing_ok=True)
        self._process = subprocess.Popen(command, env=os.environ | self.env, stderr=subprocess.DEVNULL)
        until((self._folder / "native").exists, 10)

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()
        (self._folder / "native").unlink(missing_ok=True)


def silences(led: Session) -> list[object]:
    """Return what the log says of silence: why, and None once sound was back."""
    return [event.get("why") for event in led.events() if event["ev"] == "silent"]


def sound_server() -> None:
    """The server killed in a window and started again: it is said, sound comes back, no tap is lost."""
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        try:
            with session(True, more=("--sound", "miniaudio"), env=server.env) as led:
                check(silences(led) == [], "sound at first")
                server.kill()
                lost = until(lambda: len(silences(led)) == 1, 20)
                check(lost < 20, f"said to be gone {lost:.1f} s after the server was killed: {silences(led)}")
                led.press()
                check(until(lambda: _count(led, "failure") == 1, 2) < 2, "a tap meanwhile is stamped")
                server.start()
                back = until(lambda: silences(led)[-1] is None, 60)
                check(back < 60, f"sound back {back:.1f} s after it was started again")
        finally:
            server.kill()


def player_killed() -> None:
    """The process that plays killed in a window: it is said, another takes over, no tap is lost."""
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        try:
            with session(False, more=("--sound", "miniaudio"), env=server.env) as led:
                before = children(led.pid)
                check(bool(before), f"{len(before)} process(es) beside the session")
                for pid in before:
                    os.kill(pid, signal.SIGKILL)
                led.press()
                check(until(lambda: _count(led, "failure") == 1, 2) < 2, "a tap right after it is stamped")
                took = until(lambda: silences(led)[-1:] == [None], 20)
                check(took < 20, f"sound back {took:.1f} s later: {silences(led)}")
        finally:
            server.kill()


def program_killed() -> None:
    """The program killed with -9: none of its processes stays."""
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        try:
            for plain in (True, False):
                with session(plain, more=("--sound", "miniaudio"), env=server.env) as led:
                    begun = children(led.pid)
                    os.kill(led.pid, signal.SIGKILL)
                    took = until(lambda begun=begun: not any(map(is_alive, begun)), 20)
                    check(bool(begun) and took < 20, f"{len(begun)} process(es) gone {took:.1f} s later")
        finally:
            server.kill()


def clock_stepped() -> None:
    """The wall clock stepped by hours, on and back, in a window: durations are as the person trained."""
    libraries = glob(FAKETIME)
    if not libraries:
        raise MissingError("libfaketime is not here")
    for plain in (True, False):
        with tempfile.TemporaryDirectory() as folder:
            offset = Path(folder) / "offset"
            offset.write_text("+5h")
            env = {
                "LD_PRELOAD": libraries[0],
                "FAKETIME_TIMESTAMP_FILE": str(offset),
                "FAKETIME_NO_CACHE": "1",
            }
            with session(plain, env=env | {"DONT_FAKE_MONOTONIC": "1"}) as led:
                opened = wall_of(str(led.events()[0]["session"]))
                check(opened > time.time() + 4 * 3600, "the wall clock is five hours ahead at first")
                written = []
                for step in ("-7h", "+9h", "+0"):
                    offset.write_text(step)
                    time.sleep(2.2)
                    written.append(led.press())
                until(lambda led=led: _count(led, "failure", "re-entry") == 3, 2)
                events = led.events()
                began = float(str(events[0]["mono_ns"])) / 1e9
                stamps = [float(str(e["t"])) + began for e in events if e["ev"] in ("failure", "re-entry")]
                worst = max((abs(a - b) for a, b in zip(stamps, written, strict=False)), default=9.0)
                check(len(stamps) == 3 and worst < 0.05, f"3 taps stamped, {worst * 1000:.1f} ms off at most")
                check(_count(led, "gap", "interrupted") == 0, "no gap, nothing broken off")


def wall_of(session: str) -> float:
    """Return when a session began by its id, as seconds since 1970."""
    return datetime.strptime(session[:16], "%Y%m%dT%H%M%S%z").timestamp()


def stopped() -> None:
    """SIGSTOP for 5 s in a window and in a rest: the window is broken off, no tap of the pause counts."""
    for plain in (True, False):
        with session(
            plain, re.sub(r"steps = .*", 'steps = [{exercise = "wall-sit"}, {exercise = "wall-sit"}]', SHORT)
        ) as led:
            time.sleep(1)
            led.press()
            until(lambda led=led: _count(led, "failure") == 1, 2)
            for place in ("window", "rest"):
                os.kill(led.pid, signal.SIGSTOP)
                time.sleep(5)
                led.press()
                os.kill(led.pid, signal.SIGCONT)
                gaps = 1 if place == "window" else 2
                took = until(lambda led=led, gaps=gaps: _count(led, "gap") == gaps, 5)
                check(took < 5, f"stopped in the {place}: seen {took:.1f} s after it went on")
                time.sleep(1)
            check(_count(led, "interrupted") == 1, "the window is broken off, once")
            check(
                _count(led, "failure", "re-entry", "late-tap", "confirmed") == 1, "no tap of the pause counts"
            )


def an_hour() -> None:
    """A session of an hour, ten times as fast: memory stays where it was."""
    steps = ", ".join(['{exercise = "wall-sit"}'] * 24)
    program = re.sub(r"steps = .*", f"steps = [{steps}]", SHORT)
    program = program.replace("window_s = 60", "window_s = 120").replace("[30, 60]", "[60, 120]")
    program = program.replace("rest_s = 10", 'rest_s = 27\nadvance = "auto"')
    for plain in (True, False):
        more = ("--sound", "off", "--speed", str(HOUR_SPEED))
        with session(plain, program, more=more) as led:
            sizes = []
            for n in range(1, 25):
                while _count(led, "window-open") < n:
                    time.sleep(0.05)
                time.sleep(7)
                led.press()
                sizes.append(_memory_kb(led.pid))
            settled, last = sizes[3], max(sizes[4:])
            words = f"{settled / 1024:.1f} MB after four sets, {last / 1024:.1f} MB at most later"
            check(last - settled < GROWTH_KB, f"{'plain' if plain else 'full screen'}: {words}")
            until(lambda led=led: _count(led, "failure") == 24, 3)
            check(_count(led, "failure") == 24, f"{_count(led, 'failure')} of 24 taps stamped")


def _count(led: Session, *names: str) -> int:
    return sum(event["ev"] in names for event in led.events())


def _memory_kb(pid: int) -> int:
    found = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) if found else 0


SCENARIOS = (sound_server, player_killed, program_killed, clock_stepped, stopped, an_hour)


def main() -> None:
    """Run those that are named, else all of them."""
    wanted = sys.argv[1:]
    for scenario in SCENARIOS:
        if not wanted or scenario.__name__ in wanted:
            print(f"{scenario.__name__}: {scenario.__doc__}", flush=True)
            try:
                scenario()
            except MissingError as missing:
                print(f"    left out: {missing}")


if __name__ == "__main__":
    main()
