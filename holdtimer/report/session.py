"""One session with its verdicts, as a table and as the JSON document of `show --json`."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from itertools import zip_longest
from pathlib import Path
from typing import Any

from holdtimer.errors import ProgramError
from holdtimer.log.history import read_summaries
from holdtimer.log.reader import read_person
from holdtimer.log.session_log import SessionLog
from holdtimer.program.compiling import seconds_of
from holdtimer.program.loading import loads
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey
from holdtimer.progression.forecast import verdicts_after, verdicts_in
from holdtimer.progression.function import PRACTICE, practised, with_practice
from holdtimer.progression.history import History, read_history
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.function import test_lines, test_to_json, tests_table
from holdtimer.report.table import BAND, Axis, Block, Column, Glyphs, Row, Table, Words, drawn_column, ruler
from holdtimer.report.text import (
    Titles,
    Verdicts,
    about,
    break_words,
    is_by_rule,
    iso,
    reason_words,
    result_words,
    set_name,
    verdict_word,
)
from holdtimer.session.events import NAMES, Opened
from holdtimer.session.results import SetResult, Tempo, repetitions
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted, in_seconds, sentence, tenths

_NOT_IN_JSON = (
    "kind",
    "final_s",
    "push_s",
    "reentry",
    "estimated_s",
    "left_open",
    "has_gaps",
    "perhaps_slip",
    "reentries",
)


@dataclass(frozen=True, slots=True)
class SessionReport:
    """A session with the verdicts after it, by set number; titles and tempos are those of its own program."""

    session: SessionSummary
    titles: Titles
    verdicts: Verdicts = field(default_factory=dict)
    tempos: dict[str, Tempo] = field(default_factory=dict)

    def blocks(self) -> Iterator[Block]:
        """Yield how it went, then each set in a row."""
        yield from self._above()
        if self.session.results:
            yield Words("")
            yield self._table()
        if self.session.tests:
            yield Words("")
            yield tests_table(self.session.tests, self.titles.tests)

    def lines(self) -> Iterator[str]:
        """Yield it in sentences, which need no columns: to be read aloud."""
        yield from (words.text for words in self._above())
        for result in self.session.results:
            verdict = self.verdicts.get(result.set)
            ahead = f"; next time {verdict_word(verdict)}" if verdict is not None else ""
            yield f"{result.set}. {self._name(result)}: {result_words(result)}{ahead}"
            yield from (f"   {words.text}" for words in _notes(result, self.session, verdict))
        yield from test_lines(self.session.tests, self.titles.tests)

    def _above(self) -> Iterator[Words]:
        past = self.session
        yield Words(_headline(past, self.verdicts), "alarm" if past.symptom else "strong")
        yield Words(f"{self.titles.program}: {self.titles.script}")
        yield Words(", ".join((past.person, *_when(past))))

    def _name(self, result: SetResult) -> str:
        name = self.titles.exercises.get(result.exercise, result.exercise)
        attempt = f" (attempt {result.attempt})" if result.attempt > 1 else ""
        return set_name(name, result.side, result.rung) + attempt

    def _table(self) -> Table:
        results = self.session.results
        axis_s = max(each.window_s for each in results)
        bands = {at for each in results for at in each.band_s}
        columns = (
            Column(is_right=True),
            Column(is_name=True),
            drawn_column(axis_s, bands),
            Column("failed", is_right=True),
            Column("next"),
            Column("effort", is_right=True, rank=2),
            Column("worked", is_right=True, rank=3),
            Column("about", is_right=True, rank=4),
            Column("then", rank=5),
        )
        return Table(columns, tuple(self._row(each, axis_s) for each in results), _legend)

    def _row(self, result: SetResult, axis_s: float) -> Row:
        verdict = self.verdicts.get(result.set)
        is_drawn = bool(result.tension_s or result.first_failure_s)
        return Row(
            cells=(
                str(result.set),
                self._name(result),
                (lambda width, glyphs: ruler(result, Axis(axis_s, width), glyphs)) if is_drawn else "",
                _short_result(result),
                verdict_word(verdict) if verdict is not None else "",
                "" if result.effort is None else str(result.effort),
                in_seconds(result.tension_s) if is_drawn else "",
                _repetitions(result, self.tempos.get(result.exercise)),
                ", ".join(_after_failure(result)),
            ),
            notes=tuple(_notes(result, self.session, verdict)),
            strong=frozenset({4} if verdict and (verdict.word != "same" or verdict.paused) else ()),
        )

    def to_json(self) -> dict[str, Any]:
        """Return the document of format 1."""
        past = self.session
        return {
            "format": 1,
            "session": past.session,
            "program": past.program,
            "script": past.script,
            "person": past.person,
            "started": iso(past.started),
            "ended": iso(past.ended),
            "complete": past.complete,
            "rehearsal": past.rehearsal,
            "off_day": past.off_day,
            "sets": [_set_to_json(result, self.verdicts.get(result.set)) for result in past.results],
            "tests": [test_to_json(each) for each in past.tests],
        }


# ---- in words


def _headline(past: SessionSummary, verdicts: Verdicts) -> str:
    """Return in a sentence or two how a session went, and what follows from it."""
    if past.tests and not past.results:
        return " ".join([*_remarks(past), f"{counted(len(past.tests), 'test')}, {_tests_counted(past)}."])
    if not past.results:
        return " ".join([*_remarks(past), "No set was started."])
    came = Counter(map(_kind, past.results))
    ordered = {kind: came[kind] for kind in _KINDS if came[kind]}
    words = [*_remarks(past), f"{counted(len(past.results), 'set')}: {_numbers(ordered)}."]
    ahead = Counter(_AHEAD.get(verdict_word(each), verdict_word(each)) for each in verdicts.values())
    if ahead:
        rests_on = "" if _counts(past) else ", going by earlier sessions"
        words.append(f"Next time{rests_on}: {_numbers(dict(ahead.most_common()))}.")
    return " ".join(words)


def _tests_counted(past: SessionSummary) -> str:
    """Return how many tests of a session count: "2 of them counted", "for practice"."""
    done = sum(each.counted for each in past.tests)
    practice = sum(each.counted_because == PRACTICE for each in past.tests)
    if practice == len(past.tests):
        return "for practice"
    return f"{done} of them counted" + (f", {practice} for practice" if practice else "")


def _numbers(kinds: Mapping[str, int]) -> str:
    """Return how many there are of each kind: "6 in the band, 3 to the end", "all in the band"."""
    if len(kinds) == 1:
        ((kind, number),) = kinds.items()
        return kind if number == 1 else f"all {kind}"
    return ", ".join(f"{number} {kind}" for kind, number in kinds.items())


def _counts(past: SessionSummary) -> bool:
    """Whether the results of a session can count at all."""
    return not (past.off_day or past.rehearsal)


_AHEAD = {"same": "the same", "first": "the same"}
_KINDS = ("in the band", "before the band", "after the band", "to the end", "without a result")


def _kind(result: SetResult) -> str:
    failed, (low, high) = result.first_failure_s, result.band_s
    if failed is None:
        return "to the end" if result.ran_to_end and result.confirmed else "without a result"
    return "in the band" if low <= failed <= high else "before the band" if failed < low else "after the band"


def _remarks(past: SessionSummary) -> Iterator[str]:
    """Yield in sentences what is to be known of a session before its results."""
    if past.symptom:
        settled = ", settled or checked since" if past.released else ""
        yield f"Stopped because something felt wrong{settled}."
    if past.rehearsal:
        yield "A rehearsal: it never counts."
    if past.off_day:
        yield "An off day: it does not count."
    if past.is_early:
        yield "Started early."
    if past.on_paper:
        yield "Kept on paper."
    if not past.complete and not past.symptom:
        yield "Not finished."


def _when(past: SessionSummary) -> Iterator[str]:
    """Yield when a session was; of one on paper perhaps only the day is known."""
    if past.started is None:
        return
    day = f"{past.started:%A %Y-%m-%d}"
    if past.date_only:
        yield day
        return
    ended = f" to {past.ended:%H:%M}" if past.ended is not None else ""
    yield f"{day} {past.started:%H:%M}{ended}"


def _legend(glyphs: Glyphs) -> str:
    """Return what a ruler shows."""
    return (
        f"{glyphs.worked} worked, {glyphs.idle} not, {BAND[0]} {BAND[1]} the band, {glyphs.failed} failed, "
        f"{glyphs.back} back in"
    )


def _short_result(result: SetResult) -> str:
    """Return in one word how a set ended."""
    if result.first_failure_s is not None:
        return about(result, result.first_failure_s)
    if result.has_gaps:
        return "lost"
    if result.ran_to_end:
        return "to end" if result.confirmed else "no tap"
    if result.skipped:
        return "skipped"
    return "stopped" if result.stopped else break_words(result) or "-"


def _notes(result: SetResult, past: SessionSummary, verdict: Verdict | None) -> Iterator[Words]:
    """Yield what is out of the ordinary about a set."""
    if result.pain:
        yield Words("PAIN (sharp, new or in a joint)", "alarm")
    doubts = list(_doubts(result))
    if doubts:
        yield Words(sentence("; ".join(doubts)))
    if _counts(past) and not result.counted and result.counted_because != "skipped":
        yield Words(sentence(f"does not count: {result.counted_because}"))
    if verdict is not None and _needs_a_reason(verdict, past, is_hurt=bool(result.pain)):
        yield Words(sentence(_reason(verdict, past)))
    if result.note:
        yield Words(f"Note: {result.note}")


def _doubts(result: SetResult) -> Iterator[str]:
    """Yield what broke a set off or puts it in doubt."""
    if result.first_failure_s is not None and result.has_gaps:
        yield result_words(result)
    broken = break_words(result)
    if broken and (result.stopped or result.first_failure_s is not None):
        yield broken
    if result.late_tap_s is not None:
        yield f"tapped {tenths(result.late_tap_s)} after the end"
    if result.form_broke:
        yield "form broke down first"


def _needs_a_reason(verdict: Verdict, past: SessionSummary, *, is_hurt: bool) -> bool:
    """Whether a verdict is not plain from the result and what is doubts under it."""
    is_shown = {"stopped": past.symptom, "hold": past.symptom, "pain": is_hurt and not verdict.paused}
    if verdict.reason in ("first time", "in doubt") or is_shown.get(verdict.reason):
        return False
    if not _counts(past):  # what it goes by instead has been said once
        return not is_by_rule(verdict)
    by_this_one = len(verdict.evidence) == 1 and verdict.evidence[0].session == past.session
    return not (by_this_one and is_by_rule(verdict))


def _reason(verdict: Verdict, past: SessionSummary) -> str:
    is_other = bool(verdict.evidence) and all(each.session != past.session for each in verdict.evidence)
    if is_other and _counts(past):
        return f"going by an earlier session: {reason_words(verdict)}"
    return reason_words(verdict, has_result=is_other)


def _repetitions(result: SetResult, tempo: Tempo | None) -> str:
    """Return the repetitions before the first failure, by the rhythm."""
    if tempo is None or not result.failures_s:
        return ""
    return counted(repetitions(result.failures_s[0], tempo, result.worked), "rep")


def _after_failure(result: SetResult) -> Iterator[str]:
    """Yield the times in and out of work after the first failure."""
    for back, failed in zip_longest(result.reentries_s, result.failures_s[1:]):  # they take turns
        if back is not None:
            yield f"back in {about(result, back)}"
        if failed is not None:
            yield f"failed {about(result, failed)}"
    if result.reentries and not result.reentries_s:
        yield f"back in {counted(result.reentries, 'time')}"
    if result.first_failure_s is not None and result.reentry and result.reentries == 0:
        yield "not back in"


# ---- as JSON

NO_SESSION_JSON: dict[str, Any] = {"format": 1, "session": None, "sets": []}


def _set_to_json(result: SetResult, verdict: Verdict | None) -> dict[str, Any]:
    fields = {name: value for name, value in asdict(result).items() if name not in _NOT_IN_JSON}
    if verdict is None:
        return fields | {"verdict": None, "verdict_because": None}
    return fields | {"verdict": verdict.word, "verdict_because": verdict.because}


# ---- from the logs


def session_report(data: Path, person: str, log: SessionLog) -> SessionReport | None:
    """Return the report of one session, corrections in force; None where its log holds too little."""
    past = read_summaries(data, person, rehearsals=True).sessions
    session = next((each for each in past if each.session == log.session), None)
    if session is None or log.opened is None:
        return None
    return report_on(session, past, program_of(log.opened.program_text, log.session))


def session_reports(data: Path, person: str, past: Iterable[SessionSummary]) -> Iterator[SessionReport]:
    """Yield the report of each of a person's `past` sessions.

    Each program and its history are read once, however long the log is.
    """
    past = tuple(past)
    first_times = practised(past)
    logs = read_person(data, person, rehearsals=True, skip=NAMES - {"opened"})
    texts = {log.session: log.opened.program_text for log in logs if log.opened is not None}
    read: dict[str, tuple[Program, History] | None] = {}
    for session in (with_practice(each, first_times) for each in past):
        text = texts.get(session.session, "")
        if text not in read:
            program = program_of(text, session.session)
            read[text] = (program, read_history(program, past)) if program else None
        known = read[text]
        if known is None:
            yield report_on(session, None, None)
        else:
            program, history = known
            yield _report(session, verdicts_in(history, session, program), program)


def report_on(
    session: SessionSummary, past: Iterable[SessionSummary] | None, program: Program | None
) -> SessionReport:
    """Return the report of a session among the `past` ones, without verdicts where those are not known.

    `program` is as it was, None where it is lost.
    """
    if past is not None:
        past = tuple(past)
        session = with_practice(session, practised((*past, session)))
    if program is None:
        return SessionReport(session, Titles.by_id(session.program, session.script))
    return _report(session, {} if past is None else verdicts_after(session, past, program), program)


def _report(session: SessionSummary, verdicts: Mapping[SetKey, Verdict], program: Program) -> SessionReport:
    """Return the report, each verdict at the set it rests on: the first one of an exercise and side."""
    by_set: Verdicts = {}
    left = dict(verdicts)
    for result in session.results:
        verdict = left.pop((result.exercise, result.side), None)
        if verdict is not None:
            by_set[result.set] = verdict
    tempos = {key: seconds_of(exercise.tempo) for key, exercise in program.exercises.items()}
    titles = Titles.of(program, session.script)
    return SessionReport(session, titles, by_set, {key: tempo for key, tempo in tempos.items() if tempo})


def titles_of(opened: Opened) -> Titles:
    """Return the titles of a session by the program it was opened with, else its ids."""
    program = program_of(opened.program_text, opened.session)
    if program is None:
        return Titles.by_id(opened.program, opened.script)
    return Titles.of(program, opened.script)


def program_of(text: str, session: str) -> Program | None:
    """Return the program a log was opened with; None where its text can't be read any more."""
    try:
        return loads(text, session).program
    except ProgramError:
        return None
