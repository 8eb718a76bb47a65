"""The exponents of endurance against their source.

Frey-Law LA, Avin KG. Endurance time is joint-specific: a modelling and meta-analysis investigation.
Ergonomics 2010;53(1):109-129, doi 10.1080/00140130903389068, table 2, as quoted in a public test file; the
rows were not checked against the paper itself.
"""

import pytest

from holdtimer.program.endurance import GENERAL_EXPONENT, exponent, widest_step
from tests.tables import every

# joint: b0 in seconds, b1; ET = b0 * f**b1
TABLE_2 = {
    "ankle": (34.71, -2.06),
    "trunk": (22.69, -2.27),
    "elbow": (17.98, -2.21),
    "grip": (33.55, -1.61),
    "knee": (19.38, -1.88),
    "shoulder": (14.86, -1.83),
}


@every("joint", TABLE_2)
def test_the_exponent_of_a_joint_is_the_published_one(joint):
    assert exponent(joint) == TABLE_2[joint][1]


def test_the_hip_and_no_joint_take_the_general_exponent():
    assert exponent("hip") == exponent(None) == GENERAL_EXPONENT == -1.98


def test_order_of_fatigue_resistance_at_half_load_is_the_published_one():
    """Abstract of the same paper: ankle > trunk > grip > elbow > knee > shoulder."""
    times = {joint: b0 * 0.5 ** exponent(joint) for joint, (b0, _) in TABLE_2.items()}
    assert sorted(times, key=times.get, reverse=True) == [
        "ankle",
        "trunk",
        "grip",
        "elbow",
        "knee",
        "shoulder",
    ]


@every(
    ("joint", "ratio"),
    [
        ("knee", 1.241),
        ("ankle", 1.218),
        ("trunk", 1.196),
        ("elbow", 1.201),
        ("shoulder", 1.248),
        ("grip", 1.286),
        (None, 1.227),
    ],
)
def test_the_usual_band_is_this_wide_in_load(joint, ratio):
    """Computed from the published exponents: (90/60)**(1/-b1)."""
    assert widest_step((60, 90), joint) == pytest.approx(ratio, abs=0.0006)
