"""Where the settings and the bundled files are; small files, read without waiting and written whole.

The bundled ones are beside the package in a checkout, inside it in a wheel.
"""

import os
import stat
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from secrets import token_hex
from typing import TypeVar

from holdtimer.errors import BadInputError

_ALWAYS = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOINHERIT", 0) | getattr(os, "O_BINARY", 0)
_READ = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | _ALWAYS
_T = TypeVar("_T")
_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | _ALWAYS


def read_bounded(path: Path, limit: int, most: int | None = None) -> bytes:
    """Return a regular file of at most `limit` bytes, or its first `most`; OSError for anything else.

    Never waits: a pipe or a device in its place is refused.
    """
    with open(os.open(path, _READ), "rb") as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise OSError(0, "it is not a regular file")
        if status.st_size > limit:
            most_words = f"{limit // 1024**2} MB" if limit >= 1024**2 else f"{limit // 1000} kB"
            raise OSError(0, f"it is larger than {most_words}")
        size = status.st_size  # room is made for as much as is asked for
        return file.read(size if most is None else min(most, size))


def write_whole(path: Path, data: bytes) -> None:
    """Write a file for its owner alone, whole or not at all: what was there stays until all of it is on disk.

    A link at the path is replaced, not followed; resolve the path first to keep one. Raises OSError.
    """
    part = path.with_name(f".{token_hex(8)}.part")
    fd = os.open(part, _CREATE, 0o600)
    try:
        with open(fd, "wb") as file:
            if hasattr(os, "fchmod"):
                with suppress(OSError):  # a file system without modes
                    os.fchmod(fd, 0o600)  # the umask may have taken the owner's own rights
            file.write(data)
            file.flush()
            os.fsync(fd)
        part.replace(path)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise


def within(seconds: float, call: Callable[[], _T]) -> _T:
    """Return what a call returns that may ask a disk which never answers, or raise what it raises.

    After so many seconds it is left to itself: TimeoutError, which is an OSError too.
    """
    from concurrent.futures import Future

    answer: Future[_T] = Future()

    def ask() -> None:
        try:
            answer.set_result(call())
        except BaseException as error:  # raised where it is waited for
            answer.set_exception(error)

    threading.Thread(target=ask, name="holdtimer-disk", daemon=True).start()
    return answer.result(seconds)


_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    bundled = _PACKAGE / "bundled" / name
    return bundled if bundled.is_dir() else _PACKAGE.parent / name


def programs_folder() -> Path:
    """Return the folder of the bundled program files."""
    return _folder("programs")


def sounds_folder() -> Path:
    """Return the folder of the bundled sound files."""
    return _folder("sounds")


def from_home(named: str) -> Path:
    """Return a path with the home folder in place of `~`. Raises BadInputError where there is none."""
    try:
        return Path(named).expanduser()
    except RuntimeError:
        words = "there is no user of that name here; begin with / or with ~/"
        raise BadInputError(f"{named}: {words}") from None


def config_path() -> Path:
    """Return where the settings are: HOLDTIMER_CONFIG, else the platform's folder for settings."""
    named = os.environ.get("HOLDTIMER_CONFIG")
    if named:
        return from_home(named)
    from platformdirs import user_config_path

    return user_config_path("holdtimer", appauthor=False) / "config.toml"
