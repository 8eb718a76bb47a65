"""What is known of a person and a program, gathered for the page that is handed to a coach or therapist."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter
from pathlib import Path

from holdtimer.log.history import read_summaries
from holdtimer.log.lines import Damage
from holdtimer.log.reader import read_since
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.due import Due, DueSet, due, is_easy
from holdtimer.progression.function import Reading, function_days, readings
from holdtimer.progression.history import History, read_history
from holdtimer.progression.measurement import Group
from holdtimer.progression.trend import Trend, trend
from holdtimer.progression.wording import day_words
from holdtimer.report.corrections import corrections
from holdtimer.report.text import with_side
from holdtimer.session.summary import SessionSummary


@dataclass(frozen=True, slots=True)
class Record:
    """What the page tells of one person and program, as of `now` (aware), back to `since`.

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
    history: History
    due: Due
    coming: Mapping[SetKey, DueSet]
    trend: Trend
    tested: tuple[Reading, ...]
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
        history=read_history(program, known.sessions),
        due=found,
        coming={(each.exercise, each.side): each for each_due in reversed(dues) for each in each_due.sets},
        trend=trend(program, known.sessions, now),
        tested=readings(function_days(known.sessions), group),
        group=group,
        damage=known.damage,
        put_right=corrections(read_since(data, person, since, until), names),
    )
