"""How far a function test wavers by itself: standard error, smallest change it can see, and healthy people.

SEM = SD sqrt(1 - ICC) (Weir 2005). The smallest difference between two single days that chance shows once in
twenty times is MDC95 = 1.96 sqrt(2) SEM; between the means of k and of m days it is
1.96 SEM sqrt(1/k + 1/m). Times are compared as ratios: the limits up and down then differ.

Each figure bears its source and how well we know it. "found": the abstract, the table or the sheet was read.
"from memory": the source itself was not seen. "our choice": no source gives it for this group.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from holdtimer.program.timeline import Series

Group = Literal["older-adults", "ms", "stroke", "parkinson", "knee-oa"]
Known = Literal["found", "from memory", "our choice"]
Sex = Literal["female", "male"]

GROUP_WORDS: Mapping[Group, str] = {
    "older-adults": "older adults",
    "ms": "people with MS",
    "stroke": "people after a stroke",
    "parkinson": "people with Parkinson's disease",
    "knee-oa": "people with worn knees",
}

_Z = 1.96  # of a normal distribution, 95 % lie within so many standard deviations


def sem(sd: float, icc: float) -> float:
    """Return the standard error of measurement, from the spread between people and the reliability."""
    return sd * math.sqrt(1 - icc)


def mdc95(sem: float) -> float:
    """Return the smallest detectable change between two days, in the unit of the standard error."""
    return _Z * math.sqrt(2) * sem


def widened(k: int, m: int) -> float:
    """Return what the limit between two days is to be multiplied by, between means of k and of m days."""
    return math.sqrt((1 / k + 1 / m) / 2)


def in_percent(change: float, base: float) -> float:
    """Return a change in per cent of what it began from."""
    return 100 * change / base


def inverse_percent(percent: float) -> float:
    """Return the change of a time in per cent as that of the speed, or the other way round: v = d / t."""
    return 100 * (1 / (1 + percent / 100) - 1)


def pair_share(log_limit: float) -> float:
    """Return a limit on the natural logarithm as a share of the mean of both values.

    2 (e^a - 1) / (e^a + 1): Euser 2008 (from memory).
    """
    return 2 * math.tanh(log_limit / 2)


def log_limit(share: float) -> float:
    """Return a share of the mean of both values as a limit on the natural logarithm."""
    return math.log((2 + share) / (2 - share))


def false_alarm(tests: int, alpha: float = 0.05) -> float:
    """Return how likely one of so many independent tests shows a change where there is none."""
    return float(1 - (1 - alpha) ** tests)


# ---- what each test can see


@dataclass(frozen=True, slots=True)
class Error:
    """The smallest detectable change of a test (MDC95) in a group of people, with its source.

    `size` is in the unit of the result ("absolute"); or the rise of a time as a share of it ("ratio"); or a
    share of the mean of both values ("pair"). With "bands" it is that of the speed it began from.
    """

    kind: Literal["absolute", "ratio", "pair", "bands"]
    size: float
    source: str
    known: Known = "found"

    def limit(self, base: float, now: float, widen: float = 1.0) -> float:
        """Return how large a difference from `base` to `now` must be exceeded, in the unit of the result."""
        if self.kind == "absolute":
            return self.size * widen
        if self.kind == "bands":
            return speed_mdc_after_stroke(base) * widen
        limit = self._log * widen
        if self.kind == "pair":
            return pair_share(limit) * (base + now) / 2
        return base * (1 - math.exp(-limit)) if now < base else base * (math.exp(limit) - 1)

    @property
    def is_logarithmic(self) -> bool:
        """Whether values are compared as ratios."""
        return self.kind in ("ratio", "pair")

    def standard(self, base: float) -> float:
        """Return the standard error at `base`: of the logarithm where values are compared as ratios."""
        return (self._log if self.is_logarithmic else self.limit(base, base)) / mdc95(1)

    @property
    def _log(self) -> float:
        return log_limit(self.size) if self.kind == "pair" else math.log(1 + self.size)


def speed_mdc_after_stroke(speed: float) -> float:
    """Return the MDC of usual walking speed (m/s) after a stroke, by the speed it began from.

    Hosoi 2023, doi 10.3389/fneur.2023.1219505: below 0.4, from 0.4 to 0.8, above 0.8 m/s.
    """
    return 0.05 if speed < 0.4 else 0.11 if speed <= 0.8 else 0.21


_HO = "self-tests at home, sore knees, n 114: Ho-Henriksson 2024, doi 10.1080/21679169.2024.2337419"
_DONOGHUE = "1 to 4 months apart, adults from 50, n 128: Donoghue 2019, PMC6858113"
_NILSAGARD = "MS, three times in a week, n 43: Nilsagard 2007, PMID 17536648"
_T25FW = "MS, about a year apart, n 73: PMID 38924934 (2024)"
_HOSOI = "after a stroke, usual pace: Hosoi 2023, doi 10.3389/fneur.2023.1219505"
_STEFFEN = "Parkinson's disease, a week apart: Steffen 2008, PMID 18356292"
_PETERSEN = "Parkinson's disease, 6 to 8 days apart, n 22: Petersen 2017, PMID 27805924"

_STANDS = Error("absolute", 2.5, _HO)
_STANDS_ELSEWHERE = Error("absolute", 2.5, _HO, "our choice")
_FIVE = Error("absolute", 4.5, _DONOGHUE)
_WALK_FAST = Error("pair", 0.23, _T25FW)
_SPEED = Error("absolute", 0.19, _DONOGHUE + "; the least of several paces")
_SPEED_FAST = Error("absolute", 0.35, _DONOGHUE + "; the most of several paces", "our choice")
_IN_MS = Error("ratio", 0.31, _NILSAGARD)
_UP = Error("absolute", 2.1, _DONOGHUE)

# a series of walks in seconds is the timed 25-foot walk; all other walks are speeds
_Kind = Literal["chair-stand-30", "five-stands", "walk-seconds", "walk-usual", "walk-fast", "up-and-go"]
_ERRORS: Mapping[_Kind, Mapping[Group, Error]] = {
    "chair-stand-30": {
        "older-adults": _STANDS_ELSEWHERE,
        "ms": _STANDS_ELSEWHERE,
        "stroke": _STANDS_ELSEWHERE,
        "parkinson": Error("absolute", 3.0, _PETERSEN),
        "knee-oa": _STANDS,
    },
    "five-stands": {
        "older-adults": _FIVE,
        "ms": Error("ratio", 0.25, "MS, days apart, n 22: Moller 2012, Disabil Rehabil 34:2251-8"),
        "stroke": Error("absolute", 4.5, _DONOGHUE, "our choice"),
        "parkinson": Error("absolute", 10.0, _PETERSEN),
        "knee-oa": Error("absolute", 4.5, _DONOGHUE, "our choice"),
    },
    "walk-seconds": dict.fromkeys(get_args(Group), Error("pair", 0.23, _T25FW, "our choice"))
    | {"ms": _WALK_FAST},
    "walk-usual": {
        "older-adults": _SPEED,
        "ms": _IN_MS,
        "stroke": Error("bands", 0.0, _HOSOI),
        "parkinson": Error("absolute", 0.18, _STEFFEN),
        "knee-oa": Error("absolute", 0.19, _DONOGHUE + "; the least of several paces", "our choice"),
    },
    "walk-fast": {
        "older-adults": _SPEED_FAST,
        "ms": _IN_MS,
        "stroke": _SPEED_FAST,
        "parkinson": Error("absolute", 0.25, _STEFFEN),
        "knee-oa": _SPEED_FAST,
    },
    "up-and-go": {
        "older-adults": _UP,
        "ms": _IN_MS,
        "stroke": Error("absolute", 2.1, _DONOGHUE, "our choice"),
        "parkinson": Error(
            "absolute", 3.5, "Parkinson's disease, 14 days apart, n 72: Huang 2011, PMID 20947672"
        ),
        "knee-oa": Error("absolute", 2.1, _DONOGHUE, "our choice"),
    },
}


def error_of(series: Series, group: Group) -> Error:
    """Return what the test of a series can see in a group of people."""
    return _ERRORS[_kind(series)][group]


def _kind(series: Series) -> _Kind:
    if series.protocol != "timed-walk":
        return series.protocol
    if series.unit == "s":
        return "walk-seconds"
    return "walk-fast" if series.pace == "fast" else "walk-usual"


def noticed_change(series: Series, base: float) -> float | None:
    """Return a change that people do notice (MCID), in the unit of the result; None where none is known.

    Chair stands: 2, in COPD (2018, abstract). Usual walking speed: 0.10 m/s (Perera, J Am Geriatr Soc). Timed
    25-foot walk: a fifth of the speed (Hobart 2013, PMID 23535489). All found.
    """
    kind = _kind(series)
    if kind == "chair-stand-30":
        return 2.0
    if kind == "walk-usual":
        return 0.10
    return base * -inverse_percent(20) / 100 if kind == "walk-seconds" else None


# ---- healthy people, shown on request and never as a verdict


@dataclass(frozen=True, slots=True)
class Norm:
    """What healthy people of an age do: from `low` to `high`, where both are known, with its source.

    One bound alone is the one beyond which the source calls a result worse than average.
    """

    who: str
    low: float | None
    high: float | None
    what: str
    source: str
    known: Known = "found"


_AGES = (60, 65, 70, 75, 80, 85, 90)
_STANDS_OF: Mapping[Sex, tuple[tuple[int, int], ...]] = {
    "male": ((14, 19), (12, 18), (12, 17), (11, 17), (10, 15), (8, 14), (7, 12)),
    "female": ((12, 17), (11, 16), (10, 15), (10, 15), (9, 14), (8, 13), (4, 11)),
}
_SPEED_OF: Mapping[Sex, tuple[float, ...]] = {  # from 20 years on, by tens; the last from 80 to 99
    "male": (1.36, 1.43, 1.43, 1.43, 1.34, 1.26, 0.97),
    "female": (1.34, 1.34, 1.39, 1.31, 1.24, 1.13, 0.94),
}
_FIVE_OF = (11.4, 12.6, 14.8)  # from 60 years on, by tens
_UP_OF = ((7.1, 9.0), (8.2, 10.2), (10.0, 12.7))
_STEADI = "CDC STEADI 30-second chair stand sheet, 2017; ranges also in its New Zealand adaptation"


def norm(series: Series, sex: Sex, age: int) -> Norm | None:
    """Return what healthy people of this age do in this test; None outside the ages of the source.

    None, too, where it does not hold: with hands, at another pace, from "go" over a short lane, or where the
    walker presses the key and slows down for it.
    """
    who = f"{'women' if sex == 'female' else 'men'}, {age}"
    if series.protocol == "chair-stand-30" and series.variant == "crossed" and 60 <= age <= 94:
        low, high = _STANDS_OF[sex][max(at for at, begins in enumerate(_AGES) if age >= begins)]
        return Norm(who, low, high, "the middle half", _STEADI)
    if series.protocol == "five-stands" and 60 <= age <= 89:
        source = "Bohannon 2006, doi 10.2466/pms.103.1.215-222; no difference of sex"
        return Norm(who, None, _FIVE_OF[age // 10 - 6], "above it is slower than average", source)
    if series.protocol == "up-and-go" and 60 <= age <= 99:
        low_s, high_s = _UP_OF[min(age // 10, 8) - 6]
        source = "Bohannon 2006, J Geriatr Phys Ther 29:64-8; no difference of sex"
        return Norm(who, low_s, high_s, "where the mean of healthy people lies", source)
    is_walk = series.protocol == "timed-walk" and (series.pace, series.start) == ("usual", "walking")
    if is_walk and series.presser == "helper" and 20 <= age <= 99:
        speed = _SPEED_OF[sex][min(age // 10, 8) - 2]
        return Norm(who, speed, speed, "the mean of healthy people", "Bohannon 2011, PMID 21820535")
    return None
