"""Past sessions, sorted into what verdicts and trends rest on: the results of each exercise and side."""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime

from holdtimer.program.models import Exercise, Program
from holdtimer.program.timeline import Side
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

Key = tuple[str, Side]  # one exercise on one side


@dataclass(frozen=True, slots=True)
class Result:
    """The one result a session has for an exercise and side: its first set.

    `at` is when the session started, in UTC; `rung` the place on the ladder as it is now; `pain` whether any
    set of this exercise and side hurt that day; `released` whether that session was later said to be settled.
    One at a rung that is `gone` is kept for its pain alone: it never counts, and its `rung` says nothing.
    """

    session: str
    at: datetime
    rung: int
    done: SetResult
    pain: bool
    released: bool
    gone: bool = False

    @property
    def counted(self) -> bool:
        """Whether it counts as evidence."""
        return self.done.counted and not self.gone

    @property
    def failed_s(self) -> float | None:
        """First failure in seconds; None for a run to the end, which is longer than its window."""
        return self.done.first_failure_s

    @property
    def lasted_s(self) -> float:
        """Seconds it lasted at least: to the first failure, or the whole window."""
        return self.done.window_s if self.failed_s is None else self.failed_s

    @property
    def is_early(self) -> bool:
        """Whether failure came before the band."""
        return self.failed_s is not None and self.failed_s < self.done.band_s[0]

    @property
    def is_very_early(self) -> bool:
        """Whether failure came before half the band's start."""
        return self.failed_s is not None and self.failed_s < self.done.band_s[0] / 2

    @property
    def ran_to_end(self) -> bool:
        """Whether it counts as a run to the end."""
        return self.counted and self.failed_s is None

    @property
    def is_beyond(self) -> bool:
        """Whether it ran to the end or failed after the band."""
        return self.ran_to_end or (self.failed_s is not None and self.failed_s > self.done.band_s[1])


@dataclass(frozen=True, slots=True)
class Stop:
    """A session that was ended because something felt wrong. `at` in UTC.

    `answered` is whether it was said to have settled. One on paper may never have been asked about: a later
    session that was really worked (it started at `gone_on`, UTC) shows that the person went on after it. A
    session skipped, silent, or opened and left shows nothing.
    """

    session: str
    at: datetime
    answered: bool
    gone_on: datetime | None

    @property
    def released(self) -> bool:
        """Whether it no longer holds the program."""
        return self.answered or self.gone_on is not None

    def as_of(self, moment: datetime) -> "Stop":
        """Return it as it stands once the sessions that had started by `moment` (UTC) were done."""
        return replace(self, gone_on=None) if self.gone_on is not None and self.gone_on > moment else self


@dataclass(frozen=True, slots=True)
class History:
    """What a person has done up to a moment, oldest first whatever the order it was handed in.

    `sessions` are of every program, `own` of this one; rehearsals are in neither. `left_out` names in plain
    words what the program no longer knows.
    """

    sessions: tuple[SessionSummary, ...]
    own: tuple[SessionSummary, ...]
    stops: tuple[Stop, ...]
    results: dict[Key, tuple[Result, ...]]
    left_out: tuple[str, ...]

    def of(self, key: Key) -> tuple[Result, ...]:
        """Return the results of an exercise and side."""
        return self.results.get(key, ())

    def until(self, moment: datetime) -> "History":
        """Return what was known of it once the sessions that had started by `moment` (UTC) were done."""
        until = {key: each[: bisect_right(each, moment, key=_at)] for key, each in self.results.items()}
        return replace(
            self,
            sessions=self.sessions[: bisect_right(self.sessions, moment, key=_start)],
            own=self.own[: bisect_right(self.own, moment, key=_start)],
            stops=tuple(each.as_of(moment) for each in self.stops if each.at <= moment),
            results={key: each for key, each in until.items() if each},
        )


def _start(session: SessionSummary) -> datetime:
    assert session.started is not None  # noqa: S101 - sessions with no time are in no history
    return session.started.astimezone(UTC)


def _day(session: SessionSummary) -> date:
    assert session.started is not None  # noqa: S101 - as above
    return session.started.date()


def _at(result: Result) -> datetime:
    return result.at


def read_history(program: Program, past: Iterable[SessionSummary], now: datetime) -> History:
    """Sort the sessions of one person that had started by `now` (aware; ValueError where it is not)."""
    if now.tzinfo is None:
        raise ValueError("a moment needs its zone")
    placed, unplaced = [], 0
    for session in past:
        if session.rehearsal:
            continue
        if session.started is None:
            unplaced += 1
        elif (started := session.started.astimezone(UTC)) <= now:
            placed.append((started, session.session, session))
    placed.sort(key=lambda each: each[:2])
    own = [(at, session) for at, _, session in placed if session.program == program.id]
    results, left_out = _Sorter(program).sort(own)
    if unplaced:
        left_out = (*left_out, f"sessions with no time of day: {unplaced}")
    return History(
        sessions=tuple(session for _, _, session in placed),
        own=tuple(session for _, session in own),
        stops=tuple(_stops(own)),
        results=results,
        left_out=left_out,
    )


def _stops(own: list[tuple[datetime, SessionSummary]]) -> Iterator[Stop]:
    """Yield the stops for a symptom."""
    hard = [session for _, session in own if session.is_hard]
    for at, session in own:
        if session.symptom:
            gone_on = _gone_on(session, hard) if session.on_paper else None
            yield Stop(session.session, at, session.released, gone_on)


def _gone_on(stopped: SessionSummary, hard: list[SessionSummary]) -> datetime | None:
    """Return when the first hard session after one on paper started, None where there is none."""
    later = hard[bisect_right(hard, _start(stopped), key=_start) :]
    if stopped.date_only:  # what else was done on that day may have come before it
        later = [each for each in later if _day(each) > _day(stopped)]
    return _start(later[0]) if later else None


class _Sorter:
    """Sorts results by exercise and side, and counts what the program no longer knows."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._rungs: dict[tuple[str, str], int | None] = {}
        self._left_out: Counter[str] = Counter()

    def sort(
        self, sessions: Iterable[tuple[datetime, SessionSummary]]
    ) -> tuple[dict[Key, tuple[Result, ...]], tuple[str, ...]]:
        found: dict[Key, list[Result]] = defaultdict(list)
        for at, session in sessions:
            for key, result in self._of_session(at, session).items():
                found[key].append(result)
        left_out = tuple(f"{what}: {count}" for what, count in sorted(self._left_out.items()))
        return {key: tuple(results) for key, results in found.items()}, left_out

    def _of_session(self, at: datetime, session: SessionSummary) -> dict[Key, Result]:
        found: dict[Key, Result] = {}
        for done in sorted(session.results, key=lambda each: each.set):
            if not self._is_known(done):
                continue
            key, rung, pain = (done.exercise, done.side), self._rung(done), bool(done.pain)
            if rung is None and not pain:
                continue
            new = Result(session.session, at, rung or 0, done, pain, session.released, gone=rung is None)
            found[key] = _one_of(found[key], new) if key in found else new
        return found

    def _is_known(self, done: SetResult) -> bool:
        """Whether the program still has the exercise, and on that side."""
        exercise = self._program.exercises.get(done.exercise)
        if exercise is None:
            self._left_out[f'results of "{done.exercise}", which is no longer in the program'] += 1
        elif done.side not in sides_of(exercise):
            self._left_out[f'results of "{done.exercise}" on a side it no longer has ({done.side})'] += 1
        else:
            return True
        return False

    def _rung(self, done: SetResult) -> int | None:
        """Return the place on the ladder as it is now, None where there is no such rung any more."""
        name = (done.exercise, done.rung)
        if name not in self._rungs:
            self._rungs[name] = self._program.exercises[done.exercise].rung_index(done.rung)
        if self._rungs[name] is None:
            self._left_out[f'results of "{done.exercise}" at "{done.rung}", which is no longer a rung'] += 1
        return self._rungs[name]


def sides_of(exercise: Exercise) -> tuple[Side, ...]:
    """Return the sides an exercise is done on."""
    return ("both",) if exercise.sides == "both" else ("left", "right")


def _one_of(first: Result, later: Result) -> Result:
    """Return the one result of two in a session: the first set, with the pain of both."""
    kept = later if later.counted and not first.counted else first
    return replace(kept, pain=first.pain or later.pain)
