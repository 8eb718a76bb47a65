"""Rows on paper sorted into sessions: which are new, which are kept already, and where those differ."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise

from holdtimer.program.models import Defaults
from holdtimer.program.timeline import Side
from holdtimer.session.events import PaperResult
from holdtimer.session.paper_row import (
    ROUNDED,
    Lookup,
    PaperRow,
    StartKey,
    band_of,
    faults_of,
    remark_on,
    start_key,
    to_the_end,
)
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary
from holdtimer.text import one_line, sanitize

_SAME_NAMES = (
    "attempt", "window_s", "late_tap_s", "tension_s", "reentries", "interrupted", "skipped",
    "effort", "form_broke", "pain",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """What the rows of one session say together: its end, and whether it was an off day."""

    ended: datetime | None
    off_day: bool | None


def day_of(rows: Iterable[PaperRow]) -> Day:
    """Return what the rows of one session say together: the latest end, an off day where one row says so."""
    rows = tuple(rows)
    ends = [row.ended for row in rows if row.ended is not None and not row.date_only]
    said = [row.off_day for row in rows if row.off_day is not None]
    return Day(max(ends, default=None), any(said) if said else None)


def differing(row: PaperRow, day: Day, session: SessionSummary, kept: SetResult, lookup: Lookup) -> list[str]:
    """Return the columns in which a row differs from what is kept; an empty cell differs from nothing."""
    said: dict[str, tuple[object, object]] = {name: (getattr(row, name), getattr(kept, name))
                                              for name in _SAME_NAMES}  # fmt: skip
    said |= {
        "band_low_s": (row.band_low_s, kept.band_s[0]),
        "band_high_s": (row.band_high_s, kept.band_s[1]),
        "rung": (_rung(row.rung, kept, lookup), _rung(kept.rung, kept, lookup)),
        "note": (sanitize(row.note) if row.note else None, sanitize(kept.note or "")),
    }
    columns = [*_outcome(row, kept), *(name for name, (new, old) in said.items() if _differs(new, old))]
    if row.stopped not in (None, kept.stopped) and not (row.stopped == "symptom" and session.symptom):
        columns.append("stopped")
    return [*columns, *_of_the_day(row, day, session)]


def _outcome(row: PaperRow, kept: SetResult) -> Iterable[str]:
    """Yield where the result itself differs: an empty cell says here that there was none."""
    in_doubt = kept.perhaps_slip is not None and row.first_failure_s is None
    if row.first_failure_s is None or kept.first_failure_s is None:
        if row.first_failure_s != kept.first_failure_s and not in_doubt:
            yield "first_failure_s"
    elif _differs(row.first_failure_s, kept.first_failure_s):
        yield "first_failure_s"
    to_end = to_the_end(row)
    if to_end != kept.ran_to_end:
        yield "ran_to_end"
    elif to_end and kept.confirmed != (row.confirmed is not False or row.late_tap_s is not None):
        yield "confirmed"


def _of_the_day(row: PaperRow, day: Day, session: SessionSummary) -> Iterable[str]:
    """Yield where the session itself differs from what is kept."""
    if session.script and row.script not in (None, session.script):
        yield "script"
    if not row.date_only and row.ended not in (None, session.ended) and day.ended != session.ended:
        yield "ended"
    if row.off_day not in (None, session.off_day) and day.off_day != session.off_day:
        yield "off_day"


def _rung(name: str | None, kept: SetResult, lookup: Lookup) -> str | None:
    """Return a rung as it is called now, or as it is written where the program has it no more."""
    exercise = lookup.program.exercises.get(kept.exercise)
    known = lookup.rung(exercise, name) if exercise is not None else None
    return known or (None if name is None else sanitize(one_line(name)).casefold())


def _differs(new: object, old: object) -> bool:
    """Whether a cell that is filled in has another value; seconds are the same to the millisecond."""
    if isinstance(new, float) and isinstance(old, float):
        return abs(new - old) > ROUNDED
    return new is not None and new != old


CLOSE_TOGETHER = timedelta(minutes=30)

Remark = tuple[int, str]  # the line it is about, and the words
Earlier = Callable[[str], Iterable[SessionSummary]]  # a session as it was before later answers to it


@dataclass(frozen=True, slots=True)
class PaperSession:
    """The new results of one session; `known` is the session on paper they are to be added to."""

    started: datetime
    script: str
    results: tuple[PaperResult, ...]
    known: str | None


@dataclass(slots=True)
class SortedRows:
    """Rows of one person sorted into sessions; with any fault nothing of it may be used."""

    sessions: list[PaperSession] = field(default_factory=list)
    faults: list[Remark] = field(default_factory=list)
    warnings: list[Remark] = field(default_factory=list)
    known: int = 0  # rows that are kept already, on paper or led
    led: int = 0  # those of them that were led
    others: Counter[str] = field(default_factory=Counter)  # rows of other programs


def sort_rows(
    rows: Iterable[PaperRow],
    past: Iterable[SessionSummary],
    lookup: Lookup,
    earlier: Earlier = lambda _: (),
) -> SortedRows:
    """Sort rows into the sessions that are new among those of one person.

    A row that is kept already and differs is named, but not one that agrees with `earlier`: it was written
    before an answer or a correction.
    """
    found = SortedRows()
    own: dict[StartKey, list[SessionSummary]] = defaultdict(list)
    for each in past:
        if each.program == lookup.program.id and not each.rehearsal and each.started is not None:
            own[start_key(each.started, date_only=each.date_only)].append(each)
    begun = _by_start(rows, lookup, found)
    for key, group in begun.items():
        scripts = _scripts(group)
        for script in scripts:
            rows_of = [each for each in group if (each.script or scripts[0]) == script]
            _Group(rows_of, own[key], script, lookup, found, earlier).sort()
    found.warnings += _close_together(begun)
    return found


def _by_start(rows: Iterable[PaperRow], lookup: Lookup, found: SortedRows) -> dict[StartKey, list[PaperRow]]:
    groups: dict[StartKey, list[PaperRow]] = defaultdict(list)
    for row in rows:
        if row.program is not None and row.program.casefold() != lookup.program.id.casefold():
            found.others[row.program] += 1
        elif row.start_key is None:
            found.faults += [(row.line, words) for words in faults_of(row, lookup, None)]
        else:
            groups[row.start_key].append(row)
    return groups


def _close_together(begun: dict[StartKey, list[PaperRow]]) -> Iterator[Remark]:
    """Yield a remark where one session seems to be written down as several, set by set."""
    starts = sorted(key for key in begun if isinstance(key, datetime))
    for earlier, later in pairwise(starts):
        if later - earlier < CLOSE_TOGETHER:
            yield (
                begun[later][0].line,
                "this begins less than half an hour after another session; all rows of one session need "
                "the same started, the time the session began",
            )


@dataclass(slots=True)
class _Placed:
    """A row with its place in its session."""

    row: PaperRow
    exercise: str
    side: Side
    occurrence: int  # how many rows of this exercise and side stand before it
    number: int = 0


class _Group:
    """The rows of one session."""

    def __init__(
        self,
        rows: list[PaperRow],
        same: list[SessionSummary],
        script: str | None,
        lookup: Lookup,
        found: SortedRows,
        earlier: Earlier,
    ):
        """Take the rows, the sessions with the same start, and the script they name, None for none."""
        self._lookup, self._found, self._earlier = lookup, found, earlier
        self._day = day_of(rows)
        self._placed = list(_place(rows, lookup))
        self._script = lookup.script_of({each.exercise for each in self._placed}, script)
        self._led = [each for each in same if not each.on_paper]
        kept = [each for each in same if each.on_paper]
        fitting = [each for each in kept if script is None or each.script in (self._script, "")]
        self._kept = next(iter(fitting), None)

    def sort(self) -> None:
        new = [each for each in self._placed if not self._is_known(each)]
        self._number(new)
        self._check(new)
        if new and not self._found.faults:
            results = tuple(self._result(each) for each in new)
            started = new[0].row.started
            assert started is not None  # noqa: S101 - rows without are in no group
            known = self._kept.session if self._kept else None
            self._found.sessions.append(PaperSession(started, self._script, results, known))

    def _is_known(self, placed: _Placed) -> bool:
        if placed.row.faults:
            return False
        near = self._led or ([self._kept] if self._kept else [])
        found = next(((each, kept) for each in near if (kept := _same(each, placed))), None)
        if found is not None:
            self._compare(*found, placed)
        elif not self._led:
            return False
        elif not any(each.symptom and not each.results for each in self._led):
            self._warn(placed, "holdtimer led this session itself and has no such set; its own record stays")
        self._found.led += bool(self._led)
        self._found.known += 1
        return True

    def _compare(self, session: SessionSummary, kept: SetResult, placed: _Placed) -> None:
        """Name the columns in which a row differs from what is kept, and from what ever was."""
        columns = differing(placed.row, self._day, session, kept, self._lookup)
        if columns:  # only then is there anything to ask of the logs
            before = [(each, _same(each, placed)) for each in self._earlier(session.session)]
            earlier = [
                differing(placed.row, self._day, each, one, self._lookup) for each, one in before if one
            ]
            columns = min([columns, *earlier], key=len)
        if columns:
            words = f"set {kept.set} is already kept with other values ({', '.join(columns)})"
            self._warn(placed, f"{words}; the kept ones stay")

    def _number(self, new: list[_Placed]) -> None:
        taken = {each.set for each in self._kept.results} if self._kept else set()
        taken |= {each.row.set for each in self._placed if each.row.set is not None}
        last = max(taken, default=0)
        for placed in new:
            if placed.row.set is None:
                last += 1
            placed.number = last if placed.row.set is None else placed.row.set

    def _check(self, new: list[_Placed]) -> None:
        seen: dict[object, int] = {}
        if self._kept:
            seen = {each.set: 0 for each in self._kept.results}
        for placed in new:
            row = placed.row
            words = list(faults_of(row, self._lookup, self._settings(placed)))
            words += _twice(seen, placed)
            self._found.faults += [(row.line, each) for each in words]
            remark = None if words else remark_on(row)
            if remark:
                self._warn(placed, remark)

    def _settings(self, placed: _Placed) -> Defaults | None:
        if placed.exercise not in self._lookup.program.exercises:
            return None
        return self._lookup.settings(placed.exercise, self._script, placed.occurrence)

    def _warn(self, placed: _Placed, words: str) -> None:
        self._found.warnings.append((placed.row.line, words))

    def _result(self, placed: _Placed) -> PaperResult:
        row, settings = placed.row, self._settings(placed)
        exercise = self._lookup.program.exercises[placed.exercise]
        assert settings is not None and row.started is not None  # noqa: S101, PT018 - checked before
        window_s, band_s = band_of(row, settings)
        to_end = to_the_end(row)
        return PaperResult(
            n=0, t=0.0, set=placed.number, exercise=placed.exercise, side=placed.side,
            attempt=row.attempt or 1, kind=exercise.kind, rung=self._lookup.rung(exercise, row.rung) or "",
            window_s=window_s, band_s=band_s, final_s=settings.final_s, push_s=settings.push_s,
            reentry=settings.reentry, started=row.started.isoformat(),
            ended=row.ended.isoformat() if row.ended and not row.date_only else None,
            date_only=row.date_only, first_failure_s=row.first_failure_s, ran_to_end=to_end,
            # what a person writes on paper is their word; only an explicit no takes it back
            confirmed=to_end and row.confirmed is not False,
            late_tap_s=row.late_tap_s, tension_s=row.tension_s, reentries=row.reentries,
            interrupted=bool(row.interrupted), skipped=bool(row.skipped), stopped=row.stopped,
            effort=row.effort, form_broke=row.form_broke, pain=row.pain, off_day=bool(row.off_day),
            note=row.note or None,
        )  # fmt: skip


def _place(rows: Iterable[PaperRow], lookup: Lookup) -> Iterator[_Placed]:
    before: Counter[tuple[str, Side]] = Counter()
    for row in rows:
        exercise = lookup.exercise_id(row.exercise) or row.exercise or ""
        side = row.side or "both"
        yield _Placed(row, exercise, side, before[exercise, side])
        before[exercise, side] += 1


def _scripts(rows: Iterable[PaperRow]) -> list[str | None]:
    """Return the scripts that rows of one start name; those that name none belong to the first."""
    named: list[str | None] = list(dict.fromkeys(row.script for row in rows if row.script is not None))
    return named or [None]


def _same(session: SessionSummary, placed: _Placed) -> SetResult | None:
    """Return the set a row speaks of: by its number, else the n-th of its exercise and side."""
    alike = [each for each in session.results if (each.exercise, each.side) == (placed.exercise, placed.side)]
    if placed.row.set is not None:
        return next((each for each in alike if each.set == placed.row.set), None)
    return alike[placed.occurrence] if placed.occurrence < len(alike) else None


def _twice(seen: dict[object, int], placed: _Placed) -> Iterator[str]:
    """Yield what is wrong with a row that repeats one before it."""
    row = placed.row
    if row.set is not None:
        line = seen.setdefault(row.set, row.line)
        if line != row.line:
            where = f"in line {line}" if line else "in what is kept already"
            twice = f"set {row.set} of this session appears twice, here and {where}"
            yield f"{twice}; give each set its own number"
        return
    content = tuple(getattr(row, name) for name in row.__slots__ if name not in ("line", "faults"))
    line = seen.setdefault(content, row.line)
    if line != row.line:
        same = f"this row is the same as line {line}"
        yield f"{same}; if the set was done twice, number the sets in a column set"
