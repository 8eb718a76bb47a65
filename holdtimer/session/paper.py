"""Rows kept on paper, sorted into the sessions they add to what is known of a person."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise

from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey, Side
from holdtimer.session.events import Anchor, AnyEvent, PaperResult
from holdtimer.session.paper_row import (
    ROUNDED,
    PaperRow,
    ProgramLookup,
    StartKey,
    band_of,
    faults_of,
    start_key,
    to_the_end,
    warning_about,
)
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary
from holdtimer.text import one_line, sanitize

CLOSE_TOGETHER = timedelta(minutes=30)

Remark = tuple[int, str]  # a line, and what there is to say about it
EarlierSummaries = Callable[[str], Iterable[SessionSummary]]  # of a session, before each later answer to it

_COMPARED = (
    "attempt", "window_s", "late_tap_s", "tension_s", "reentries", "interrupted", "skipped",
    "effort", "form_broke", "pain",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PaperSession:
    """The new results of one session; `known` is the session on paper they are to be added to.

    `anchor` says when it was, where the results themselves don't.
    """

    started: datetime
    program: str
    script: str
    results: tuple[AnyEvent, ...]
    known: str | None
    anchor: Anchor | None = None


@dataclass(slots=True)
class ImportPlan:
    """What the rows come to; with any fault nothing of it may be used."""

    sessions: list[PaperSession] = field(default_factory=list)
    faults: list[Remark] = field(default_factory=list)
    warnings: list[Remark] = field(default_factory=list)
    new: int = 0  # rows that are in the sessions
    known: int = 0  # and those that are kept already
    run: int = 0  # those of the known that were run here, not on paper
    others: Counter[str] = field(default_factory=Counter)  # rows of other programs


def plan_import(
    rows: Iterable[PaperRow],
    summaries: Iterable[SessionSummary],
    program: Program,
    now: datetime,
    earlier: EarlierSummaries = lambda _: (),
) -> ImportPlan:
    """Sort rows into the sessions that are new among those of one person.

    A row that is kept already with other values is named, but not one that agrees with an `earlier` summary:
    it was written before an answer or a correction.
    """
    plan = ImportPlan()
    lookup = ProgramLookup(program)
    own: dict[StartKey, list[SessionSummary]] = defaultdict(list)
    for each in summaries:
        if each.program == program.id and not each.rehearsal and each.started is not None:
            own[start_key(each.started, date_only=each.date_only)].append(each)
    by_start: dict[StartKey, list[PaperRow]] = defaultdict(list)
    for row in rows:
        if row.program is not None and row.program.casefold() != program.id.casefold():
            plan.others[row.program] += 1
        elif row.start_key is None:
            plan.faults += [(row.line, words) for words in faults_of(row, lookup, None, now)]
        else:
            by_start[row.start_key].append(row)
    for key, group in by_start.items():
        # rows of one start that name no script belong to the first one named
        named = dict.fromkeys(row.script for row in group if row.script is not None)
        scripts: list[str | None] = [*named] or [None]
        for script in scripts:
            own_rows = [each for each in group if (each.script or scripts[0]) == script]
            _SessionRows(own_rows, own[key], script, lookup, now, plan, earlier).sort()
    plan.warnings += _close_together(by_start)
    return plan


def _close_together(by_start: dict[StartKey, list[PaperRow]]) -> Iterator[Remark]:
    """Yield a remark where one session seems to be written down as several, set by set."""
    starts = sorted(key for key in by_start if isinstance(key, datetime))
    for earlier, later in pairwise(starts):
        if later - earlier < CLOSE_TOGETHER:
            yield (
                by_start[later][0].line,
                "this begins less than half an hour after another session; give all rows of one session the "
                "same started, the time it began",
            )


@dataclass(slots=True)
class _RowSet:
    """A row with the set it is about: the `nth` of this exercise and side among the rows, from 0."""

    row: PaperRow
    exercise: str
    side: Side
    nth: int
    number: int = 0


class _SessionRows:
    """The rows of one session."""

    def __init__(
        self,
        rows: list[PaperRow],
        same_start: list[SessionSummary],
        script: str | None,
        lookup: ProgramLookup,
        now: datetime,
        plan: ImportPlan,
        earlier: EarlierSummaries,
    ):
        """Take the rows, the sessions known with the same start, and the script they name, None for none."""
        self._lookup, self._now, self._plan, self._earlier = lookup, now, plan, earlier
        # what the rows say of the session together: the latest end, an off day where one row says so
        ends = [row.ended for row in rows if row.ended is not None and not row.date_only]
        off_days = [row.off_day for row in rows if row.off_day is not None]
        self._ended, self._off_day = max(ends, default=None), any(off_days) if off_days else None
        self._sets = list(_row_sets(rows, lookup))
        self._script = lookup.script({each.exercise for each in self._sets}, script)
        self._run = [each for each in same_start if not each.on_paper]
        on_paper = [each for each in same_start if each.on_paper]
        fitting = [each for each in on_paper if script is None or each.script in (self._script, "")]
        self._kept = next(iter(fitting), None)

    def sort(self) -> None:
        """Add what is new in these rows to the plan, and what is wrong with them."""
        new = [each for each in self._sets if not self._is_known(each)]
        self._number(new)
        self._check(new)
        if new and not self._plan.faults:
            results = tuple(self._result(each) for each in new)
            started = new[0].row.started
            assert started is not None  # noqa: S101 - rows without are in no group
            known = self._kept.session if self._kept else None
            program = self._lookup.program.id
            self._plan.sessions.append(PaperSession(started, program, self._script, results, known))
            self._plan.new += len(results)

    def _is_known(self, each: _RowSet) -> bool:
        if each.row.faults:
            return False
        candidates = self._run or ([self._kept] if self._kept else [])
        found = next(((session, kept) for session in candidates if (kept := _kept_set(session, each))), None)
        if found is not None:
            self._compare(*found, each)
        elif not self._run:
            return False
        elif not any(session.symptom and not session.results for session in self._run):
            self._warn(each, "this session was run with holdtimer, without this set; nothing is added to it")
        self._plan.run += bool(self._run)
        self._plan.known += 1
        return True

    def _compare(self, session: SessionSummary, kept: SetResult, each: _RowSet) -> None:
        """Warn where a row differs from the set that is kept, and from every earlier state of it."""
        columns = self._differing(session, kept, each.row)
        if columns:  # only now are the logs needed
            for before in self._earlier(session.session):
                if (was := _kept_set(before, each)) is not None:
                    columns = min(columns, self._differing(before, was, each.row), key=len)
        if columns:
            words = f"set {kept.set} is already kept with other values ({', '.join(columns)})"
            self._warn(each, f"{words}; the kept values stay")

    def _differing(self, session: SessionSummary, kept: SetResult, row: PaperRow) -> list[str]:
        """Return the columns in which a row differs from what is kept; an empty cell says nothing."""
        values: dict[str, tuple[object, object]] = {
            name: (getattr(row, name), getattr(kept, name)) for name in _COMPARED
        }
        values |= {
            "band_low_s": (row.band_low_s, kept.band_s[0]),
            "band_high_s": (row.band_high_s, kept.band_s[1]),
            "rung": (self._rung(row.rung, kept), self._rung(kept.rung, kept)),
            "note": (sanitize(row.note) if row.note else None, sanitize(kept.note or "")),
        }
        columns = [*_outcome(row, kept), *(name for name, pair in values.items() if _differs(*pair))]
        if row.stopped not in (None, kept.stopped) and not (row.stopped == "symptom" and session.symptom):
            columns.append("stopped")
        if session.script and row.script not in (None, session.script):
            columns.append("script")
        if not row.date_only and row.ended not in (None, session.ended) and self._ended != session.ended:
            columns.append("ended")
        if row.off_day not in (None, session.off_day) and self._off_day != session.off_day:
            columns.append("off_day")
        return columns

    def _rung(self, name: str | None, kept: SetResult) -> str | None:
        """Return the present name of a rung, or the name as written where the program has it no more."""
        exercise = self._lookup.program.exercises.get(kept.exercise)
        known = self._lookup.rung(exercise, name) if exercise is not None else None
        return known or (None if name is None else sanitize(one_line(name)).casefold())

    def _number(self, new: list[_RowSet]) -> None:
        taken = {each.set for each in self._kept.results} if self._kept else set()
        taken |= {each.row.set for each in self._sets if each.row.set is not None}
        last = max(taken, default=0)
        for each in new:
            if each.row.set is None:
                last += 1
            each.number = last if each.row.set is None else each.row.set

    def _check(self, new: list[_RowSet]) -> None:
        seen: dict[object, int] = {}
        if self._kept:
            seen = {each.set: 0 for each in self._kept.results}
        for each in new:
            settings = self._lookup.settings(each.exercise, self._script, each.nth)
            faults = list(faults_of(each.row, self._lookup, settings, self._now))
            faults += _repeated(seen, each.row)
            self._plan.faults += [(each.row.line, words) for words in faults]
            warning = None if faults else warning_about(each.row)
            if warning:
                self._warn(each, warning)

    def _warn(self, each: _RowSet, words: str) -> None:
        self._plan.warnings.append((each.row.line, words))

    def _result(self, each: _RowSet) -> PaperResult:
        row, settings = each.row, self._lookup.settings(each.exercise, self._script, each.nth)
        exercise = self._lookup.program.exercises[each.exercise]
        assert settings is not None and row.started is not None  # noqa: S101, PT018 - checked before
        window_s, band_s = band_of(row, settings)
        to_end = to_the_end(row)
        return PaperResult(
            n=0, t=0.0, set=each.number, exercise=each.exercise, side=each.side,
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


def _row_sets(rows: Iterable[PaperRow], lookup: ProgramLookup) -> Iterator[_RowSet]:
    before: Counter[SetKey] = Counter()
    for row in rows:
        exercise = lookup.exercise_id(row.exercise) or row.exercise or ""
        side = row.side or "both"
        yield _RowSet(row, exercise, side, before[exercise, side])
        before[exercise, side] += 1


def _kept_set(session: SessionSummary, each: _RowSet) -> SetResult | None:
    """Return the set a row is about: by its number, else the n-th of its exercise and side."""
    alike = [kept for kept in session.results if (kept.exercise, kept.side) == (each.exercise, each.side)]
    if each.row.set is not None:
        return next((kept for kept in alike if kept.set == each.row.set), None)
    return alike[each.nth] if each.nth < len(alike) else None


def _repeated(seen: dict[object, int], row: PaperRow) -> Iterator[str]:
    """Yield what is wrong with a row that repeats one before it."""
    if row.set is not None:
        line = seen.setdefault(row.set, row.line)
        if line != row.line:
            where = f"in line {line}" if line else "among the sets already kept"
            yield f"set {row.set} of this session is also {where}; give each set its own number"
        return
    content = tuple(getattr(row, name) for name in row.__slots__ if name not in ("line", "faults"))
    line = seen.setdefault(content, row.line)
    if line != row.line:
        yield f"this row repeats line {line}; if you did the set twice, number the sets in a column set"


def _outcome(row: PaperRow, kept: SetResult) -> Iterable[str]:
    """Yield where the result itself differs: here an empty cell says that there was none."""
    in_doubt = (kept.perhaps_slip is not None or kept.has_gaps) and row.first_failure_s is None
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


def _differs(new: object, old: object) -> bool:
    """Whether a filled cell differs from what is kept; seconds are equal to the millisecond."""
    if isinstance(new, float) and isinstance(old, float):
        return abs(new - old) > ROUNDED
    return new is not None and new != old
