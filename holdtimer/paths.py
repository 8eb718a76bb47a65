"""Where things lie: the settings, and the bundled programs and sounds.

The bundled ones are beside the package in a checkout, inside it in a wheel.
"""

import os
from pathlib import Path

from holdtimer.errors import BadInputError

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
        words = "nobody of that name has a home here; begin with / or with ~/"
        raise BadInputError(f"{named}: {words}") from None


def config_path() -> Path:
    """Return where the settings are: HOLDTIMER_CONFIG, else the platform's folder for settings."""
    named = os.environ.get("HOLDTIMER_CONFIG")
    if named:
        return from_home(named)
    from platformdirs import user_config_path

    return user_config_path("holdtimer", appauthor=False) / "config.toml"
