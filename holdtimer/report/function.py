"""Function tests as tables and as JSON: those of one session, and what each series says over the weeks."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from holdtimer.program.models import Program
from holdtimer.program.timeline import Protocol, Series
from holdtimer.progression.function import (
    FunctionDay,
    FunctionTrend,
    State,
    shown,
    size_words,
    what_words,
    with_unit,
)
from holdtimer.progression.measurement import GROUP_WORDS, Group, Norm, Sex, false_alarm, norm
from holdtimer.report.table import Block, Column, Row, Table, Words
from holdtimer.session.results import FAR_APART, FunctionResult, TrialDone
from holdtimer.session.words import void_words
from holdtimer.text import counted, sentence

WAVERS = 1.2  # said where somebody's own days vary by so many times the published error
SHOWN_DAYS = 8  # results of a series in a table, the latest

_PROTOCOLS: Mapping[Protocol, str] = {
    "chair-stand-30": "30 s chair stand",
    "five-stands": "Five stands",
    "timed-walk": "Walk",
    "up-and-go": "Up and go",
}


def series_words(series: Series) -> str:
    """Return what a series is: its protocol and all that its results have in common."""
    return ", ".join((_PROTOCOLS[series.protocol], *series.conditions()))


# ---- one session


def tests_table(tests: Sequence[FunctionResult], names: Mapping[str, str]) -> Table:
    """Return the function tests of a session, each in a row, with each trial and why it counts or not."""
    columns = (Column(is_name=True), Column("result", is_right=True), Column("trials"), Column("counts"))
    return Table(columns, tuple(_test_row(each, names) for each in tests))


def test_lines(tests: Sequence[FunctionResult], names: Mapping[str, str]) -> Iterator[str]:
    """Yield the function tests of a session in sentences."""
    for each in tests:
        yield f"{names.get(each.test, each.test)}: {test_value(each)}; {each.counted_because}"


def _test_row(each: FunctionResult, names: Mapping[str, str]) -> Row:
    trials = ", ".join(_trial(trial, each.series) for trial in each.trials)
    conditions = (Words(", ".join(each.series.conditions())),) if each.series else ()
    cells = (names.get(each.test, each.test), test_value(each), trials, "yes" if each.counted else "no")
    is_plain = each.counted and not each.counted_because.endswith(FAR_APART)
    because = () if is_plain else (Words(sentence(each.counted_because)),)
    return Row(cells, (*conditions, *because))


def test_value(each: FunctionResult) -> str:
    """Return the result of a test: "9 stands", "not able", "none"."""
    if each.series is not None and each.value is not None:
        return with_unit(each.series, each.value)
    return "none" if each.able else "not able"


def test_words(each: FunctionResult, names: Mapping[str, str]) -> tuple[str, ...]:
    """Return what stands beside that: the test, and why it counts or not."""
    return names.get(each.test, each.test), each.counted_because


def _trial(trial: TrialDone, series: Series | None) -> str:
    if trial.void is not None:
        return void_words(trial.void)
    if not trial.able or series is None:
        return "not able"
    value = {"stands": trial.stands, "s": trial.seconds, "m/s": trial.speed_m_s}[series.unit]
    return "none" if value is None else shown(series, value)


def test_to_json(each: FunctionResult) -> dict[str, Any]:
    """Return one test of `show --json`; seconds to the millisecond."""
    return {
        "test": each.test,
        **series_to_json(each.series),
        "value": _rounded(each.value),
        "able": each.able,
        "counted": each.counted,
        "counted_because": each.counted_because,
        "trials": [_trial_to_json(trial) for trial in each.trials],
    }


def _trial_to_json(trial: TrialDone) -> dict[str, Any]:
    return {
        "trial": trial.trial,
        "able": trial.able,
        "stands": trial.stands,
        "seconds": _rounded(trial.seconds),
        "speed_m_s": _rounded(trial.speed_m_s),
        "marks_s": [_rounded(mark) for mark in trial.marks_s],
        "void": trial.void,
    }


def series_to_json(series: Series | None) -> dict[str, Any]:
    """Return what a series is, by field; None each where there was no trial."""
    if series is None:
        return dict.fromkeys((*Series.__dataclass_fields__, "unit"))
    return Series.facts(series) | {"unit": series.unit}


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


# ---- over the weeks


def function_blocks(
    trends: Sequence[FunctionTrend], group: Group, strength: str, of_age: tuple[Sex, int] | None = None
) -> Iterator[Block]:
    """Yield what each series says, whose error it is judged by, and that it is open what caused what.

    `strength` is what the trend says of strength, empty where it says nothing; with `of_age`, a sex and an
    age, also what healthy people do.
    """
    if not trends:
        return
    yield Words("")
    columns = (
        Column("function tests", is_name=True),
        Column("oldest first"),
        Column("it takes", is_right=True),
    )
    yield Table(columns, tuple(_trend_row(each, trends, of_age) for each in trends))
    yield Words("")
    yield from map(Words, source_lines(trends, group))
    beside = beside_words(trends, strength)
    if beside:
        yield Words(beside)


def beside_words(trends: Sequence[FunctionTrend], strength: str) -> str:
    """Return strength and function side by side, and that it is open what caused what.

    Empty where nothing is said of strength, or no test has enough days: that is no "unchanged".
    """
    compared = [each for each in trends if each.state is not State.TOO_FEW]
    if not strength or not compared:
        return ""
    latest = compared[-1]
    said = "changed by more than" if latest.state is State.CHANGED else "unchanged beyond"
    return (
        f"Over the same weeks: {strength}, {what_words(latest.series)} {said} the test's error. "
        "This cannot show whether one led to the other."
    )


def _trend_row(trend: FunctionTrend, others: Sequence[FunctionTrend], of_age: tuple[Sex, int] | None) -> Row:
    series = trend.series
    limit = "" if trend.limit is None else size_words(series, trend.limit)
    days = " ".join(words for day, words in day_words_of(trend) if day.value is not None)
    notes = [Words(trend.sentence, "strong" if trend.state is State.CHANGED else "")]
    unable = [f"{each.started:%Y-%m-%d}" for each in trend.all_days if each.value is None]
    if unable:
        notes.append(Words(f"Not able on {', '.join(unable)}; kept apart from the numbers."))
    if len(trend.all_days) > 1 and all(each.value is None for each in trend.all_days[-2:]):
        notes.append(Words("Not able twice in a row: a physiotherapist can test this safely."))
    if trend.own >= WAVERS:
        times = f"{trend.own:.1f} times as much as the test's error"
        notes.append(Words(f"Your own days vary {times}, so it takes a larger change."))
    notes += map(Words, _since(trend, others))
    if of_age is not None:
        notes.append(Words(norm_words(norm(series, *of_age), series)))
    return Row((series_words(series), days, limit), tuple(notes))


def _since(trend: FunctionTrend, others: Sequence[FunctionTrend]) -> Iterator[str]:
    """Yield that a series took the place of another one of its protocol, and what is different."""
    began = trend.all_days[0].started
    before = [
        each
        for each in others
        if each.series.protocol == trend.series.protocol and each.all_days[-1].started < began
    ]
    if before:
        old = set(before[-1].series.conditions())
        new = [each for each in trend.series.conditions() if each not in old]
        what = f" ({', '.join(new)})" if new else ""
        yield f"New series since {began:%Y-%m-%d}{what}: not compared with the one before."


def day_words_of(trend: FunctionTrend) -> Iterator[tuple[FunctionDay, str]]:
    """Yield the latest days, each with its result; in brackets practice and off days, not compared."""
    for each in trend.all_days[-SHOWN_DAYS:]:
        if each.value is None:
            yield each, "not able"
            continue
        text = shown(trend.series, each.value)
        yield each, f"({text})" if each.off_day or each is trend.practice else text


@dataclass(frozen=True, slots=True)
class Lane:
    """The results of a function test, day by day, to stand under a course: when (aware), and in words."""

    name: str
    days: tuple[tuple[datetime, str], ...]


def lanes(trends: Iterable[FunctionTrend], program: Program) -> tuple[Lane, ...]:
    """Return a lane for each series of function tests; practice and off days in brackets."""
    return tuple(
        Lane(
            test_name(trend, program),
            tuple((day.started, words) for day, words in day_words_of(trend)),
        )
        for trend in trends
    )


def test_name(trend: FunctionTrend, program: Program) -> str:
    """Return what a test is called in the program, else what its series is."""
    known = program.tests.get(trend.all_days[-1].test)
    return series_words(trend.series) if known is None else known.name


def source_lines(trends: Sequence[FunctionTrend], group: Group) -> Iterator[str]:
    """Yield whose error the tests are judged by, and the source of each figure."""
    yield f"Judged by the error of the test in {GROUP_WORDS[group]}. In brackets: practice and off days."
    judged = sum(each.state is not State.TOO_FEW for each in trends)
    if judged > 1:
        chance = f"{100 * false_alarm(judged):.0f} %"
        yield (
            f"With {judged} tests, chance alone puts one of them outside its error on {chance} of test days; "
            "so a change counts once it is seen twice."
        )
    seen = dict.fromkeys((each.series.protocol, each.error) for each in trends)
    for protocol, error in seen:
        known = "" if error.known == "found" else f" ({error.known} for this group)"
        yield f"{_PROTOCOLS[protocol]}: {error.source}{known}."


def norm_words(found: Norm | None, series: Series) -> str:
    """Return what healthy people do, with its source; that nothing is known where it is not."""
    if found is None:
        return "Healthy people: no figures for this test at this age."
    if found.low is None or found.low == found.high:
        span = with_unit(series, found.high or 0.0)
    else:
        span = f"{shown(series, found.low)} to {with_unit(series, found.high or found.low)}"
    return f"Healthy people ({found.who}): {span}, {found.what}. {found.source}."


def function_to_json(trend: FunctionTrend, group: Group) -> dict[str, Any]:
    """Return one series of `trend --json`; seconds and speeds to three decimals."""
    return {
        **series_to_json(trend.series),
        "state": trend.state.value,
        "sentence": trend.sentence,
        "days": trend.days,
        "base": _rounded(trend.base),
        "latest": _rounded(trend.latest),
        "limit": _rounded(trend.limit),
        "change_pct": _rounded(trend.change_percent),
        "change_per_week": None if trend.slope is None else round(trend.slope, 5),
        "chance": None if trend.chance is None else round(trend.chance, 5),
        "group": group,
        "source": trend.error.source,
        "source_known": trend.error.known,
        "results": [
            {
                "session": each.session,
                "started": each.started.isoformat(timespec="milliseconds"),
                "test": each.test,
                "value": _rounded(each.value),
                "practice": each is trend.practice,
                "off_day": each.off_day,
            }
            for each in trend.all_days
        ],
    }


def strength_words(stronger: int, weaker: int, of: int) -> str:
    """Return what a trend says of strength, for the sentence that puts it beside function."""
    if not of:
        return ""
    parts = [
        f"{n} of {counted(of, 'exercise')} {word}"
        for n, word in ((stronger, "stronger"), (weaker, "weaker"))
        if n
    ]
    return ", ".join(parts) or "no certain change of strength"
