"""Files of strangers: of each kind a good one, and how it is read, from bytes to the last word said of it.

Reading may refuse a file in words; anything else that is raised is a fault of ours.
"""

import json
import re
import tempfile
import zlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from holdtimer.cli.check import describe, warnings
from holdtimer.cli.paths import remembered
from holdtimer.config import keep, read_config
from holdtimer.errors import HoldtimerError
from holdtimer.log.csv_file import csv_text, read_sheet
from holdtimer.log.csv_tests import is_of_tests, read_tests
from holdtimer.log.lines import encode
from holdtimer.log.session_log import parse
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.progression.due import due
from holdtimer.progression.trend import trend
from holdtimer.report.due import due_blocks, due_to_json
from holdtimer.report.session import program_of, report_on
from holdtimer.report.table import UNICODE, text_lines
from holdtimer.report.trend import trend_blocks, trend_to_json
from holdtimer.session import events as ev
from holdtimer.session.paper import plan_import
from holdtimer.session.paper_trials import plan_tests
from holdtimer.session.summary import summarize
from tests.invented.programs import HALL

NOW = datetime(2026, 11, 26, 12, tzinfo=UTC)
PROGRAM = loads(HALL, "hall.toml").program
_SEAL = re.compile(rb',"crc":"[0-9a-f]{8}"\}$')
_PLACE = {"set": 1, "exercise": "wall-sit", "side": "both"}


def sealed(line: bytes) -> bytes:
    """Return a line with the checksum that is right for it."""
    body = _SEAL.sub(b"", line).removesuffix(b"}")
    return b'%b,"crc":"%08x"}\n' % (body, zlib.crc32(body))


def _log() -> bytes:
    opened = {"session": "20261124T090738Z-1a2b3c4d", "person": "Ada", "program": "hall", "script": "A"}
    events = [
        ev.Opened(n=0, t=0, program_text=HALL, **opened),
        ev.Anchor(n=1, t=0, why="opening", mono_ns=5, wall="2026-11-24T09:07:38.250Z", offset_s=3600),
        ev.Ready(n=2, t=3.5),
        ev.CountIn(n=3, t=3.5, part=0, seconds=3, **_PLACE),
        ev.WindowOpen(n=4, t=6.5, rung="half way", window_s=60, band_s=(30, 60), **_PLACE),
        ev.Failure(n=5, t=46.5, at=40.0, late_ms=0.25, **_PLACE),
        ev.ReEntry(n=6, t=50.5, at=44.0, late_ms=0.25, **_PLACE),
        ev.TakenBack(n=7, t=52.0, at=45.5, of=6, **_PLACE),
        ev.WindowClosed(n=8, t=66.5, at=60, **_PLACE),
        ev.Stopped(n=9, t=70.0, reason="symptom", scope="session"),
        ev.Answer(n=10, t=71, id="a1", field="moved", value=41.0, set=1, of=5),
        ev.Answer(n=11, t=72, id="a2", field="effort", value=8, set=1),
        ev.PaperResult(
            n=12,
            t=0,
            rung="low",
            window_s=60,
            band_s=(30, 60),
            started="2026-11-20",
            date_only=True,
            **_PLACE,
        ),
        ev.Closed(n=13, t=120, reason="stopped"),
    ]
    return b"".join(encode(each) for each in events)


def read_log(data: bytes) -> None:
    """Read lines as one log, each with a right checksum, and say all there is to say of it."""
    content = b"".join(sealed(line) for line in data.splitlines())
    log = parse(Path("20261124T090738Z-1a2b3c4d.jsonl"), content)
    if log.opened is None:
        return
    session = summarize(log.state(), ())
    if session is None:
        return
    for program in (PROGRAM, program_of(log.opened.program_text, log.session)):
        report = report_on(session, (), program)
        json.dumps([*report.lines(), report.to_json()], allow_nan=False)
        if program is None:
            continue
        coming, found = due(program, (session,), NOW), trend(program, (session,), NOW)
        json.dumps(
            [*text_lines(due_blocks(coming, program), 80, UNICODE), due_to_json(coming)], allow_nan=False
        )
        json.dumps(
            [*text_lines(trend_blocks(found, program), 80, UNICODE), trend_to_json(found)], allow_nan=False
        )
    if session.started is not None:
        csv_text([session])


def read_program(data: bytes) -> None:
    """Read a program, describe it, and compile each of its scripts."""
    with suppress(HoldtimerError, UnicodeDecodeError):
        loaded = loads(data.decode(), "f.toml")
        describe(loaded.program)
        warnings(loaded)
        for script in loaded.program.scripts:
            compile_script(loaded.program, script.id)


def read_csv(data: bytes) -> None:
    """Read a table of sets or of function tests, and plan its import."""
    if is_of_tests(data):
        plan_tests(read_tests(data, "paper.csv", UTC).rows, (), NOW)
    else:
        plan_import(read_sheet(data, "paper.csv", UTC).rows, (), PROGRAM, NOW)


def _at(name: str, read: Callable[[Path], object]) -> Callable[[bytes], None]:
    """Return how the bytes of a file of this name are read."""

    def reading(data: bytes) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, name)
            path.write_bytes(data)
            read(path)

    return reading


def _settings(path: Path) -> None:
    for person in ("Ada", "zed"):
        with suppress(HoldtimerError):
            read_config(person, path, whole=True)
    with suppress(HoldtimerError):
        keep("Ada", "guard_s", 1.0, path)
        read_config("Ada", path)


@dataclass(frozen=True)
class Kind:
    """A good file of a kind, and how it is read."""

    good: bytes
    read: Callable[[bytes], None]


KINDS = {
    "log": Kind(_log(), read_log),
    "program": Kind(HALL.encode(), read_program),
    "csv": Kind(
        b"started,ended,exercise,side,rung,first_failure_s,ran_to_end,stopped,pain,note\n"
        b"2026-05-12 18:40,2026-05-12T19:10+02:00,wall-sit,both,low,1:02.5,no,symptom,yes,'=1\n",
        read_csv,
    ),
    "tests": Kind(
        b"started,test,protocol,variant,seat_cm,lane_m,aid,trial,trials,stands,seconds,speed_m_s,able,off_day\n"
        b"2026-05-12,stand,chair-stand-30,hands,46,,,1,1,9,,,yes,no\n"
        b"2026-05-12 10:00,'=1,timed-walk,,,6.0,one stick,2,2,,1:02.5,0.8,,x\n",
        read_csv,
    ),
    "settings": Kind(
        b'volume = 0.5\nnot_taps = ["f5"]\ntheme = "daylight"\n[people.Ada]\nguard_s = 0.9\n',
        _at("config.toml", _settings),
    ),
    "remembered": Kind(
        b'{"person": "Ada", "program": "hall"}', _at("remembered.json", lambda path: remembered(path.parent))
    ),
}
