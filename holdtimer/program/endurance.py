"""How the time to failure of a hold answers to its load, joint by joint.

The published power models are ET = b0 * f**b1 with ET in seconds and f the load as a fraction of the greatest
voluntary torque. Only b1 is used here: it turns a ratio of loads into a ratio of times, T2/T1 = (L2/L1)**b1.

Source: Frey-Law LA, Avin KG. Endurance time is joint-specific: a modelling and meta-analysis investigation.
Ergonomics 2010;53(1):109-129, doi 10.1080/00140130903389068, table 2. There is no row for the hip.
"""

from typing import Final, Literal

Joint = Literal["ankle", "knee", "hip", "trunk", "shoulder", "elbow", "grip"]

GENERAL_EXPONENT: Final = -1.98
_EXPONENTS: Final[dict[Joint, float]] = {
    "ankle": -2.06,
    "knee": -1.88,
    "trunk": -2.27,
    "shoulder": -1.83,
    "elbow": -2.21,
    "grip": -1.61,
}


def exponent(joint: str | None) -> float:
    """Return b1 of a joint, or the general one where the joint is not given or has no row of its own."""
    return next((value for name, value in _EXPONENTS.items() if name == joint), GENERAL_EXPONENT)


def widest_step(band_s: tuple[float, float], joint: str | None) -> float:
    """Return the ratio of two loads that lie exactly one band apart in time: (high/low)**(1/-b1)."""
    low, high = band_s
    return float((high / low) ** (1 / -exponent(joint)))
