"""What censored times say of a few numbers, and of the next time: Bayes in plain Python, with no library.

ln T = x b + e, e normal. A failure enters by its density, a run to the end by the probability of lasting
longer than its window, never as a number (Tobin J. Econometrica 1958;26:24-36). b has a normal prior, the sd
of e a grid of values with weights of their own. For each sd the posterior of b is taken as normal round its
maximum (Laplace's approximation; Tierney L, Kadane JB. J Am Stat Assoc 1986;81:82-86): the sds share the
weight by how well they explain what happened. So what is unknown of b and of the sd widens every answer.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from operator import mul

SHORTEST_S = 1.0  # a stamp at the very start has no logarithm

_FAR = 20.0  # from here the normal tail is taken from its asymptotic series
_LEAST_SHARE = 1e-4
_STEPS = 60
_NEAR = 1e-4  # the step after one so short is as short as its square
_ROOT2 = math.sqrt(2)
_HALF_LOG_2PI = math.log(2 * math.pi) / 2

Vector = list[float]
Matrix = list[list[float]]


@dataclass(frozen=True, slots=True)
class Observation:
    """One result: its row of the design, seconds, and whether it failed then or lasted at least so long."""

    row: tuple[float, ...]
    seconds: float
    failed: bool


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held of b beforehand: normal round `mean` with this `precision` matrix, kept within `limits`.

    `sds` are the values the sd of e may take, each with its weight.
    """

    mean: tuple[float, ...]
    precision: tuple[tuple[float, ...], ...]
    limits: tuple[tuple[float, float], ...]
    sds: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Component:
    """The posterior of b for one sd of e: its mean, and the Cholesky factor of its precision.

    `evidence` is how well that sd explains the observations, a log likelihood but for a constant.
    """

    sd: float
    evidence: float
    mean: Vector
    lower: Matrix

    def variance_of(self, row: Sequence[float]) -> float:
        """Return the variance of `row` times b."""
        return sum([each * each for each in _forward(self.lower, row)])


@dataclass(frozen=True, slots=True)
class Mixture:
    """A mixture of normals: (weight, mean, sd) of each, the weights adding up to 1."""

    parts: tuple[tuple[float, float, float], ...]

    def below(self, value: float) -> float:
        """Return the probability of less than `value`."""
        return sum(weight * math.erfc((mean - value) / sd / _ROOT2) for weight, mean, sd in self.parts) / 2

    def quantile(self, share: float) -> float:
        """Return the value that this share lies below."""
        low = min(mean - 9 * sd for _, mean, sd in self.parts)
        high = max(mean + 9 * sd for _, mean, sd in self.parts)
        value = sum(weight * mean for weight, mean, _ in self.parts)
        for _ in range(_STEPS):
            miss = self.below(value) - share
            low, high = (low, value) if miss > 0 else (value, high)
            density = sum(
                weight / sd * math.exp(-(((value - mean) / sd) ** 2) / 2 - _HALF_LOG_2PI)
                for weight, mean, sd in self.parts
            )
            step = value - miss / density if density > 0 else math.inf
            step = step if low < step < high else (low + high) / 2
            if abs(step - value) < 1e-10:
                break
            value = step
        return value


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is held of b and the sd afterwards: a component for each sd, and the logarithm of its weight."""

    components: tuple[Component, ...]
    weights: tuple[float, ...]

    def given(self, evidence: Sequence[float]) -> "Posterior":
        """Return it with what else is known of the sds: more on the logarithm of each weight."""
        return replace(self, weights=tuple(a + b for a, b in zip(self.weights, evidence, strict=True)))

    def of(self, row: Sequence[float], *, noise: bool) -> Mixture:
        """Return what is known of `row` times b, or with `noise` of the next ln T there."""
        most = max(self.weights)
        shares = [math.exp(weight - most) for weight in self.weights]
        least = _LEAST_SHARE * sum(shares)
        total = sum(share for share in shares if share > least)
        parts = []
        for share, each in zip(shares, self.components, strict=True):
            if share > least:
                variance = each.variance_of(row) + (each.sd**2 if noise else 0.0)
                parts.append((share / total, _dot(row, each.mean), math.sqrt(variance)))
        return Mixture(tuple(parts))


def posterior(observed: Sequence[Observation], prior: Prior) -> Posterior:
    """Return what the observations say; at least one of them failed, or b has a proper prior."""
    size = len(prior.mean)
    failed = [(each.row, _log(each.seconds)) for each in observed if each.failed]
    censored = [(each.row, _log(each.seconds)) for each in observed if not each.failed]
    squares = [[sum([row[i] * row[j] for row, _ in failed]) for j in range(size)] for i in range(size)]
    products = [sum([row[i] * y for row, y in failed]) for i in range(size)]
    total = sum([y * y for _, y in failed])
    b: Vector | None = None
    components = []
    for sd, _ in prior.sds:
        known = _Quadratic.of(prior, squares, products, total, sd)
        b, hessian, cost = known.descend(censored, prior, sd, b)
        lower = _cholesky(hessian)
        room = sum([math.log(line[-1]) for line in lower])  # half the log determinant
        components.append(Component(sd, -cost - len(failed) * math.log(sd) - room, b, lower))
    weights = tuple(
        each.evidence + math.log(weight) for each, (_, weight) in zip(components, prior.sds, strict=True)
    )
    return Posterior(tuple(components), weights)


@dataclass(slots=True)
class _Quadratic:
    """What the prior and the failures add to the cost: b'Ab/2 - c'b + constant, the same at each step."""

    bend: Matrix
    pull: Vector
    constant: float

    @classmethod
    def of(cls, prior: Prior, squares: Matrix, products: Vector, total: float, sd: float) -> "_Quadratic":
        size, mean, precision = len(prior.mean), prior.mean, prior.precision
        pulled = [_dot(line, mean) for line in precision]
        part = 1 / sd**2
        return cls(
            [[precision[i][j] + squares[i][j] * part for j in range(size)] for i in range(size)],
            [pulled[i] + products[i] * part for i in range(size)],
            (_dot(pulled, mean) + total * part) / 2,
        )

    def cost(self, b: Vector, censored: Sequence[tuple[Sequence[float], float]], sd: float) -> float:
        total = self.constant - _dot(self.pull, b) + _dot(b, [_dot(line, b) for line in self.bend]) / 2
        return total - sum(log_tail((y - _dot(row, b)) / sd) for row, y in censored)

    def descend(
        self,
        censored: Sequence[tuple[Sequence[float], float]],
        prior: Prior,
        sd: float,
        start: Vector | None,
    ) -> tuple[Vector, Matrix, float]:
        """Go down by Newton's way to the one minimum within the limits; return it with its curvature."""
        size = len(self.pull)
        fixed: dict[int, float] = {}
        b = start or _solve(self.bend, self.pull)
        while True:
            b, hessian = self._free(b, censored, sd, fixed)
            outside = {
                i: min(max(b[i], low), high)
                for i, (low, high) in enumerate(prior.limits)
                if i not in fixed and not low <= b[i] <= high
            }
            if not outside or len(fixed) == size:
                return b, hessian, self.cost(b, censored, sd)
            fixed |= outside
            b = [fixed.get(i, value) for i, value in enumerate(b)]

    def _free(
        self, b: Vector, censored: Sequence[tuple[Sequence[float], float]], sd: float, fixed: dict[int, float]
    ) -> tuple[Vector, Matrix]:
        """Return the minimum where some numbers are fixed, and the curvature in all of them."""
        cost = math.inf if not censored else self.cost(b, censored, sd)
        for _ in range(_STEPS):
            hessian = [line[:] for line in self.bend]
            slope = [_dot(line, b) - pull for line, pull in zip(self.bend, self.pull, strict=True)]
            for row, y in censored:
                z = (y - _dot(row, b)) / sd
                hazard = _hazard(z)
                bend = hazard * (hazard - z) / sd**2
                for i, one in enumerate(row):
                    if one:
                        slope[i] -= hazard * one / sd
                        line, share = hessian[i], bend * one
                        for j, other in enumerate(row):
                            line[j] += share * other
            step = _step(hessian, slope, fixed)
            part = 1.0
            if censored:
                while part > 1e-9:
                    trial = [value - part * move for value, move in zip(b, step, strict=True)]
                    if (new := self.cost(trial, censored, sd)) <= cost:
                        break
                    part /= 2
                else:
                    return b, hessian
                cost = new
            b = [value - part * move for value, move in zip(b, step, strict=True)]
            if not censored or max(map(abs, step)) < _NEAR:
                break
        return b, hessian


def _step(hessian: Matrix, slope: Vector, fixed: dict[int, float]) -> Vector:
    if not fixed:
        return _solve(hessian, slope)
    free = [i for i in range(len(slope)) if i not in fixed]
    if not free:
        return [0.0] * len(slope)
    part = _solve([[hessian[i][j] for j in free] for i in free], [slope[i] for i in free])
    found = [0.0] * len(slope)
    for i, value in zip(free, part, strict=True):
        found[i] = value
    return found


def _log(seconds: float) -> float:
    return math.log(max(seconds, SHORTEST_S))


def _dot(one: Iterable[float], other: Iterable[float]) -> float:
    """Return the sum of the products, as far as the shorter of both goes."""
    total: float = sum(map(mul, one, other))
    return total


def _cholesky(matrix: Matrix) -> Matrix:
    """Return the lower Cholesky factor of `matrix`: its rows, each up to the diagonal."""
    lower: Matrix = []
    for given in matrix:
        line: Vector = []
        lower.append(line)
        for other, rest in zip(lower, given, strict=False):
            rest -= _dot(line, other)
            line.append(math.sqrt(rest) if other is line else rest / other[-1])
    return lower


def _solve(matrix: Matrix, right: Vector) -> Vector:
    lower = _cholesky(matrix)
    found = _forward(lower, right)
    for i in reversed(range(len(found))):
        found[i] /= lower[i][i]
        for j in range(i):
            found[j] -= lower[i][j] * found[i]
    return found


def _forward(lower: Matrix, right: Sequence[float]) -> Vector:
    """Return x, where `lower` times x is `right`."""
    found: Vector = []
    for line, value in zip(lower, right, strict=True):
        found.append((value - _dot(line, found)) / line[-1])
    return found


def log_tail(z: float) -> float:
    """Return ln P(Z > z) of a standard normal."""
    if z < _FAR:
        return math.log(math.erfc(z / _ROOT2) / 2)
    return -z * z / 2 - math.log(z) - _HALF_LOG_2PI + math.log1p(-1 / z**2 + 3 / z**4)


def _hazard(z: float) -> float:
    """Return the density over the tail probability of a standard normal."""
    return math.exp(-z * z / 2 - _HALF_LOG_2PI - log_tail(z))
