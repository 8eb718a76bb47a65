"""Times of which some are only known to be longer: their median, and how fast they change from week to week.

The product-limit curve: Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat
Assoc 1958;53:457-481. At equal times failures come before times that are only known to be longer.

The change, by maximum likelihood: ln T = x b + e, e normal with a standard deviation that is estimated too:
the log-normal accelerated failure time model, which is the censored normal regression of Tobin (Econometrica
1958;26:24-36) on ln T. It is fitted in the form b/s, 1/s, in which the likelihood has one maximum (Olsen RJ.
Econometrica 1978;46:1211-1215); standard errors are from the observed information. With few results they are
too small, so they are scaled to the failures that the line has to spare, as the residual variance of least
squares is, and held against Student's t (Student. Biometrika 1908;6:1-25). NumPy and SciPy are loaded on
first use, here and nowhere else.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LEAST_SD = 0.01  # of ln T: stamps are no more regular than this
_ROUNDING = 1e-12  # a product of fractions may miss one half by so much
_WILD = 1.0  # a standard error of ln T per week beyond which nothing is known


@dataclass(frozen=True, slots=True)
class Fit:
    """Coefficients with their covariance, the standard deviation of ln T, and the log likelihood of T."""

    coefficients: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    sd: float
    log_likelihood: float


@dataclass(frozen=True, slots=True)
class Change:
    """Change of ln T per week with the ends of its 95 % interval, and how likely chance would give as much.

    `chance` is two-sided. All four come from one t distribution: `chance` is below 0.05 where the interval
    leaves out no change, and only there.
    """

    per_week: float
    low: float
    high: float
    chance: float

    @property
    def percent(self) -> float:
        """Change of time per week in per cent."""
        return 100 * math.expm1(self.per_week)

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % interval of `percent`."""
        return 100 * math.expm1(self.low), 100 * math.expm1(self.high)


@dataclass(frozen=True, slots=True)
class Timed:
    """One result: weeks since the first, seconds, whether it failed, what the load adds to ln T, its group.

    `offset_sd` is how far the offsets of all results may be out together: the sd of one number, times what it
    would add here. `group` is the rung where loads are not known, the same for all where they are.
    """

    week: float
    seconds: float
    failed: bool
    offset: float
    group: int
    offset_sd: float = 0.0


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
    """Return the time that half of them do not outlast; None where that isn't reached.

    Where exactly half outlast a failure, any time up to the next one divides them: it is the middle of the
    two, as with an even number of plain times.
    """
    steps = [step for step in survival(times) if step[1] <= 0.5 + _ROUNDING]
    if len(steps) > 1 and steps[0][1] >= 0.5 - _ROUNDING:
        return (steps[0][0] + steps[1][0]) / 2
    return steps[0][0] if steps else None


def weekly_change(results: Sequence[Timed]) -> Change | None:
    """Return the change per week, None where the failures can't show it.

    A group with no failure fits any change, so it is left out. What remains has a maximum when the failures
    alone determine the line, with some to spare.
    """
    failing = sorted({each.group for each in results if each.failed})
    results = [each for each in results if each.group in failing]
    design = [[1.0, each.week, *(float(each.group == group) for group in failing[1:])] for each in results]
    failures = [row for row, each in zip(design, results, strict=True) if each.failed]
    if len(failures) <= len(failing) + 1 or not _determined(failures):
        return None
    logs = [math.log(max(each.seconds, 1.0)) - each.offset for each in results]
    fit = censored_normal(logs, [each.failed for each in results], design)
    spare = len(failures) - len(design[0])
    error = math.hypot(math.sqrt(fit.covariance[1][1] * len(failures) / spare), _slope_of_offsets(results))
    return _against_chance(fit.coefficients[1], error, spare) if error < _WILD else None


def censored_normal(logs: Sequence[float], failed: Sequence[bool], design: Sequence[Sequence[float]]) -> Fit:
    """Fit ln T on the columns of `design`; where `failed` is false, ln T is only known to be greater."""
    import numpy as np
    from scipy.optimize import minimize

    y, x, f = np.asarray(logs), np.asarray(design), np.asarray(failed, dtype=bool)
    start, *_ = np.linalg.lstsq(x, y, rcond=None)
    sd = max(float(np.std(y - x @ start)), 10 * LEAST_SD)
    found = minimize(
        _cost,
        np.append(start / sd, 1 / sd),
        args=(y, x, f),
        jac=True,
        method="L-BFGS-B",
        bounds=[(None, None)] * x.shape[1] + [(1e-3, 1 / LEAST_SD)],
        options={"ftol": 1e-15, "gtol": 1e-10, "maxiter": 10_000, "maxfun": 100_000},
    )
    scaled, precision = found.x[:-1], float(found.x[-1])
    covariance = _covariance(scaled, precision, y, x, f)
    return Fit(
        coefficients=tuple(float(each) for each in scaled / precision),
        covariance=tuple(tuple(float(each) for each in row) for row in covariance),
        sd=1 / precision,
        log_likelihood=-float(found.fun) - float(y[f].sum()) - f.sum() * math.log(2 * math.pi) / 2,
    )


def _cost(at: "Array", y: "Array", x: "Array", failed: "NDArray[np.bool_]") -> "tuple[float, Array]":
    """Return the negative log likelihood (but for a constant) at (b/s, 1/s), and its gradient."""
    import numpy as np
    from scipy.special import log_ndtr

    z = at[-1] * y - x @ at[:-1]
    slope = np.where(failed, z, _hazard(z))
    cost = np.where(failed, z * z / 2 - math.log(at[-1]), -log_ndtr(-z)).sum()
    return float(cost), np.append(-(slope @ x), slope @ y - failed.sum() / at[-1])


def _covariance(
    scaled: "Array", precision: float, y: "Array", x: "Array", failed: "NDArray[np.bool_]"
) -> "Array":
    """Return the covariance of b from the observed information of (b, ln s)."""
    import numpy as np

    z = precision * y - x @ scaled
    slope = np.where(failed, z, _hazard(z))
    bend = np.where(failed, 1.0, slope * (slope - z))
    bb = (x * bend[:, None]).T @ x * precision**2
    if precision >= 1 / LEAST_SD:
        return np.asarray(np.linalg.inv(bb))
    bs = (bend * z + slope) @ x * precision
    ss = np.where(failed, 2 * z * z, bend * z * z + slope * z).sum()
    return np.asarray(np.linalg.inv(np.block([[bb, bs[:, None]], [bs[None, :], ss]]))[:-1, :-1])


def _hazard(z: "Array") -> "Array":
    import numpy as np
    from scipy.special import log_ndtr

    return np.asarray(np.exp(-z * z / 2 - math.log(2 * math.pi) / 2 - log_ndtr(-z)))


def _slope_of_offsets(results: Sequence[Timed]) -> float:
    """Return the sd of the change per week that comes from the offsets: their own slope over the weeks."""
    import numpy as np

    return float(np.polyfit([each.week for each in results], [each.offset_sd for each in results], 1)[0])


def _against_chance(slope: float, error: float, spare: int) -> Change:
    from scipy.special import stdtr, stdtrit

    reach = float(stdtrit(spare, 0.975)) * error
    return Change(slope, slope - reach, slope + reach, 2 * float(stdtr(spare, -abs(slope) / error)))


def _determined(rows: Sequence[Sequence[float]]) -> bool:
    import numpy as np

    return int(np.linalg.matrix_rank(np.asarray(rows))) == len(rows[0])
