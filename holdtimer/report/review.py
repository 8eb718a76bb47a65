"""What the review shows: rows of sessions, days of the last weeks, one set, what an answer changes."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.due import Due, DueSet, was_done
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.log import kinds
from holdtimer.report.text import (
    NO_ANSWER,
    reason_words,
    result_words,
    script_title,
    value_words,
    verdict_word,
    with_side,
)
from holdtimer.session.corrections import REMOVALS, Question, corrected, questions, standing
from holdtimer.session.events import Answer
from holdtimer.session.results import SetResult
from holdtimer.session.state import Session, SetState, Stamp
from holdtimer.session.summary import SessionSummary
from holdtimer.text import MONTHS, harmless, sanitize, tenths

if TYPE_CHECKING:  # it loads SciPy
    from holdtimer.progression.trend import Trend

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

# ---- all sessions


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One session in the list: its day and time as they were there, how many of its sets count, its marks."""

    session: str
    day: date | None
    date: str
    time: str
    script: str
    sets: str
    marks: tuple[str, ...]


def session_row(past: SessionSummary, program: Program | None) -> SessionRow:
    """Return the row of a session; scripts go by their titles in `program`, where it has them."""
    day = past.started.date() if past.started is not None else None
    has_time = past.started is not None and not past.date_only
    script = script_title(program, past.script) if program is not None and past.script else past.script
    count = [each.counted for each in past.results] + [each.counted for each in past.tests]
    return SessionRow(
        session=past.session,
        day=day,
        date=f"{_DAYS[day.weekday()]} {day_of_year(day)} {day.year}" if day is not None else "no date",
        time=f"{past.started:%H:%M}" if has_time else "",
        script=script,
        sets=f"{sum(count)}/{len(count)}" if count else "",
        marks=tuple(marks_of(past)),
    )


def day_of_year(day: date) -> str:
    """Return a day in short: "24 Nov"."""
    return f"{day.day} {MONTHS[day.month - 1][:3]}"


def marks_of(past: SessionSummary) -> Iterator[str]:
    """Yield what waits for an answer, and what is out of the ordinary about a session."""
    waiting = sum(each.perhaps_slip is not None or waits_for_end(each) for each in past.results)
    if waiting:
        yield f"{waiting} to answer"
    yield from kinds(past)


def waits_for_end(result: SetResult) -> bool:
    """Whether a window closed in silence, and nobody has said yet how it went."""
    return result.ran_to_end and not result.confirmed and not result.counted


def matching(rows: Sequence[SessionRow], typed: str) -> list[SessionRow]:
    """Return the rows whose date fits what was typed: a part of 2026-11-24, 24.11.2026 or 24 nov 2026."""
    wanted = _plain(typed)
    if not wanted:
        return list(rows)
    return [row for row in rows if row.day is not None and _fits(row.day, wanted)]


def _fits(day: date, wanted: str) -> bool:
    month = MONTHS[day.month - 1].lower()
    written = (
        day.isoformat(),
        f"{day.day}.{day.month}.{day.year}",
        f"{day.day:02d}.{day.month:02d}.{day.year}",
        f"{day.day} {month} {day.year}",
        f"{day.day} {month[:3]} {day.year}",
        f"{month} {day.day} {day.year}",
        f"{month} {day.year}",
        f"{month[:3]} {day.year}",
        str(day.year),
    )
    return any(each.startswith(wanted) for each in written)


def _plain(typed: str) -> str:
    return re.sub(r"[\s,]+", " ", typed).strip().lower()


# ---- the last weeks

DayKind = Literal["hard", "early", "easy", "recovering", "free", "ahead"]


@dataclass(frozen=True, slots=True)
class Week:
    """One week from a Monday: what each of its days was, and how many hard sessions it had."""

    monday: date
    days: tuple[DayKind, ...]
    hard: int


def last_weeks(
    sessions: Iterable[SessionSummary], now: datetime, recovery_h: float, count: int = 8
) -> list[Week]:
    """Return the last weeks, this one last: days with a session, and days that were for recovery.

    A day is one of recovery where nothing hard should have begun on it: recovery lasts to its end.
    """
    today = now.date()
    first = today - timedelta(days=today.weekday(), weeks=count - 1)
    kinds: dict[date, DayKind] = {}
    hard_days: list[date] = []
    for past in sessions:
        if past.started is None or past.rehearsal or not was_done(past):
            continue
        begun = past.started.astimezone(now.tzinfo)
        if begun.date() < first - timedelta(days=14) or begun > now:
            continue
        if not past.is_hard:
            kinds.setdefault(begun.date(), "easy")
            continue
        kinds[begun.date()] = "early" if past.is_early or kinds.get(begun.date()) == "early" else "hard"
        hard_days.append(begun.date())
        free_from = ((past.ended or past.started).astimezone(UTC) + timedelta(hours=recovery_h)).astimezone(
            now.tzinfo
        )
        day = begun.date() + timedelta(days=1)
        while day < free_from.date():
            if kinds.get(day, "easy") == "easy":
                kinds.setdefault(day, "recovering")
            day += timedelta(days=1)
    weeks = []
    for number in range(count):
        monday = first + timedelta(weeks=number)
        dates = [monday + timedelta(days=each) for each in range(7)]
        days = tuple(kinds.get(day, "ahead" if day > today else "free") for day in dates)
        weeks.append(Week(monday, days, sum(day in dates for day in hard_days)))
    return weeks


# ---- one session


def outcome_words(result: SetResult, verdict: Verdict | None) -> str:
    """Return in a line how a set ended, and what follows for next time or why it does not count."""
    said = result_words(result)
    pain = ", PAIN" if result.pain else ""
    if not result.counted:
        why = "" if result.counted_because.startswith(said) else f": {result.counted_because}"
        return f"{said}{pain} · does not count{why}"
    if verdict is None:
        return f"{said}{pain}"
    exact = said.replace(" about ", " ")
    if verdict.because.startswith(exact) and not verdict.paused:
        what = said + verdict.because.removeprefix(exact)
        return f"{what}{pain} · next time {'the same' if verdict.word == 'same' else verdict.word}"
    return f"{said}{pain} · next time {_verdict_words(verdict)}"


def _verdict_words(verdict: Verdict, by: str = "") -> str:
    word = "the same" if verdict.word == "same" and not verdict.paused else verdict_word(verdict)
    return f"{word}{by}: {reason_words(verdict)}"


# ---- one set, to be put right

ItemKind = Literal["stamp", "removed", "add", "question", "off_day"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing about a set that can be changed; `stamps` are those that were taken out together."""

    kind: ItemKind
    label: str
    question: Question | None = None
    stamps: tuple[Stamp, ...] = ()
    removal: Answer | None = None

    @property
    def waits(self) -> bool:
        """Whether the set does not count before this is answered."""
        known = self.question
        return known is not None and known.value is None and known.field in ("slip", "ran_to_end")

    @property
    def is_estimated(self) -> bool:
        """Whether its time is what a person said afterwards."""
        return self.kind == "stamp" and any(each.estimated for each in self.stamps)


_STAMP_WORDS = {"failure": "failed", "re-entry": "back in"}
_LABELS = {
    "slip": "a slip of the key?",
    "ran_to_end": "worked to the end",
    "failed_about": "failed about",
    "effort": "effort, 0 to 10",
    "form_broke": "form broke down before the stamp",
    "pain": "sharp, new or joint pain",
    "note": "note",
}


def items_of(session: Session, answers: Sequence[Answer], number: int) -> list[Item]:
    """Return what can be changed about the set with this number, with `answers` in force, as it is shown.

    Nothing where the session has no such set.
    """
    now = corrected(session, answers)
    each = next((one for one in now.sets if one.set == number), None)
    if each is None:
        return []
    found: list[Item] = []
    rest: list[Item] = []
    for question in questions(each):
        if question.field == "moved":
            stamp = _stamp_of(each, question)
            found.append(Item("stamp", _STAMP_WORDS[stamp.kind], question, (stamp,)))
        else:
            rest.append(Item("question", _LABELS[question.field], question))
    found += _taken_out(session, answers, each)
    if each.opened_t is not None and not each.has_gaps:
        found.append(Item("add", "add a stamp"))
    day = Question("off_day", "was this an off day?", "yes-no", now.off_day, each.set)
    return [*found, *rest, Item("off_day", "off day, the whole session", day)]


def _taken_out(session: Session, answers: Sequence[Answer], each: SetState) -> Iterator[Item]:
    """Yield the stamps that answers took out of a set: each such answer can be taken back alone."""
    here = {(stamp.n, stamp.added_by) for stamp in each.stamps}
    for removal in standing(answers):
        if removal.field in REMOVALS and removal.value is True:
            without = corrected(session, [answer for answer in answers if answer is not removal])
            there = next(one.stamps for one in without.sets if one.set == each.set)
            out = tuple(stamp for stamp in there if (stamp.n, stamp.added_by) not in here)
            if out:
                yield Item("removed", "taken out", None, out, removal)


def _stamp_of(each: SetState, question: Question) -> Stamp:
    return next(
        stamp
        for stamp in each.stamps
        if (stamp.added_by == question.of_answer if question.of_answer else stamp.n == question.of)
    )


def item_value(item: Item) -> str:
    """Return in a few words what is known of an item; a dash where nothing is."""
    if item.kind == "removed":
        return ", ".join(f"{_STAMP_WORDS[each.kind]} {tenths(each.at)}" for each in item.stamps)
    return "" if item.question is None else _value_words(item.question)


def _value_words(question: Question) -> str:
    value = question.value
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return sanitize(value_words(value))
    return tenths(value) if question.kind == "seconds" else f"{value:g}"


def seconds_typed(text: str) -> float | None:
    """Return a time that was typed, "64.5", "64,5" or "1:04.5", in seconds; None where it is none."""
    found = re.fullmatch(r"\s*(?:(\d{1,2}):)?(\d{1,3}(?:[.,]\d+)?)\s*s?\s*", text)
    return None if found is None else int(found[1] or 0) * 60 + float(found[2].replace(",", "."))


def change_words(change: Answer, before: Session, now: Session, name: Callable[[SetState], str]) -> str:
    """Return what undoing or redoing a change made of a session: in which set, and how it stands now.

    `name` names the exercise of a set.
    """
    if change.field == "off_day":
        return f"off day, now {'yes' if now.off_day else 'no'}"
    what = _CHANGE_WORDS[change.field]
    pairs = zip(before.sets, now.sets, strict=True)
    was, each = next(((was, each) for was, each in pairs if was != each), (None, None))
    if was is None or each is None:  # such as a stamp moved that was taken out since
        return what
    gone = [_stamp_words(stamp) for stamp in was.stamps if stamp not in each.stamps]
    new = [_stamp_words(stamp) for stamp in each.stamps if stamp not in was.stamps]
    if gone or new:
        what = f"now {', '.join(new)}" if new else f"{', '.join(gone)} taken out"
    else:
        asked = next((one for one in questions(each) if one.field == change.field), None)
        said = _value_words(asked) if asked is not None else NO_ANSWER
        what += f", now {'no answer' if said == NO_ANSWER else harmless(said)}"
    return f"{name(each)}, set {each.set}: {what}"


def _stamp_words(stamp: Stamp) -> str:
    return f"{_STAMP_WORDS[stamp.kind]} at {tenths(stamp.at)}"


_CHANGE_WORDS = _LABELS | {
    "moved": "a stamp moved",
    "added": "a stamp added",
    "slip": "a slip of the key",
    "removed": "a stamp taken out",
    "effort": "effort",
    "pain": "pain",
    "released": "settled or checked",
}


# ---- what an answer changes in what is due


@dataclass(frozen=True, slots=True)
class Changed:
    """What is due of one exercise and side, and what was before where that differs."""

    name: str
    now: str
    because: str
    was: str = ""
    was_because: str = ""

    @property
    def differs(self) -> bool:
        """Whether anything about it is another thing now."""
        return bool(self.was or self.was_because)


@dataclass(frozen=True, slots=True)
class DueChange:
    """What answers change in what is due: when, and the exercises that differ; `own` is that of the set."""

    own: Changed | None
    others: tuple[Changed, ...]
    when: str
    was_when: str = ""

    @property
    def is_none(self) -> bool:
        """Whether nothing changes."""
        return not (self.others or self.was_when or (self.own is not None and self.own.differs))


def due_change(before: Due, after: Due, program: Program, key: SetKey | None = None) -> DueChange:
    """Return what differs between two states of what is due; `key` is the exercise and side looked at."""
    was = {(each.exercise, each.side): each for each in before.sets}
    own, others = None, []
    for each in after.sets:
        this = (each.exercise, each.side)
        changed = _changed(was.get(this), each, program)
        if this == key:
            own = changed
        elif changed.differs:
            others.append(changed)
    script = f"{script_title(program, after.script)}, {after.when}"
    then = f"{script_title(program, before.script)}, {before.when}"
    return DueChange(own, tuple(others), script, then if then != script else "")


def _changed(was: DueSet | None, now: DueSet, program: Program) -> Changed:
    name = with_side(program.exercises[now.exercise].name, now.side)
    if was is None:
        return Changed(name, *_due_words(now), was="not in this session")
    new, because = _due_words(now, _is_older(now, was))
    old, old_because = _due_words(was, _is_older(was, now))
    return Changed(
        name,
        new,
        because,
        was=old if old != new else "",
        was_because=old_because if old_because != because else "",
    )


def _is_older(each: DueSet, other: DueSet) -> bool:
    """Whether what is due rests on an earlier session than in the other state."""
    mine, others = each.outlook.verdict.evidence, other.outlook.verdict.evidence
    return bool(mine and others) and mine[-1].order < others[-1].order


def _due_words(each: DueSet, is_older: bool = False) -> tuple[str, str]:
    verdict = each.outlook.verdict
    if verdict.paused:
        return "left out", reason_words(verdict)
    return each.rung, _verdict_words(verdict, ", going by an earlier session" if is_older else "")


# ---- one exercise over the weeks


def trend_words(trend: "Trend", exercise: str) -> list[str]:
    """Return what can be said of an exercise over the weeks: the sentence first, then the figures."""
    from holdtimer.report.trend import change_words, usual_words

    found = []
    for item in trend.items:
        if item.exercise == exercise:
            change = f"; {change_words(item)} % a week (95 %)" if item.change is not None else ""
            found += [item.sentence, f"  usually {usual_words(item)} at {item.rung}{change}"]
    found += [each.words for each in trend.sides if each.exercise == exercise and each.words]
    return found or ["no result counts yet"]
