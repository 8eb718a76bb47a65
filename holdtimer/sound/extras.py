"""How what is left out of a plain installation is added."""


def how_to_add(extra: str) -> str:
    """Return in words how to install an extra: never by a name in a registry, where it may be anybody's."""
    return f"in the folder of holdtimer: pip install '.[{extra}]'"
