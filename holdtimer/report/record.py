"""What the page for a coach or therapist shows of a person and a program, what was corrected included."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter
from pathlib import Path

from holdtimer.log.history import answers_by_session, read_summaries
from holdtimer.log.lines import Damage
from holdtimer.log.reader import read_since
from holdtimer.log.session_log import SessionLog
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.due import Due, DueSet, due, is_easy
from holdtimer.progression.function import FunctionTrend, function_days, function_trends
from holdtimer.progression.measurement import Group
from holdtimer.progression.trend import Trend, trend
from holdtimer.report.course import Course, courses
from holdtimer.report.text import with_side
from holdtimer.session.corrections import in_force
from holdtimer.session.events import Answer
from holdtimer.session.state import Session, SetState, Stamp
from holdtimer.session.summary import SessionSummary
from holdtimer.text import day_words, in_seconds


@dataclass(frozen=True, slots=True)
class Record:
    """What the page shows of one person and program, as of `now` (aware), back to `since`.

    `past` are the sessions of that time, of every program, oldest first, and rehearsals that were stopped
    because something felt wrong; `put_right` are corrections in words, by session. `coming` is what is due of
    each exercise and side, in whichever script. `tested` are all function tests so far, judged by the error
    of the `group`.
    """

    person: str
    program: Program
    since: datetime
    now: datetime
    past: tuple[SessionSummary, ...]
    due: Due
    coming: Mapping[SetKey, DueSet]
    trend: Trend
    courses: Sequence[Course]
    tested: tuple[FunctionTrend, ...]
    group: Group
    damage: tuple[Damage, ...]
    put_right: Mapping[str, Sequence[str]]

    @property
    def own(self) -> tuple[SessionSummary, ...]:
        """The sessions of this program among them, rehearsals left out."""
        return tuple(e for e in self.past if e.program == self.program.id and not e.rehearsal)

    def name(self, key: SetKey) -> str:
        """Return the name of an exercise and its side."""
        exercise = self.program.exercises.get(key[0])
        return with_side(key[0] if exercise is None else exercise.name, key[1])

    def day(self, moment: datetime | None) -> str:
        """Return a day in words."""
        return "day not known" if moment is None else day_words(moment, self.now)


def read_record(
    data: Path,
    person: str,
    program: Program,
    now: datetime,
    weeks: int,
    until: datetime | None = None,
    group: Group = "older-adults",
) -> Record:
    """Return the record of a person and program at `now` (aware), back so many weeks.

    What came after `until` is ignored; with none everything counts.
    """
    known = read_summaries(data, person, rehearsals=True, until=until)
    since = now - timedelta(weeks=weeks)
    began = ((each.started, each) for each in known.sessions if each.symptom or not each.rehearsal)
    past = [each for started, each in began if started is not None and since <= started]
    found = due(program, known.sessions, now)
    others = [each.id for each in program.scripts if each.id != found.script and not is_easy(each)]
    dues = [found, *(due(program, known.sessions, now, each) for each in others)]
    names = {name: exercise.name for name, exercise in program.exercises.items()}
    return Record(
        person=person,
        program=program,
        since=since,
        now=now,
        past=tuple(sorted(past, key=attrgetter("started"))),
        due=found,
        coming={(each.exercise, each.side): each for each_due in reversed(dues) for each in each_due.sets},
        trend=trend(program, known.sessions, now),
        courses=courses(program, known.sessions),
        tested=function_trends(function_days(known.sessions), group),
        group=group,
        damage=known.damage,
        put_right=corrections(read_since(data, person, since, until), names),
    )


def corrections(logs: Sequence[SessionLog], names: Mapping[str, str]) -> dict[str, list[str]]:
    """Return the corrections in force among some logs, in words, by the session they speak of.

    `names` are those of the exercises by their ids. What was only said about a set (effort, form, pain, a
    note) corrects nothing and is not among them.
    """
    given = answers_by_session(logs)
    sessions = {log.session: log for log in logs if log.session in given}
    return {
        name: list(_of_session(sessions[name].state(), in_force(given[name]), names))
        for name in sorted(sessions)
    }


def _of_session(session: Session, answers: Iterable[Answer], names: Mapping[str, str]) -> Iterator[str]:
    last = {_about(each): each for each in answers}  # the last word holds
    for answer in last.values():
        if answer.field == "off_day" and isinstance(answer.value, bool):
            yield "marked as an off day" if answer.value else "no longer marked as an off day"
        if answer.field == "released" and answer.value is True:
            yield "said that what stopped or hurt has settled or was checked"
        found = next((each for each in session.sets if _is_about(answer, each)), None)
        words = None if found is None else _of_set(answer, found)
        if found is not None and words is not None:
            yield f"{with_side(names.get(found.exercise, found.exercise), found.side)}: {words}"


def _about(answer: Answer) -> tuple[str | int | None, ...]:
    """Return what an answer speaks of; each tap that is added is another one."""
    return answer.field, answer.set, answer.of, answer.id if answer.field == "added" else answer.of_answer


def _is_about(answer: Answer, each: SetState) -> bool:
    if answer.set is not None:
        return answer.set == each.set
    return any(stamp.n == answer.of for stamp in each.stamps)


def _of_set(answer: Answer, each: SetState) -> str | None:
    """Return what was corrected in a set as it was recorded; None where nothing was."""
    stamp = next((one for one in each.stamps if one.n == answer.of), None)
    if answer.field == "slip" and answer.value is True:
        stamp = stamp or next(iter(each.stamps), None)
        return None if stamp is None else f"{_at(stamp)} was a slip of the key"
    if answer.field == "moved" and stamp is not None and isinstance(answer.value, float | int):
        return f"{_at(stamp)} moved to {in_seconds(answer.value)}"
    if answer.field == "removed" and answer.value is True and stamp is not None:
        return f"{_at(stamp)} taken out"
    if answer.field == "added" and isinstance(answer.value, float | int):
        return f"a tap added at about {in_seconds(answer.value)}"
    if answer.field == "failed_about" and isinstance(answer.value, float | int):
        return f"failed at about {in_seconds(answer.value)}, said later"
    if answer.field == "ran_to_end" and isinstance(answer.value, bool):
        return "worked to the end, said later" if answer.value else "not worked to the end, said later"
    return None


def _at(stamp: Stamp) -> str:
    return f"the {stamp.kind} at {in_seconds(stamp.at)}"
