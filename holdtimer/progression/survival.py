"""Times of which some are only known to be longer: the product-limit curve and its median.

Source: Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc
1958;53:457-481. At equal times failures come before times that are only known to be longer.
"""

from collections.abc import Iterable
from itertools import groupby
from operator import itemgetter

_HALF = 0.5 + 1e-12  # the product of fractions may miss one half by rounding


def survival(times: Iterable[tuple[float, bool]]) -> list[tuple[float, float]]:
    """Return (seconds, share that lasted longer) at each failure; `times` are (seconds, failed)."""
    ordered = sorted(times)
    at_risk, share, steps = len(ordered), 1.0, []
    for time, group in groupby(ordered, key=itemgetter(0)):
        here = [failed for _, failed in group]
        if any(here):
            share *= 1 - sum(here) / at_risk
            steps.append((time, share))
        at_risk -= len(here)
    return steps


def median(times: Iterable[tuple[float, bool]]) -> float | None:
    """Return the time that half of them do not outlast; None where that isn't reached."""
    return next((time for time, share in survival(times) if share <= _HALF), None)
