"""How exactly sounds start, and what mixing costs. Run by hand, on Linux with PulseAudio installed.

    python -m tests.bench.bench_sound [TONES]

Starts a sound server of its own in a folder of its own, with a sink that leads nowhere, schedules sounds on
every player there is in turn, records what the sink was given, and finds each sound in it. The time of a
sample in the record is known up to a constant, so the spread of the starts is told, and not their delay.
"""

import gc
import itertools
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy as np
from scipy.signal import correlate

from holdtimer.errors import SoundError
from holdtimer.files import sounds_folder
from holdtimer.sound.devices import Mixer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import Pace
from holdtimer.sound.players import ORDER, WorkerPlayer, require
from holdtimer.sound.samples import RATE, read_all

SOUND = Sound.COUNT_IN
GOALS_MS = {"miniaudio": 0.5, "simpleaudio": 3.0}
SETUP = """
load-module module-native-protocol-unix auth-anonymous=1 socket={folder}/native
load-module module-null-sink sink_name=nowhere rate=48000 channels=2 format=s16le
set-default-sink nowhere
"""
SERVER = (
    "pulseaudio -n -F {folder}/setup.pa --exit-idle-time=-1 --daemonize=no --disallow-exit "
    "--realtime=no --high-priority=no --use-pid-file=no"
)
RECORD = "parec -d nowhere.monitor --rate=48000 --channels=1 --format=s16le --latency-msec=5 --raw"


@contextmanager
def sound_server() -> Iterator[None]:
    """Run a private sound server, and let this process and those it starts know no other."""
    folder = Path(tempfile.mkdtemp(prefix="holdtimer-bench-"))
    (folder / "setup.pa").write_text(SETUP.format(folder=folder))
    private = {"HOME": str(folder), "XDG_RUNTIME_DIR": str(folder), "PULSE_SERVER": f"unix:{folder}/native"}
    os.environ.update(private)
    server = subprocess.Popen(SERVER.format(folder=folder).split(), stderr=subprocess.DEVNULL)
    try:
        while not (folder / "native").exists():
            time.sleep(0.05)
        yield
    finally:
        server.terminate()
        server.wait()
        shutil.rmtree(folder)


class Record:
    """What the sink is given, with the time each piece arrived."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []
        self._arrivals: list[tuple[int, float]] = []
        self._program = subprocess.Popen(RECORD.split(), stdout=subprocess.PIPE)
        self._thread = threading.Thread(target=self._listen)
        self._thread.start()
        while not self._arrivals:
            time.sleep(0.05)

    def _listen(self) -> None:
        count = 0
        while piece := os.read(self._program.stdout.fileno(), 65536):
            count += len(piece) // 2
            self._pieces.append(piece)
            self._arrivals.append((count, time.monotonic()))

    def stop(self) -> tuple[np.ndarray, float]:
        """Return the samples and when the first of them was due, by the earliest arrivals."""
        self._program.terminate()
        self._thread.join()
        self._program.stdout.close()
        self._program.wait()
        samples = np.frombuffer(b"".join(self._pieces), dtype=np.int16).astype(float)
        return samples, min(at - count / RATE for count, at in self._arrivals)


def start_in(record: np.ndarray, begin: float, due: float, template: np.ndarray) -> float:
    """Return how late a sound due at `due` starts in the record, in ms, by where it correlates best."""
    low = round((due - begin - 0.15) * RATE)
    piece = record[low : low + round(0.3 * RATE) + len(template)]
    return (np.argmax(correlate(piece, template, "valid")) / RATE + low / RATE + begin - due) * 1000


def _play(name: str, tones: int) -> list[float]:
    """Have a player play every so often; return when its sounds were due."""
    player = WorkerPlayer(name, Pace(time.monotonic))
    player.open()
    dues = list(itertools.accumulate(random.uniform(0.4, 0.5) for _ in range(tones)))
    begin = time.monotonic() + 1.0
    for due in dues:
        time.sleep(max(0.0, begin + due - 0.2 - time.monotonic()))
        player.schedule(SOUND, begin + due)
    time.sleep(1.0)
    player.close()
    time.sleep(1.0)
    return [begin + due for due in dues]


def _players() -> Iterator[str]:
    for name in ORDER[:2]:
        with suppress(SoundError):
            require(name)
            yield name


def bench_starts(tones: int) -> None:
    """Print the spread of the starts, player by player."""
    with sound_server():
        record = Record()
        dues = {name: _play(name, tones) for name in _players()}
        samples, begin = record.stop()
    template = np.array(read_all(sounds_folder())[SOUND], dtype=float)
    for name, times in dues.items():
        late = np.array([start_in(samples, begin, due, template) for due in times])
        line = np.polyval(np.polyfit(times, late, 1), times)
        print(
            f"{name:12} {len(late)} sounds: spread sd {np.std(late):.3f} ms (goal {GOALS_MS[name]}), "
            f"worst from their line {np.max(np.abs(late - line)):.3f} ms, middle {np.median(late):+.2f} ms"
        )


def bench_mixing(voices: int, blocks: int = 2000, frames: int = 960) -> None:
    """Print what one block of 20 ms costs with so many sounds at once."""
    samples = read_all(sounds_folder())[Sound.WINDOW_OVER]
    mixer = Mixer(lambda: mixer.frames / RATE)
    costs = []
    gc.disable()
    for number in range(blocks):
        if number % (len(samples) // frames) == 0:
            for _ in range(voices):
                mixer.add(samples, 0.0 if number == 0 else mixer.frames / RATE)
        start = time.perf_counter()
        mixer.block(frames)
        costs.append((time.perf_counter() - start) * 1000)
    gc.enable()
    middle, high = np.percentile(costs, [50, 99])
    print(f"mixing {voices} at once: middle {middle:.3f} ms, 99 in 100 under {high:.3f} ms of 20 ms")


if __name__ == "__main__":
    for count in (0, 1, 2, 4):
        bench_mixing(count)
    bench_starts(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
