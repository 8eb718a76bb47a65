"""Past sessions, sorted into what verdicts and trends rest on: the results of each exercise and side."""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from functools import partial
from operator import attrgetter, itemgetter
from typing import NamedTuple

from holdtimer.program.models import Exercise, Program
from holdtimer.program.timeline import SetKey, Side
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary

Order = tuple[datetime, int, str]  # a start in UTC, the script's place in the program, the session

_NO_TIME = datetime.min.replace(tzinfo=UTC)  # stands for an unknown start


class Result(NamedTuple):
    """The one result a session has for an exercise and side: its first set.

    `order` places it among all others (see `order_of`); `rung` is the place on the ladder as it is now;
    `pain` whether any set of this exercise and side hurt that day; `restored` whether that pain was
    later said to have settled. One at a rung that is `gone` is kept for its pain alone: it never counts, and
    its `rung` says nothing. A tuple, since a log of years makes ten thousand of them for each answer.
    """

    session: str
    order: Order
    rung: int
    done: SetResult
    pain: bool
    restored: bool
    gone: bool = False

    @property
    def at(self) -> datetime:
        """When the session started, in UTC; the end of the day where only the day is known."""
        return self.order[0]

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
    def ran_to_end(self) -> bool:
        """Whether it counts as a run to the end."""
        return self.counted and self.failed_s is None


@dataclass(frozen=True, slots=True)
class Stop:
    """A session, of whatever program or a rehearsal, that was ended because something felt wrong.

    `answered` is whether it was said to have settled. One on paper may never have been asked about: a run
    session of a later day that was really worked (`gone_on` is its place) shows that the person went on after
    it. A session on paper, skipped, silent, or opened and left shows nothing.
    """

    session: str
    order: Order
    answered: bool
    gone_on: Order | None

    @property
    def at(self) -> datetime | None:
        """When the session started, in UTC: the end of the day where only that is known; None if not even."""
        return None if self.order[0] == _NO_TIME else self.order[0]

    @property
    def released(self) -> bool:
        """Whether it no longer holds every program."""
        return self.answered or self.gone_on is not None

    def as_of(self, order: Order) -> "Stop":
        """Return it as it stood once the sessions up to this place were done."""
        return replace(self, gone_on=None) if self.gone_on is not None and self.gone_on > order else self


@dataclass(frozen=True, slots=True)
class History:
    """What a person has done up to a moment, oldest first whatever the order it was handed in.

    `sessions` are of every program, `own` of this one; rehearsals are in neither, but their `stops` are.
    `left_out` names in plain words what the program no longer knows.
    """

    program: Program
    sessions: tuple[SessionSummary, ...]
    own: tuple[SessionSummary, ...]
    stops: tuple[Stop, ...]
    results: dict[SetKey, tuple[Result, ...]]
    left_out: tuple[str, ...]

    def of(self, key: SetKey) -> tuple[Result, ...]:
        """Return the results of an exercise and side."""
        return self.results.get(key, ())

    def until(self, session: SessionSummary) -> "History":
        """Return what was known of it once a session, which has a start, and those before it were done."""
        place = partial(order_of, self.program)
        order = place(session)
        until = {key: each[: bisect_right(each, order, key=_order)] for key, each in self.results.items()}
        return replace(
            self,
            sessions=self.sessions[: bisect_right(self.sessions, order, key=place)],
            own=self.own[: bisect_right(self.own, order, key=place)],
            stops=tuple(each.as_of(order) for each in self.stops if each.order <= order),
            results={key: each for key, each in until.items() if each},
        )


def order_of(program: Program, session: SessionSummary) -> Order:
    """Return where a session with a start stands among all others: by start, script, and then its id.

    A row on paper with a date only stands at the end of its day. Scripts are in the order of the program,
    those it does not have after them.
    """
    script, started = len(program.scripts), session.started or _NO_TIME
    if session.program == program.id:
        places = (place for place, each in enumerate(program.scripts) if each.id == session.script)
        script = next(places, script)
    if session.date_only:
        started = datetime.combine(started.date(), time.max, started.tzinfo)
    return started.astimezone(UTC), script, session.session


def _order(result: Result) -> Order:
    return result.order


def read_history(program: Program, past: Iterable[SessionSummary]) -> History:
    """Sort the sessions of one person, rehearsals among them.

    One with no known start is left out, but where something felt wrong in it, it is among the stops.
    """
    past = tuple(past)
    placed = [(order_of(program, each), each) for each in past if each.started is not None]
    placed.sort(key=itemgetter(0))
    lost = [each for each in past if each.started is None]
    unplaced = sum(not each.rehearsal for each in lost)
    real = [each for each in placed if not each[1].rehearsal]
    own = [each for each in real if each[1].program == program.id]
    results, left_out = _Sorter(program).sort(own)
    if unplaced:
        left_out = (*left_out, f"sessions with no time of day: {unplaced}")
    return History(
        program=program,
        sessions=tuple(session for _, session in real),
        own=tuple(session for _, session in own),
        stops=(*_stops_with_no_time(lost), *_stops(placed)),
        results=results,
        left_out=left_out,
    )


def _stops_with_no_time(lost: Iterable[SessionSummary]) -> Iterator[Stop]:
    """Yield the stops of sessions with no known start; nothing but an answer shows that one settled."""
    for session in lost:
        if session.symptom:
            yield Stop(session.session, (_NO_TIME, 0, session.session), session.released, None)


def _stops(placed: list[tuple[Order, SessionSummary]]) -> Iterator[Stop]:
    """Yield the stops for a symptom."""
    for index, (order, session) in enumerate(placed):
        if session.symptom:
            later = placed[index + 1 :] if session.on_paper and not session.released else []
            gone_on = (place for place, each in later if _shows_going_on(session, each))
            yield Stop(session.session, order, session.released, next(gone_on, None))


def _shows_going_on(stopped: SessionSummary, later: SessionSummary) -> bool:
    """Whether a later session was run on another day, and worked."""
    if stopped.started is None or later.started is None or later.on_paper or later.rehearsal:
        return False
    return later.is_hard and later.started.date() > stopped.started.date()


class _Sorter:
    """Sorts results by exercise and side, and counts what the program no longer knows."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._rungs: dict[tuple[str, Side, str], int | str] = {}
        self._left_out: Counter[str] = Counter()

    def sort(
        self, sessions: Iterable[tuple[Order, SessionSummary]]
    ) -> tuple[dict[SetKey, tuple[Result, ...]], tuple[str, ...]]:
        found: dict[SetKey, list[Result]] = defaultdict(list)
        for order, session in sessions:
            for key, result in self._of_session(order, session).items():
                found[key].append(result)
        left_out = tuple(f"{what}: {count}" for what, count in sorted(self._left_out.items()))
        return {key: tuple(results) for key, results in found.items()}, left_out

    def _of_session(self, order: Order, session: SessionSummary) -> dict[SetKey, Result]:
        found: dict[SetKey, Result] = {}
        # before a set could be named, to release a session with no stop was to restore what hurt in it
        all_restored = session.released and not session.symptom
        for done in sorted(session.results, key=attrgetter("set")):
            key, pain = (done.exercise, done.side), bool(done.pain)
            restored = all_restored or done.set in session.restored
            rung = self._rungs.get((*key, done.rung))
            if rung is None:
                rung = self._rungs[*key, done.rung] = self._rung(done)
            if isinstance(rung, str):
                self._left_out[rung] += 1
                if not pain or not self._has(done):
                    continue
                new = Result(session.session, order, 0, done, pain, restored, gone=True)
            else:
                new = Result(session.session, order, rung, done, pain, restored)
            found[key] = _one_of(found[key], new) if key in found else new
        return found

    def _has(self, done: SetResult) -> bool:
        """Whether the program still has the exercise, and on that side."""
        exercise = self._program.exercises.get(done.exercise)
        return exercise is not None and done.side in sides_of(exercise)

    def _rung(self, done: SetResult) -> int | str:
        """Return the place on the ladder as it is now, or in words what the program no longer knows."""
        exercise = self._program.exercises.get(done.exercise)
        if exercise is None:
            return f'results of "{done.exercise}", which is no longer in the program'
        if not self._has(done):
            return f'results of "{exercise.name}" on a side it no longer has ({done.side})'
        rung = exercise.rung_index(done.rung)
        gone = f'results of "{exercise.name}" at "{done.rung}", which is no longer a rung'
        return gone if rung is None else rung


def sides_of(exercise: Exercise) -> tuple[Side, ...]:
    """Return the sides an exercise is done on."""
    return ("both",) if exercise.sides == "both" else ("left", "right")


def _one_of(first: Result, later: Result) -> Result:
    """Return the one result of two in a session: the first set, with the pain of both."""
    kept = later if later.counted and not first.counted else first
    return kept._replace(pain=first.pain or later.pain, restored=first.restored or later.restored)
