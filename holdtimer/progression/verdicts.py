"""The verdict on one exercise and side: a table of rows, and the first that matches wins.

One early miss never flips the plan, silence is never strength, and what is safe comes before what is evident:
a hold and a pause stand outside the table and above it. Every result is judged by the band that is due now.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cached_property
from itertools import pairwise
from typing import Literal

from holdtimer.progression.history import Result, Stop
from holdtimer.text import clock, counted, day_words, in_seconds, tenths

Word = Literal["harder", "same", "easier"]
Reason = Literal[
    "hold", "paused", "stopped", "pain", "first time", "long break", "far too early", "early again", "early",
    "break", "in doubt", "soon after pain", "undone", "beyond", "short window", "inside", "forecast",
]  # fmt: skip

LONG_BREAK = timedelta(days=42)
BREAK = timedelta(days=21)
PAIN_FREE = 2  # counted results without pain before harder is possible again
UNDONE_WITHIN = 4  # counted results in which harder, once undone, is not tried at the first sign


@dataclass(frozen=True, slots=True)
class Verdict:
    """Harder, same or easier, counted from `rung` (its place on the ladder), and why.

    `reason` is the row that matched, `because` says it in words; `evidence` are the results it rests on,
    oldest first; `would_change` says in words what would change it. A `paused` exercise is left out until it
    is restored; `hold` is set while every program of the person is on hold.
    """

    word: Word
    reason: Reason
    because: str
    rung: int
    evidence: tuple[Result, ...] = ()
    would_change: str = ""
    paused: bool = False
    hold: bool = False


@dataclass(frozen=True)
class VerdictInput:
    """All a verdict depends on: results (oldest first, those that don't count among them), stops, the ladder.

    `rungs` is how many there are, `start` the place of the first one to be done, `band_s` the band that is
    due; `now` is aware.
    """

    results: tuple[Result, ...]
    stops: tuple[Stop, ...]
    rungs: int
    start: int
    band_s: tuple[float, float]
    now: datetime

    @cached_property
    def counted(self) -> tuple[Result, ...]:
        """The results that count."""
        return tuple(each for each in self.results if each.counted)

    @property
    def newest(self) -> Result | None:
        """The newest result that counts; its rung is the present one."""
        return next((each for each in reversed(self.results) if each.counted), None)

    @property
    def present(self) -> int:
        """The present rung, or where to start."""
        return self.newest.rung if self.newest else self.start

    @property
    def before(self) -> Result | None:
        """The counted result before the newest, where it was at the present rung too: in a row with it."""
        last = self.counted[-2:]
        return last[0] if len(last) == 2 and last[0].rung == last[1].rung else None

    def days_since(self, result: Result) -> timedelta:
        """Return the time that has really passed since a result."""
        return self.now.astimezone(UTC) - result.at

    def is_early(self, result: Result) -> bool:
        """Whether failure came before the band."""
        return result.failed_s is not None and result.failed_s < self.band_s[0]

    def is_beyond(self, result: Result) -> bool:
        """Whether it is known to have outlasted the band: a window that ends before it can't show that."""
        if result.failed_s is None:
            return result.counted and result.done.window_s >= self.band_s[1]
        return result.failed_s > self.band_s[1]


def judge(at: VerdictInput) -> Verdict:
    """Return the verdict of the first row that matches, kept on the ladder; a hold or a pause goes before."""
    stop, hurt = unreleased(at.stops), _pausing(at)
    if stop is not None:
        verdict = _held(at, stop)
    elif hurt:
        verdict = _paused(at, hurt)
    else:
        verdict = next(found for row in _ROWS if (found := row(at)) is not None)
    return replace(_on_the_ladder(at, verdict), hold=stop is not None, paused=bool(hurt))


def unreleased(stops: tuple[Stop, ...]) -> Stop | None:
    """Return the newest stop for a symptom that is not released: it holds every program."""
    return next((each for each in reversed(stops) if not each.released), None)


def stop_words(stop: Stop, now: datetime) -> str:
    """Return in words when and why a session was stopped."""
    day = "an unknown day" if stop.at is None else day_words(stop.at, now)
    return f"stopped on {day} because something felt wrong"


# ---- above the table


def _held(at: VerdictInput, stop: Stop) -> Verdict:
    rests_on = tuple(each for each in at.results if each.session == stop.session)
    change = "say that it has settled or was checked, and you can go on"
    return Verdict("easier", "hold", stop_words(stop, at.now), at.present, rests_on, change)


def _pausing(at: VerdictInput) -> tuple[Result, ...]:
    """Return the results with pain at the easiest rung that nobody has restored since.

    A result with pain at a rung that is no longer there counts as one at the present rung.
    """
    if not any(each.pain for each in at.results):
        return ()
    found: list[Result] = []
    present: int | None = None
    for each in at.results:
        present = each.rung if each.counted else present
        known = [rung for rung in (present, None if each.gone else each.rung) if rung is not None]
        if each.pain and min(known, default=at.start) == 0:
            found = [] if each.restored else [*found, each]
    return tuple(found)


def _paused(at: VerdictInput, hurt: tuple[Result, ...]) -> Verdict:
    why = f"{_pain_words(at, hurt[-1])}, at the easiest rung: paused"
    return Verdict("same", "paused", why, 0, hurt, "restore it when it has settled or was checked")


# ---- the rows, in their order


def _stopped(at: VerdictInput) -> Verdict | None:
    """Match when no session with a counted result came after one stopped for a symptom."""
    newest = at.newest
    stop = next((each for each in reversed(at.stops) if newest is None or each.order >= newest.order), None)
    if stop is None:
        return None
    since = "settled" if stop.answered else "gone on with"
    rests_on = tuple(each for each in at.results if each.session == stop.session)
    return Verdict("easier", "stopped", f"{stop_words(stop, at.now)}, {since} since", at.present, rests_on)


def _pain(at: VerdictInput) -> Verdict | None:
    """Match when no counted result came after one with pain, counted or not."""
    hurt, newest = _last_pain(at), at.newest
    if hurt is None or (newest is not None and newest.order > hurt.order):
        return None
    rung = at.present if hurt.gone or (newest and newest.rung < hurt.rung) else hurt.rung
    restored = ", restored since" if rung == 0 else ""
    change = f"{counted(PAIN_FREE, 'result')} without pain before it gets harder again"
    return Verdict("easier", "pain", f"{_pain_words(at, hurt)}{restored}", rung, (hurt,), change)


def _first_time(at: VerdictInput) -> Verdict | None:
    if at.newest is not None:
        return None
    why = "no result counts yet: start rung" if at.results else "first time: start rung"
    change = "the first result that counts decides"
    return Verdict("same", "first time", why, at.start, at.results[-1:], change)


def _long_break(at: VerdictInput) -> Verdict | None:
    newest = _newest(at)
    if at.days_since(newest) < LONG_BREAK:
        return None
    why = f"{at.days_since(newest).days} days since the last result that counts: a long break"
    return Verdict("easier", "long break", why, newest.rung, (newest,), _NEXT)


def _far_too_early(at: VerdictInput) -> Verdict | None:
    newest, low = _newest(at), at.band_s[0]
    if newest.failed_s is None or newest.failed_s >= low / 2:
        return None
    why = f"{_how(newest)}, before half of {clock(low)}"
    return Verdict("easier", "far too early", why, newest.rung, (newest,))


def _early_again(at: VerdictInput) -> Verdict | None:
    newest, before = _newest(at), at.before
    if not at.is_early(newest) or before is None or not at.is_early(before):
        return None
    why = f"{_how(newest)}, before {clock(at.band_s[0])}, the second time in a row"
    return Verdict("easier", "early again", why, newest.rung, (before, newest))


def _early(at: VerdictInput) -> Verdict | None:
    newest, low = _newest(at), at.band_s[0]
    if not at.is_early(newest):
        return None
    why = f"{_how(newest)}, before {clock(low)}: grow into it"
    return Verdict("same", "early", why, newest.rung, (newest,), f"one more before {in_seconds(low)}: easier")


def _after_a_break(at: VerdictInput) -> Verdict | None:
    newest = _newest(at)
    if at.days_since(newest) < BREAK:
        return None
    why = f"{at.days_since(newest).days} days since the last result that counts"
    return Verdict("same", "break", why, newest.rung, (newest,), _ahead(at))


def _in_doubt(at: VerdictInput) -> Verdict | None:
    newest = _newest(at)
    if newest.done.form_broke:
        why = f"{_how(newest)}, but your form broke down first"
    elif newest.done.late_tap_s is not None:
        why = f"you tapped {tenths(newest.done.late_tap_s)} after the end"
    else:
        return None
    return Verdict("same", "in doubt", why, newest.rung, (newest,), _ahead(at))


def _soon_after_pain(at: VerdictInput) -> Verdict | None:
    """Match when there would be harder, but too few results without pain came after one with it."""
    newest, hurt = _newest(at), _last_pain(at)
    if hurt is None or not at.is_beyond(newest):
        return None
    free = tuple(each for each in at.counted if each.order > hurt.order)
    missing = PAIN_FREE - len(free)
    if missing <= 0:
        return None
    why = f"{_how(newest)}, but pain on {day_words(hurt.at, at.now)}"
    change = f"{missing} more without pain: harder is possible"
    return Verdict("same", "soon after pain", why, newest.rung, (hurt, *free), change)


def _undone(at: VerdictInput) -> Verdict | None:
    """Match when harder was taken back not long ago and this is not the second run to the end in a row."""
    newest, before = _newest(at), at.before
    recent = _undone_in(at.counted)
    second = newest.ran_to_end and before is not None and before.ran_to_end
    if not at.is_beyond(newest) or second or not recent:
        return None
    why = f"{_how(newest)}, but you came back down from a harder rung not long ago"
    change = "a second run to the end in a row: harder"
    return Verdict("same", "undone", why, newest.rung, (*recent, newest), change)


def _beyond(at: VerdictInput) -> Verdict | None:
    newest = _newest(at)
    if not at.is_beyond(newest):
        return None
    why = _how(newest) if newest.ran_to_end else f"{_how(newest)}, after {clock(at.band_s[1])}"
    return Verdict("harder", "beyond", why, newest.rung, (newest,))


def _short_window(at: VerdictInput) -> Verdict | None:
    """Match a run to the end of a window that ends before the band that is due: it shows too little."""
    newest, (low, high) = _newest(at), at.band_s
    if newest.failed_s is not None:
        return None
    why = f"{_how(newest)}, and {clock(low)}-{in_seconds(high)} is due now"
    return Verdict("same", "short window", why, newest.rung, (newest,), _ahead(at))


def _inside(at: VerdictInput) -> Verdict | None:
    newest, (low, high) = _newest(at), at.band_s
    why = f"{_how(newest)}, inside {clock(low)}-{clock(high)}"
    return Verdict("same", "inside", why, newest.rung, (newest,), _ahead(at))


_ROWS: tuple[Callable[[VerdictInput], Verdict | None], ...] = (
    _stopped,
    _pain,
    _first_time,
    _long_break,
    _far_too_early,
    _early_again,
    _early,
    _after_a_break,
    _in_doubt,
    _soon_after_pain,
    _undone,
    _beyond,
    _short_window,
    _inside,
)


# ---- what the rows share


def _on_the_ladder(at: VerdictInput, verdict: Verdict) -> Verdict:
    """Turn harder at the top and easier at the bottom into same, and say what follows from the others."""
    if verdict.word == "harder" and verdict.rung >= at.rungs - 1:
        why = f"{verdict.because}; the ladder needs a harder rung"
        return replace(verdict, word="same", because=why, would_change="a harder rung in the program")
    if verdict.word == "easier" and verdict.rung <= 0:
        is_hard = verdict.reason in ("far too early", "early again")
        end = "too hard even at the easiest rung: add an easier one, or ask your therapist"
        why = f"{verdict.because}; {end if is_hard else 'already at the easiest rung'}"
        change = verdict.would_change or ("an easier rung in the program" if is_hard else _NEXT)
        return replace(verdict, word="same", because=why, would_change=change)
    if verdict.word != "same" and not verdict.would_change:
        return replace(verdict, would_change=_NEXT)
    return verdict


_NEXT = "the next result that counts decides again"


def _newest(at: VerdictInput) -> Result:
    assert at.newest is not None  # noqa: S101 - rows after the first time are asked only then
    return at.newest


def _last_pain(at: VerdictInput) -> Result | None:
    return next((each for each in reversed(at.results) if each.pain), None)


def _pain_words(at: VerdictInput, hurt: Result) -> str:
    gone = ", at a rung that is no longer there" if hurt.gone else ""
    return f"pain on {day_words(hurt.at, at.now)}{gone}"


def _undone_in(results: tuple[Result, ...]) -> tuple[Result, ...]:
    """Return the pair of the last few counted results between which harder was undone; empty where not.

    Undone means: the rung fell from one that had been climbed to before, and not after a long break, which
    lowers whatever the results were.
    """
    recent = results[-UNDONE_WITHIN:]
    older = results[:-UNDONE_WITHIN]
    lowest = min((each.rung for each in older), default=None)
    for before, after in pairwise(recent):
        lowest = before.rung if lowest is None else min(lowest, before.rung)
        if after.rung < before.rung and lowest < before.rung and after.at - before.at < LONG_BREAK:
            return before, after
    return ()


def _how(result: Result) -> str:
    if result.failed_s is not None:
        return f"failed at {in_seconds(result.failed_s)}"
    return f"ran to the end of {in_seconds(result.done.window_s)}"


def _ahead(at: VerdictInput) -> str:
    """Return what the next result would have to be for another verdict."""
    low, high = at.band_s
    newest = _newest(at)
    beyond = "a run to the end" if high >= newest.done.window_s else f"after {in_seconds(high)}"
    again = "once more" if at.is_early(newest) else "twice in a row"
    return f"{beyond}: harder; {again} before {in_seconds(low)}, or once before {in_seconds(low / 2)}: easier"
