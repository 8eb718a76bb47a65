"""How long a hold would last at another load, from the last results of one exercise and side.

The model: ln T = a + k ln L + e, with T in seconds, L the load in any unit, and e normal with sd 0.15, the
day-to-day noise of one set. The prior of k is normal round the published exponent of the joint with sd 0.3,
kept within -3 and -1.3; that of a is flat, so that the unit of the load and the strength of the person tell
nothing beforehand. A failure enters by its density; a run to the end by the probability of lasting longer
than its window, never as a number. The estimate is the maximum a posteriori.

Ranges are central 80 % of the next result: the noise of that set plus what is not known of a and k, taken
from the curvature at the maximum (Laplace's approximation). Where k is held at one of its limits the
curvature is still counted in full, so the range is rather too wide than too narrow.

Sources: exponents as in `holdtimer.program.endurance`; censored normal likelihood: Tobin J. Econometrica
1958;26:24-36.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

NOISE_SD = 0.15  # of ln T, from day to day
EXPONENT_SD = 0.3
EXPONENT_LIMITS = (-3.0, -1.3)
SHORTEST_S = 1.0  # a stamp at the very start has no logarithm

_Z80 = 1.2815515655446004  # the central 80 % of a normal lie within this many sd
_FAR = 20.0  # from here the normal tail is taken from its asymptotic series
_STEPS = 200


@dataclass(frozen=True, slots=True)
class Trial:
    """One result at a load: failed at `seconds`, or lasted at least that long."""

    load: float
    seconds: float
    failed: bool


@dataclass(frozen=True, slots=True)
class Prediction:
    """ln T = level + exponent (ln L - centre), with the variances of the two and their covariance."""

    level: float
    exponent: float
    centre: float
    level_var: float
    exponent_var: float
    covariance: float

    def seconds(self, load: float) -> float:
        """Return the middle time to failure at a load, in seconds."""
        return math.exp(self._log_seconds(load))

    def expected_s(self, load: float) -> tuple[float, float, float]:
        """Return the central 80 % of the next result at a load and its middle: low, middle, high seconds."""
        x = math.log(load) - self.centre
        known = self.level_var + 2 * x * self.covariance + x * x * self.exponent_var
        reach = _Z80 * math.sqrt(NOISE_SD**2 + known)
        middle = self._log_seconds(load)
        return math.exp(middle - reach), math.exp(middle), math.exp(middle + reach)

    def _log_seconds(self, load: float) -> float:
        return self.level + self.exponent * (math.log(load) - self.centre)


def predict(trials: Iterable[Trial], exponent: float) -> Prediction | None:
    """Return the most probable line through the trials; None where none of them is a failure.

    `exponent` is the published one of the joint, the centre of the prior.
    """
    posterior = _Posterior(tuple(trials), exponent)
    if not any(trial.failed for trial in posterior.trials):
        return None
    a, k = posterior.maximum()
    _, haa, hak, hkk = posterior.curvature(a, k)
    determinant = haa * hkk - hak * hak
    return Prediction(a, k, posterior.centre, hkk / determinant, haa / determinant, -hak / determinant)


class _Posterior:
    """The negative log posterior of (a, k): convex, so Newton's way downhill ends at its one minimum."""

    def __init__(self, trials: tuple[Trial, ...], exponent: float) -> None:
        self.trials = trials
        self.exponent = exponent
        logs = [math.log(trial.load) for trial in trials]
        self.centre = sum(logs) / len(logs) if logs else 0.0
        self._points = [
            (x - self.centre, math.log(max(trial.seconds, SHORTEST_S)), trial.failed)
            for x, trial in zip(logs, trials, strict=True)
        ]

    def maximum(self) -> tuple[float, float]:
        """Return the most probable (a, k); where k leaves its limits, the best a with k at the limit."""
        failures = [y for _, y, failed in self._points if failed]
        a, k = self._descend(sum(failures) / len(failures), self.exponent, k_is_free=True)
        low, high = EXPONENT_LIMITS
        if low <= k <= high:
            return a, k
        return self._descend(a, min(max(k, low), high), k_is_free=False)

    def cost(self, a: float, k: float) -> float:
        """Return the negative log posterior, but for a constant."""
        total = ((k - self.exponent) / EXPONENT_SD) ** 2 / 2
        for x, y, failed in self._points:
            z = (y - a - k * x) / NOISE_SD
            total += z * z / 2 if failed else -_log_tail(z)
        return total

    def curvature(self, a: float, k: float) -> tuple[tuple[float, float], float, float, float]:
        """Return the gradient and the second derivatives (aa, ak, kk)."""
        ga, gk = 0.0, (k - self.exponent) / EXPONENT_SD**2
        haa, hak, hkk = 0.0, 0.0, 1 / EXPONENT_SD**2
        for x, y, failed in self._points:
            z = (y - a - k * x) / NOISE_SD
            slope = z if failed else _hazard(z)
            bend = 1.0 if failed else slope * (slope - z)
            ga, gk = ga - slope / NOISE_SD, gk - slope * x / NOISE_SD
            bend /= NOISE_SD**2
            haa, hak, hkk = haa + bend, hak + bend * x, hkk + bend * x * x
        return (ga, gk), haa, hak, hkk

    def _descend(self, a: float, k: float, *, k_is_free: bool) -> tuple[float, float]:
        cost = self.cost(a, k)
        for _ in range(_STEPS):
            (ga, gk), haa, hak, hkk = self.curvature(a, k)
            if k_is_free:
                determinant = haa * hkk - hak * hak
                da, dk = (hak * gk - hkk * ga) / determinant, (hak * ga - haa * gk) / determinant
            else:
                da, dk = -ga / haa, 0.0
            share = 1.0
            while share > 1e-12 and self.cost(a + share * da, k + share * dk) > cost:
                share /= 2
            a, k = a + share * da, k + share * dk
            cost = self.cost(a, k)
            if abs(da) + abs(dk) < 1e-12 or share <= 1e-12:
                break
        return a, k


def _log_tail(z: float) -> float:
    """Return ln P(Z > z) of a standard normal."""
    if z < _FAR:
        return math.log(math.erfc(z / math.sqrt(2)) / 2)
    return -z * z / 2 - math.log(z * math.sqrt(2 * math.pi)) + math.log1p(-1 / z**2 + 3 / z**4)


def _hazard(z: float) -> float:
    """Return the density over the tail probability of a standard normal."""
    return math.exp(-z * z / 2 - math.log(2 * math.pi) / 2 - _log_tail(z))
