"""The slope of a few points and whether there is one: Theil-Sen and the exact Mann-Kendall test, by hand.

Sen PK. J Am Stat Assoc 1968;63:1379-1389. Kendall MG. Rank correlation methods (the counting of orders).
Libraries give the normal approximation for few points: 0.462 where the exact value is 0.483.
"""

from collections import Counter
from collections.abc import Sequence
from itertools import combinations
from statistics import median


def theil_sen(x: Sequence[float], y: Sequence[float]) -> float:
    """Return the median of the slopes of all pairs; at least two points, each with an x of its own."""
    points = list(zip(x, y, strict=True))
    return median((b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(points, 2))


def score(y: Sequence[float]) -> int:
    """Return Kendall's S: how many pairs rise, less how many fall."""
    return sum((b > a) - (b < a) for a, b in combinations(y, 2))


def chance(y: Sequence[float]) -> float:
    """Return how likely a score at least as far from 0 is where the order means nothing, counted exactly.

    Equal values are counted as equal: all orders of these very values are as likely as each other.
    """
    ties = list(Counter(y).values())
    pairs = len(y) * (len(y) - 1) // 2 - sum(n * (n - 1) // 2 for n in ties)
    found, orders = abs(score(y)), _orders(len(y), ties)
    as_far = sum(count for falls, count in enumerate(orders) if abs(pairs - 2 * falls) >= found)
    return as_far / sum(orders)


def _orders(n: int, ties: Sequence[int]) -> list[int]:
    """Return how many orders of the values have 0, 1, 2 ... falling pairs.

    These are the coefficients of a Gaussian multinomial: the product of (1 - q^i) for i up to n, divided by
    the same for each group of equal values.
    """
    counts = [1]
    for power in range(1, n + 1):
        counts = [a - b for a, b in zip([*counts, *[0] * power], [*[0] * power, *counts], strict=True)]
    for tie in ties:
        for power in range(1, tie + 1):
            for at in range(power, len(counts)):
                counts[at] += counts[at - power]
            counts = counts[: len(counts) - power]
    return counts
