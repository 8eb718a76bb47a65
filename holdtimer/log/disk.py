"""The few calls a log makes on the disk, and their failures in plain words."""

import errno
import io
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from holdtimer.files import read_bounded
from holdtimer.log.folder import make_private

_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_NO_FLUSH = frozenset({errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS})
_WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your disk quota is used up",
    errno.EFBIG: "the file cannot grow any further",
    errno.EROFS: "the folder is read-only",
    errno.EACCES: "the folder is read-only",
    errno.EPERM: "the folder is read-only",
    errno.EIO: "the disk reports an error",
    errno.ENXIO: "the disk is gone",
    errno.ENODEV: "the disk is gone",
    errno.ENOENT: "the folder is gone",
    errno.ENOTDIR: "the folder is gone",
    errno.ESTALE: "the file was moved or replaced",
    errno.ETIMEDOUT: "the disk does not answer",
    errno.EMFILE: "too many files are open",
    errno.ENFILE: "too many files are open",
}
_APPEND = (
    os.O_APPEND | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOINHERIT", 0) | getattr(os, "O_BINARY", 0)
)


def in_words(error: OSError) -> str:
    """Return a failed call in plain words."""
    return _WORDS.get(error.errno or 0) or f"the disk reports: {error.strerror or type(error).__name__}"


def is_full(error: OSError) -> bool:
    """Return whether the same file can take the rest once there is space again."""
    return error.errno in _FULL


class Disk:
    """What a log asks of the disk; every call may raise OSError."""

    def create(self, path: Path) -> int:
        """Create a new file, and missing folders, for their owner only; return its descriptor."""
        new_folders = make_private(path.parent)
        fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _APPEND, 0o600)
        if hasattr(os, "fchmod"):
            with suppress(OSError):  # a file system without modes
                os.fchmod(fd, 0o600)  # the umask may have taken the owner's own rights
        for folder in {path.parent, *(folder.parent for folder in new_folders)}:
            _flush_folder(folder)
        return fd

    def reopen(self, path: Path) -> tuple[int, int, bool]:
        """Open a file to append to; return its descriptor, its size, and whether it ends within a line."""
        fd = os.open(path, os.O_RDWR | _APPEND)
        size = os.lseek(fd, 0, os.SEEK_END)
        if not size:
            return fd, size, False
        os.lseek(fd, size - 1, os.SEEK_SET)
        return fd, size, os.read(fd, 1) != b"\n"

    def write(self, fd: int, data: bytes) -> int:
        """Append and return how many bytes were taken."""
        return os.write(fd, data)

    def flush(self, fd: int) -> None:
        """Return once all that was written would survive a loss of power, as far as the system can."""
        try:
            _flush(fd)
        except OSError as error:
            if error.errno not in _NO_FLUSH:  # a file system that cannot flush has done what it can
                raise

    def is_at(self, fd: int, path: Path, size: int) -> bool:
        """Return whether this is still the file at the path, and holds as many bytes."""
        try:
            there = os.stat(path)
        except FileNotFoundError:
            return False
        ours = os.fstat(fd)  # some network file systems number files afresh, so a link that is left will do
        return ours.st_size >= size and (os.path.samestat(ours, there) or ours.st_nlink > 0)

    def holds(self, path: Path, lines: Sequence[bytes]) -> bool:
        """Return whether the file at the path holds every one of these lines."""
        return set(io.BytesIO(read_bounded(path, sys.maxsize))).issuperset(lines)

    def close(self, fd: int) -> None:
        """Close the file."""
        os.close(fd)


if sys.platform == "darwin":
    import fcntl

    def _flush(fd: int) -> None:
        try:  # fsync alone leaves the data in the drive's own memory there
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
        except OSError:
            os.fsync(fd)
else:

    def _flush(fd: int) -> None:
        os.fsync(fd)


def _flush_folder(folder: Path) -> None:
    if sys.platform == "win32":  # which has no descriptor of a folder
        return
    with suppress(OSError):  # many file systems flush entries with the file or not at all
        fd = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)
