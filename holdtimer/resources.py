"""Where the bundled programs and sounds are: beside the package in a checkout, inside it in a wheel."""

from pathlib import Path

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
