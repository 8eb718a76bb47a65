"""The clocks of the machine, read at one instant."""

import os
import re
import sys
import time
from contextlib import suppress
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_LOCALTIME = Path("/etc/localtime")
_TIMEZONE = Path("/etc/timezone")
_ZONE = re.compile(r"UTC|[A-Z][A-Za-z_]+(/[A-Za-z0-9_+-]+)+")


class Reading(NamedTuple):
    """All clocks at one instant; the fields are those of an `anchor` event.

    `mono_ns` is the steady clock that stamps are taken by, `boottime_ns` one that goes on while the machine
    sleeps (None where there is none), `wall` UTC in ISO 8601 to the millisecond, `offset_s` local time minus
    UTC, `zone` the IANA name and `boot_id` the run of the system, None where they are not known.
    """

    mono_ns: int
    boottime_ns: int | None
    wall: str
    offset_s: int
    zone: str | None
    boot_id: str | None


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
    """Return the zone of this machine: the IANA one where it is known, for it knows of clock changes."""
    with suppress(ZoneInfoNotFoundError, ValueError, OSError):
        name = _zone()
        if name:
            return ZoneInfo(name)
    return on_the_wall(datetime.now(UTC)).tzinfo or UTC


def on_the_wall(moment: datetime) -> datetime:
    """Return an aware time as the clocks of this machine show it, in UTC where its zone is none."""
    try:
        return moment.astimezone()
    except (ValueError, OverflowError):  # a zone of a day or more from UTC
        return moment.astimezone(UTC)


def local_now() -> datetime:
    """Return the present in the zone of this machine."""
    return datetime.now(local_zone())


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
