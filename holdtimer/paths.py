"""Where things lie: the settings, and the bundled programs and sounds.

The bundled ones are beside the package in a checkout, inside it in a wheel.
"""

import os
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


def config_path() -> Path:
    """Return where the settings are: HOLDTIMER_CONFIG, else the platform's folder for settings."""
    named = os.environ.get("HOLDTIMER_CONFIG")
    if named:
        return Path(named).expanduser()
    from platformdirs import user_config_path

    return user_config_path("holdtimer", appauthor=False) / "config.toml"
