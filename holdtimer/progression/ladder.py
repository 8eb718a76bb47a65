"""From a verdict to the rung that is due: one rung, or further where evidence on loads allows it."""

import math
from collections.abc import Sequence

from holdtimer.progression.prediction import Prediction
from holdtimer.progression.verdicts import Verdict

FAMILIARISATION = 2  # results in which one is still getting to know an exercise
MOST_UP = 1.10  # the load rises by 10 % at most, unless the very next rung is further


def due_rung(
    verdict: Verdict,
    loads: Sequence[float],
    band_s: tuple[float, float],
    prediction: Prediction | None,
    results: int,
) -> int:
    """Return the place on the ladder that is due.

    `loads` are those of all rungs, empty where they are not known; `results` is how many counted so far.
    Source of the 10 %: American College of Sports Medicine, position stand, Med Sci Sports Exerc
    2009;41:687-708: raise the load by 2-10 %.
    """
    if verdict.word == "same":
        return verdict.rung
    nearest = verdict.rung + (1 if verdict.word == "harder" else -1)
    if prediction is None or not loads or results <= FAMILIARISATION:
        return nearest
    target = _middle_rung(prediction, loads, band_s)
    if verdict.word == "easier":
        return min(nearest, target)
    most = loads[verdict.rung] * MOST_UP * (1 + 1e-9)
    return max([nearest, *(rung for rung in range(nearest + 1, target + 1) if loads[rung] <= most)])


def _middle_rung(prediction: Prediction, loads: Sequence[float], band_s: tuple[float, float]) -> int:
    """Return the rung whose predicted time is nearest the band's geometric middle."""
    middle = math.sqrt(band_s[0] * band_s[1])
    return min(range(len(loads)), key=lambda rung: abs(math.log(prediction.seconds(loads[rung]) / middle)))
