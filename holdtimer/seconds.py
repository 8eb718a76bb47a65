"""Seconds as a person reads them: the one place where they are rounded, always down.

Nobody failed at 9 s who failed at 8.7 s, and nothing is rounded up across a limit: a second has been reached
or it has not. Only what is still left counts up to the next second, so that 0 is the end itself.
"""

_GRAIN = 1e-6  # what floating point may lack of a whole number
_MINUTES_FROM = 100  # below it a clock shows seconds alone


def whole_seconds(seconds: float) -> int:
    """Return the whole seconds that have passed."""
    return int(seconds + _GRAIN)


def tenths(seconds: float) -> str:
    """Return seconds to the tenth that has been reached, at least 0.1: "0.6 s"."""
    return f"{max(1, int(seconds * 10 + _GRAIN)) / 10:.1f} s"


def clock(seconds: float) -> str:
    """Return whole seconds as a clock shows them, as m:ss from 100 s on: "65", "1:45"."""
    whole = whole_seconds(seconds)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= _MINUTES_FROM else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left as a clock shows them, up to the next whole one."""
    return clock(max(0, -int(-(seconds - _GRAIN) // 1)))


def with_unit(shown: str) -> str:
    """Return what a clock shows with its unit, where it has no minutes: "65 s", "1:45"."""
    return shown if ":" in shown else f"{shown} s"


def in_seconds(seconds: float) -> str:
    """Return whole seconds with their unit: "65 s", "1:45"."""
    return with_unit(clock(seconds))


def at_least(seconds: float) -> str:
    """Return seconds that may have been more, as few as are certain: "90+ s", "2:00+"."""
    return with_unit(f"{clock(seconds)}+")


def two_times(first: float, between: str, second: float) -> str:
    """Return two times, the unit said once where both have it: "60 to 85 s", "65 s to 1:45"."""
    one, other = clock(first), clock(second)
    return f"{one if ':' not in other else with_unit(one)} {between} {with_unit(other)}"
