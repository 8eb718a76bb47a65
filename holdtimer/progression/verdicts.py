"""The verdict on one exercise and side: a table of rows, and the first that matches wins.

One early miss never flips the plan, silence is never strength, and what is safe comes before what is evident.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

from holdtimer.progression.history import Result, Stop
from holdtimer.progression.standing import Standing
from holdtimer.progression.wording import counted, day_words, whole

Word = Literal["harder", "same", "easier"]

LONG_BREAK = timedelta(days=42)
BREAK = timedelta(days=21)
PAIN_FREE = 2  # counted results without pain before harder is possible again
UNDONE_WITHIN = 4  # counted results in which harder, once undone, is not tried at the first sign


@dataclass(frozen=True, slots=True)
class Verdict:
    """Harder, same or easier, counted from `rung` (its place on the ladder), and why.

    `evidence` are the results it rests on, oldest first; `would_change` says in words what would change it.
    A `paused` exercise is left out until it is restored or was done again without pain; `hold` is set while
    the whole program is on hold.
    """

    word: Word
    because: str
    rung: int
    evidence: tuple[Result, ...] = ()
    would_change: str = ""
    paused: bool = False
    hold: bool = False


def judge(standing: Standing) -> Verdict:
    """Return the verdict of the first row that matches, kept on the ladder."""
    for row in _ROWS:
        verdict = row(standing)
        if verdict is not None:
            return _on_the_ladder(standing, verdict)
    raise AssertionError("the last row matches everything")


def unreleased(stops: tuple[Stop, ...]) -> Stop | None:
    """Return the newest stop for a symptom that is not released: it holds the whole program."""
    return next((each for each in reversed(stops) if not each.released), None)


def stop_words(stop: Stop, now: datetime) -> str:
    """Return in words when and why a session was stopped."""
    return f"stopped on {day_words(stop.at, now)} because something felt wrong"


# ---- the rows, in their order


def _stopped(standing: Standing) -> Verdict | None:
    """Match when no session with a counted result came after one stopped for a symptom."""
    newest, held = standing.newest, unreleased(standing.stops)
    after = [each for each in standing.stops if newest is None or each.at >= newest.at]
    stop = held or (after[-1] if after else None)
    if stop is None:
        return None
    why = stop_words(stop, standing.now)
    rests_on = tuple(each for each in standing.results if each.session == stop.session)
    if held:
        change = "say that it has settled or was checked, and the program goes on"
        return Verdict("easier", why, standing.present, rests_on, change, hold=True)
    since = "settled" if stop.answered else "gone on with"
    return Verdict("easier", f"{why}, {since} since", standing.present, rests_on)


def _pain(standing: Standing) -> Verdict | None:
    """Match when no counted result came after one with pain, counted or not.

    A pause at the easiest rung ends when it is restored. It ends too with a later result that counts and did
    not hurt, which can only be on paper, since `run` leaves a paused exercise out: the person went on with it
    as it is, and to leave out what does not hurt protects nobody. Nothing is then said to be restored, and
    harder still waits for the results without pain.
    """
    hurt = next((each for each in reversed(standing.results) if each.pain), None)
    newest = standing.newest
    if hurt is None or (newest is not None and newest.at > hurt.at):
        return None
    rung = min(standing.present, hurt.rung) if newest else hurt.rung
    why = f"pain on {day_words(hurt.at, standing.now)}"
    if hurt.gone:
        rung, why = standing.present, f"{why}, at a rung that is no longer there"
    if rung > 0:
        change = f"{counted(PAIN_FREE, 'result')} without pain before it gets harder again"
        return Verdict("easier", why, rung, (hurt,), change)
    if hurt.released:
        return Verdict("easier", f"{why}, restored since", rung, (hurt,))
    change = "restore it when it has settled or was checked"
    return Verdict("easier", f"{why}, at the easiest rung: paused", rung, (hurt,), change, paused=True)


def _first_time(standing: Standing) -> Verdict | None:
    if standing.newest is not None:
        return None
    why = "no result counts yet: start rung" if standing.results else "first time: start rung"
    change = "the first result that counts decides"
    return Verdict("same", why, standing.start, standing.results[-1:], change)


def _long_break(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if standing.since(newest.at) < LONG_BREAK:
        return None
    why = f"{standing.since(newest.at).days} days since the last result that counts: a long break"
    return Verdict(
        "easier", why, newest.rung, (newest,), "a result that counts: then the table decides again"
    )


def _before_half(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if not newest.is_very_early:
        return None
    why = f"{_how(newest)}, before half of {_low(newest)}"
    return Verdict("easier", why, newest.rung, (newest,), "")


def _twice_before(standing: Standing) -> Verdict | None:
    newest, before = _newest(standing), standing.before
    if not newest.is_early or before is None or not before.is_early:
        return None
    why = f"{_how(newest)}, before {_low(newest)}, the second time in a row"
    return Verdict("easier", why, newest.rung, (before, newest), "")


def _before(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if not newest.is_early:
        return None
    why = f"{_how(newest)}, before {_low(newest)}: grow into it"
    return Verdict("same", why, newest.rung, (newest,), f"one more before {_low(newest)} s: easier")


def _after_a_break(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if standing.since(newest.at) < BREAK:
        return None
    why = f"{standing.since(newest.at).days} days since the last result that counts"
    return Verdict("same", why, newest.rung, (newest,), _ahead(newest))


def _in_doubt(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if newest.done.form_broke:
        why = f"{_how(newest)}, but the form went before"
    elif newest.done.late_tap_s is not None:
        why = f"you tapped {newest.done.late_tap_s:.1f} s after the end"
    else:
        return None
    return Verdict("same", why, newest.rung, (newest,), _ahead(newest))


def _undone(standing: Standing) -> Verdict | None:
    """Match when harder was taken back not long ago and this is not the second run to the end in a row."""
    newest, before = _newest(standing), standing.before
    recent = _undone_in(standing.counted)
    second = newest.ran_to_end and before is not None and before.ran_to_end
    if not newest.is_beyond or second or not recent:
        return None
    why = f"{_how(newest)}, but harder was undone not long ago"
    return Verdict("same", why, newest.rung, (*recent, newest), "a second run to the end in a row: harder")


def _soon_after_pain(standing: Standing) -> Verdict | None:
    """Match when there would be harder, but too few results without pain came after one with it."""
    newest = _newest(standing)
    hurt = next((each for each in reversed(standing.results) if each.pain), None)
    if hurt is None or not newest.is_beyond:
        return None
    free = tuple(each for each in standing.counted if each.at > hurt.at)
    missing = PAIN_FREE - len(free)
    if missing <= 0:
        return None
    why = f"{_how(newest)}, but pain on {day_words(hurt.at, standing.now)}"
    return Verdict(
        "same", why, newest.rung, (hurt, *free), f"{missing} more without pain: harder is possible"
    )


def _beyond(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    if not newest.is_beyond:
        return None
    why = _how(newest) if newest.ran_to_end else f"{_how(newest)}, after {newest.done.band_s[1]:g}"
    return Verdict("harder", why, newest.rung, (newest,), "")


def _inside(standing: Standing) -> Verdict | None:
    newest = _newest(standing)
    low, high = newest.done.band_s
    return Verdict("same", f"{_how(newest)}, inside {low:g}-{high:g}", newest.rung, (newest,), _ahead(newest))


_ROWS: tuple[Callable[[Standing], Verdict | None], ...] = (
    _stopped,
    _pain,
    _first_time,
    _long_break,
    _before_half,
    _twice_before,
    _before,
    _after_a_break,
    _in_doubt,
    _soon_after_pain,
    _undone,
    _beyond,
    _inside,
)


# ---- what the rows share


def _on_the_ladder(standing: Standing, verdict: Verdict) -> Verdict:
    """Turn harder at the top and easier at the bottom into same; tell what follows from the others."""
    if verdict.word == "harder" and verdict.rung >= standing.rungs - 1:
        why = f"{verdict.because}; the ladder needs a harder rung"
        return replace(verdict, word="same", because=why, would_change="a harder rung in the program")
    if verdict.word == "easier" and verdict.rung <= 0:
        if verdict.paused:
            return replace(verdict, word="same")
        why = f"{verdict.because}; the ladder needs an easier one"
        change = verdict.would_change or "an easier rung in the program"
        return replace(verdict, word="same", because=why, would_change=change)
    if verdict.word != "same" and not verdict.would_change:
        return replace(verdict, would_change="the next result that counts decides again")
    return verdict


def _newest(standing: Standing) -> Result:
    assert standing.newest is not None  # noqa: S101 - rows after the first time are asked only then
    return standing.newest


def _undone_in(results: tuple[Result, ...]) -> tuple[Result, ...]:
    """Return the pair of the last few counted results between which harder was undone; empty where not.

    Undone means: the rung fell from one that had been climbed to before.
    """
    recent = results[-UNDONE_WITHIN:]
    older = results[:-UNDONE_WITHIN]
    lowest = min((each.rung for each in older), default=None)
    for before, after in pairwise(recent):
        lowest = before.rung if lowest is None else min(lowest, before.rung)
        if after.rung < before.rung and lowest < before.rung:
            return before, after
    return ()


def _how(result: Result) -> str:
    if result.failed_s is not None:
        return f"failed at {whole(result.failed_s)}"
    return f"ran to the end of {result.done.window_s:g} s"


def _low(result: Result) -> str:
    return f"{result.done.band_s[0]:g}"


def _ahead(result: Result) -> str:
    """Return what the next result would have to be for another verdict."""
    low, high = result.done.band_s
    beyond = "a run to the end" if high >= result.done.window_s else f"after {high:g} s"
    return f"{beyond}: harder; twice in a row before {low:g} s, or once before {low / 2:g} s: easier"
