"""The clocks of the machine read at one instant, and wall times worked out from such readings."""

import os
import re
import sys
import time
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from pathlib import Path
from typing import NamedTuple, Protocol
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from holdtimer.log.folder import started_at
from holdtimer.session.events import Anchor, AnyEvent, Opened

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_LOCALTIME = Path("/etc/localtime")
_TIMEZONE = Path("/etc/timezone")
_ZONE = re.compile(r"UTC|[A-Z][A-Za-z_]+(/[A-Za-z0-9_+-]+)+")
_NS = 1e-9


class Reading(NamedTuple):
    """All clocks at one instant; the fields are those of an `anchor` event.

    `mono_ns` is the steady clock that stamps are taken by, `boottime_ns` one that goes on while the machine
    sleeps (None where there is none), `wall` UTC in ISO 8601 to the millisecond, `offset_s` local time minus
    UTC, `zone` the IANA name and `boot_id` the run of the system, None where they cannot be told.
    """

    mono_ns: int
    boottime_ns: int | None
    wall: str
    offset_s: int
    zone: str | None
    boot_id: str | None


class Clocks(Protocol):
    """What two readings are compared by: a `Reading` or an `anchor` event."""

    @property
    def mono_ns(self) -> int:
        """The steady clock."""

    @property
    def boottime_ns(self) -> int | None:
        """The clock that goes on in sleep."""

    @property
    def wall(self) -> str:
        """UTC in ISO 8601."""

    @property
    def boot_id(self) -> str | None:
        """The run of the system."""


def take_anchor() -> Reading:
    """Return the reading of all clocks now."""
    mono_ns, boot_ns, now = _steady_ns(), boottime_ns(), time.time()
    return Reading(
        mono_ns=mono_ns,
        boottime_ns=boot_ns,
        wall=datetime.fromtimestamp(now, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
        offset_s=time.localtime(now).tm_gmtoff,
        zone=_zone(),
        boot_id=_first_line(_BOOT_ID),
    )


def local_zone() -> tzinfo:
    """Return the zone of this machine: where it can be told the IANA one, which knows of clock changes."""
    with suppress(ZoneInfoNotFoundError, ValueError):
        name = _zone()
        if name:
            return ZoneInfo(name)
    return datetime.now().astimezone().tzinfo or UTC


def local_now() -> datetime:
    """Return the present in the zone of this machine."""
    return datetime.now(local_zone())


def wall_time(events: Iterable[AnyEvent], t: float) -> datetime:
    """Return the wall time, with its offset, of the instant `t` seconds into a session.

    It derives from the last anchor at or before `t`, since only just before an anchor may the steady clock
    have stood still; before the first one from the first, and with none at all from the session's id (to
    the second, in UTC). The seconds of a rehearsal are shorter by its speed. ValueError where that tells no
    time either.
    """
    events = tuple(events)
    speed = next((event.speed for event in events if isinstance(event, Opened)), 1.0)
    known = [(event.t, moment) for event in events if isinstance(event, Anchor) if (moment := _moment(event))]
    start = (0.0, _from_id(events)) if not known else known[0]
    at, moment = max((each for each in known if each[0] <= t), key=lambda each: each[0], default=start)
    try:
        return moment + timedelta(seconds=(t - at) / speed)
    except OverflowError as error:
        raise ValueError("the session tells no wall time") from error


def elapsed_between(earlier: Clocks, later: Clocks) -> float:
    """Return the seconds the world went on between two readings, sleep included, never below 0.

    By the clock that goes on in sleep where both come from one run of the system, else by the wall clock.
    ValueError where neither can be read.
    """
    if _same_boot(earlier, later) and earlier.boottime_ns is not None and later.boottime_ns is not None:
        return max(0.0, (later.boottime_ns - earlier.boottime_ns) * _NS)
    return max(0.0, (_utc(later.wall) - _utc(earlier.wall)).total_seconds())


def gap_between(earlier: Clocks, later: Clocks) -> float:
    """Return the seconds between two readings that the steady clock did not count, never below 0.

    The whole time between them where the system was started anew. ValueError as `elapsed_between`.
    """
    counted = (later.mono_ns - earlier.mono_ns) * _NS if _same_boot(earlier, later) else 0.0
    return max(0.0, elapsed_between(earlier, later) - counted)


def _same_boot(earlier: Clocks, later: Clocks) -> bool:
    return earlier.boot_id == later.boot_id and earlier.mono_ns <= later.mono_ns


def _moment(anchor: Anchor) -> datetime | None:
    """Return the local time of an anchor, None where a stranger wrote none that can be read."""
    try:
        return _utc(anchor.wall).astimezone(timezone(timedelta(seconds=anchor.offset_s)))
    except (ValueError, OverflowError):
        return None


def _utc(wall: str) -> datetime:
    moment = datetime.fromisoformat(wall)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def _from_id(events: tuple[AnyEvent, ...]) -> datetime:
    opened = next((event for event in events if isinstance(event, Opened)), None)
    start = started_at(opened.session) if opened else None
    if start is None:
        raise ValueError("the session tells no wall time")
    return start


if sys.platform == "win32":

    def _steady_ns() -> int:
        return time.perf_counter_ns()  # the monotonic clock steps by 15.6 ms there before Python 3.13

    def boottime_ns() -> int | None:
        """Return the clock that goes on while the machine sleeps; None where there is none."""
        return None
else:

    def _steady_ns() -> int:
        return time.monotonic_ns()

    def boottime_ns() -> int | None:
        """Return the clock that goes on while the machine sleeps; None where there is none."""
        # CLOCK_MONOTONIC counts sleep on macOS, where Python's own monotonic clock does not
        clock = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC if sys.platform == "darwin" else None)
        return None if clock is None else time.clock_gettime_ns(clock)


def _zone() -> str | None:
    for name in (os.environ.get("TZ"), _linked_zone(), _first_line(_TIMEZONE)):
        name = (name or "").removeprefix(":")
        if _ZONE.fullmatch(name):
            return name
    return None


def _linked_zone() -> str | None:
    with suppress(OSError):
        _, found, name = str(_LOCALTIME.resolve()).partition("/zoneinfo/")
        return name if found else None
    return None


def _first_line(path: Path) -> str | None:
    with suppress(OSError, UnicodeDecodeError), path.open(encoding="ascii") as file:
        return file.readline(200).strip() or None
    return None
