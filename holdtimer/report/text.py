"""Sessions, verdicts and trends in words: for the terminal, the summary and plain lines."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import zip_longest

from holdtimer.program.compiling import compile_script
from holdtimer.program.models import Program
from holdtimer.program.timeline import SetKey, Side
from holdtimer.progression.due import Due, DueSet
from holdtimer.progression.trend import Item, Trend
from holdtimer.progression.verdicts import Verdict
from holdtimer.progression.wording import counted
from holdtimer.seconds import in_seconds, tenths, two_times, whole_seconds
from holdtimer.session.corrections import Value
from holdtimer.session.results import SetResult, Tempo, repetitions, worked_spans
from holdtimer.session.summary import SessionSummary

Verdicts = dict[int, Verdict]  # by set number


@dataclass(frozen=True, slots=True)
class Titles:
    """What a program, one of its scripts, and its exercises (by their ids) are called."""

    program: str
    script: str
    exercises: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, program: Program, script: str) -> "Titles":
        """Return the titles in a program; a script it does not have goes by its id."""
        exercises = {key: exercise.name for key, exercise in program.exercises.items()}
        return cls(program.title, script_title(program, script), exercises)


def script_title(program: Program, script: str) -> str:
    """Return the title of a script by its id, and the id too where another one has the same title."""
    titles = [each.title for each in program.scripts]
    title = next((each.title for each in program.scripts if each.id == script), None)
    if title is None:
        return f"script {script}"
    return f"{title} ({script})" if titles.count(title) > 1 else title


CAUTIONS: tuple[str, ...] = (
    "Ask your doctor or physiotherapist before training to failure. Their advice and local rules come first.",
    "Have something solid to hold, a chair behind you, shoes that grip, and a phone within reach.",
    "Keep breathing: never hold your breath. Keep the room cool, with water at hand.",
    "Burning in the working muscle is expected. Sharp, new or joint pain is not: stop.",
    "Do not train today if you are ill, feverish, dizzy or unusually weak.",
)
STOP_SIGNS: tuple[str, ...] = (
    "pain, pressure or tightness in the chest, neck, jaw, arm or back",
    "fainting or nearly fainting, dizziness, confusion",
    "being too breathless to speak",
    "a racing or irregular heartbeat, cold sweat, feeling sick",
    "a sudden severe headache",
    "sudden weakness, numbness or tingling, trouble speaking, seeing or swallowing",
    "sharp or new pain in a joint, a severe cramp",
)
WHEN_EMERGENCY: tuple[str, ...] = (
    "Chest pain, fainting, trouble speaking: call the emergency number.",
    "Not better within minutes: call the emergency number.",
)
ON_HOLD = "Every program is on hold until you say that it has settled or been checked."


def with_side(name: str, side: Side) -> str:
    """Return the name of an exercise with the side it is done on, where it has one."""
    return name if side == "both" else f"{name}, {side}"


def repetition_words(count: int) -> str:
    """Return how many repetitions were done, as the estimate it is."""
    return f"about {count} repetition{'' if count == 1 else 's'}"


def session_lines(
    past: SessionSummary, titles: Titles, verdicts: Verdicts, tempos: Mapping[str, Tempo]
) -> Iterator[str]:
    """Yield the lines of one session; `tempos` are those of the exercises by their ids."""
    yield f"{titles.program}: {titles.script}, {past.person}"
    yield from _when(past)
    yield from (f"  {remark}" for remark in _remarks(past))
    for result in past.results:
        yield ""
        verdict = verdicts.get(result.set)
        yield f"{result.set}. {_set_name(result, titles)}: {result_words(result)}"
        yield from (f"   {line}" for line in _worked(result, tempos.get(result.exercise)))
        yield from (f"   {line}" for line in _answers(result))
        if not (result.counted or past.off_day or past.rehearsal):
            said = result.counted_because.startswith(result_words(result))
            yield f"   does not count{'' if said else ': ' + result.counted_because}"
        if verdict is not None:
            yield f"   {verdict_words(verdict, _is_earlier(past, verdict))}"
    if not past.results:
        yield "no set was started"


def result_words(result: SetResult) -> str:
    """Return in a few words what came of a set; a window closed in silence is no success."""
    if result.first_failure_s is not None:
        latest = " at the latest" if result.has_gaps else ""
        return f"failed at {_about(result, result.first_failure_s)}{latest}"
    if result.has_gaps:
        return "part of its record is lost"
    if result.ran_to_end:
        end = in_seconds(result.window_s)
        if result.late_tap_s is not None:
            return f"at least {end}, tapped {tenths(result.late_tap_s)} after the end"
        return f"at least {end}, to the end" if result.confirmed else f"no tap in {end}"
    if result.skipped:
        return "skipped"
    return _break_words(result) or "no result"


def verdict_words(verdict: Verdict, is_earlier: bool = False) -> str:
    """Return what comes next time, and why; `is_earlier` where it rests on earlier sessions alone."""
    if verdict.paused:
        return f"next time left out: {_pause_words(verdict)}"
    rests_on = ", going by an earlier session" if is_earlier else ""
    return f"next time {_WORDS[verdict.word]}{rests_on}: {verdict.because}"


_WORDS = {"harder": "harder", "same": "the same", "easier": "easier"}


def _pause_words(verdict: Verdict) -> str:
    return verdict.because.removesuffix(": paused")


def _is_earlier(past: SessionSummary, verdict: Verdict) -> bool:
    return bool(verdict.evidence) and all(each.session != past.session for each in verdict.evidence)


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


def _remarks(past: SessionSummary) -> Iterator[str]:
    if past.on_paper:
        yield "kept on paper"
    if past.rehearsal:
        yield "a rehearsal: it never counts"
    if past.off_day:
        yield "an off day: it does not count"
    if past.symptom:
        settled = ", settled or checked since" if past.released else ""
        yield f"stopped because something felt wrong{settled}"
    if not past.complete and not past.symptom:
        yield "not finished"


def _set_name(result: SetResult, titles: Titles) -> str:
    name = with_side(titles.exercises.get(result.exercise, result.exercise), result.side)
    attempt = f" (attempt {result.attempt})" if result.attempt > 1 else ""
    return f"{name}, {result.rung}{attempt}"


def _about(result: SetResult, at: float) -> str:
    """Return when a stamp was, with "about" where it was moved or put in afterwards."""
    return f"{'about ' if at in result.estimated_s else ''}{in_seconds(at)}"


def _break_words(result: SetResult) -> str:
    """Return what broke the window off, nothing where it lasted."""
    if result.stopped is not None:
        return "stopped by choice" if result.stopped == "choice" else "stopped because something felt wrong"
    return "interrupted" if result.interrupted or result.left_open else ""


def _worked(result: SetResult, tempo: Tempo | None) -> Iterator[str]:
    """Yield the repetitions before the first failure, what came after it, and the time under tension."""
    if result.first_failure_s is None:
        return
    if tempo is not None and result.failures_s:
        first = result.failures_s[0]
        worked = worked_spans(result.failures_s, result.reentries_s, result.window_s)
        yield f"{repetition_words(repetitions(first, tempo, worked))} before it, judging by the rhythm"
    after = ", ".join(_after_failure(result))
    if after:
        yield after
    shown = in_seconds(result.tension_s)
    if result.window_s < 100:
        shown = shown.removesuffix(" s")
    if result.failures_s or result.tension_s > result.first_failure_s:
        yield f"under tension {shown} of {in_seconds(result.window_s)}"


def _after_failure(result: SetResult) -> Iterator[str]:
    """Yield the times in and out of work after the first failure, and what ended them."""
    for back, failed in zip_longest(result.reentries_s, result.failures_s[1:]):  # they take turns
        if back is not None:
            yield f"back in at {_about(result, back)}"
        if failed is not None:
            yield f"failed again at {_about(result, failed)}"
    if result.reentries and not result.reentries_s:
        yield f"back in {counted(result.reentries, 'time')}"
    broken = _break_words(result)
    if broken:
        yield f"then {broken}"
    elif result.reentry and result.reentries == 0:
        yield "not back in"


def _answers(result: SetResult) -> Iterator[str]:
    """Yield what the person said about a set afterwards."""
    said = []
    if result.effort is not None:
        said.append(f"effort {result.effort} of 10")
    if result.form_broke is not None:
        said.append("form broke down first" if result.form_broke else "form held")
    if result.pain is not None:
        said.append("PAIN (sharp, new or in a joint)" if result.pain else "no pain")
    if said:
        yield "; ".join(said)
    if result.note:
        yield f"note: {result.note}"


def set_words(result: SetResult, names: Mapping[str, str], verdict: Verdict | None) -> str:
    """Return what came of a set, and the verdict or why it does not count."""
    name = with_side(names.get(result.exercise, result.exercise), result.side)
    return f"{result.set}. {name}: {result_words(result)} · {_after(result, verdict)}"


def result_figure(result: SetResult) -> str:
    """Return what came of a set as a figure: "69 s", "90+ s" for at least so long, "?" where it is asked."""
    if result.perhaps_slip is not None or result.has_gaps:
        return "?"
    if result.first_failure_s is not None:
        return in_seconds(result.first_failure_s)
    if result.ran_to_end:
        return f"{whole_seconds(result.window_s)}+ s" if result.confirmed or result.late_tap_s else "?"
    return "–"


def set_details(result: SetResult, verdict: Verdict | None) -> tuple[str, str]:
    """Return what `result_figure` leaves out: how the set ended, and the verdict or why it does not count."""
    has_failed = result.first_failure_s is not None and not result.has_gaps
    how = "failed" if has_failed and not result.estimated_s else result_words(result)
    return how, _after(result, verdict)


def _after(result: SetResult, verdict: Verdict | None) -> str:
    return _short(verdict) if verdict is not None and result.counted else _doubt(result)


def _short(verdict: Verdict) -> str:
    return "next time left out" if verdict.paused else f"next time {verdict.word}"


def _doubt(result: SetResult) -> str:
    if result.perhaps_slip is not None:
        return "a slip of the key?"
    if result.ran_to_end and not result.confirmed:
        return "failed about when?"
    return result.counted_because if not result.counted else "counted"


def value_words(value: Value) -> str:
    """Return the answer to a question so far; a dash where there is none."""
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(whole_seconds(value)) if isinstance(value, float) else str(value)


def due_lines(due: Due, program: Program) -> Iterator[str]:
    """Yield what is due next: the script, from when, and each exercise at its rung with the reason."""
    yield f"{program.title}, week {due.week}: {script_title(program, due.script)}"
    yield due.when
    if due.hold is not None:
        yield "not today; `holdtimer run` asks in two steps whether it has settled or been checked"
    warning = None if due.is_easy else due.spacing.warning
    if warning:
        yield warning
    if due.easy_day:
        yield f"until then, if you like: {script_title(program, due.easy_day)}"
    if not (warning and due.spacing.capped):  # which says it already
        yield f"hard sessions in the last 7 days: {due.spacing.done_last_7_days}"
    windows = _windows(due, program)
    for each in due.sets:
        yield ""
        if due.hold is None:
            yield from _due_set_lines(each, program, windows[each.exercise, each.side])
        else:  # why has been said once
            yield f"{with_side(program.exercises[each.exercise].name, each.side)}: {each.rung}"
    for left_out in due.left_out:
        yield f"left out: {left_out}"


def _windows(due: Due, program: Program) -> dict[SetKey, float]:
    """Return the window (s) of each exercise and side that is due, that of its first set."""
    found: dict[SetKey, float] = {}
    for each in compile_script(program, due.script, due.rungs, due.first_sides).sets:
        found.setdefault((each.exercise, each.side), each.window_s)
    return found


def _due_set_lines(each: DueSet, program: Program, window_s: float) -> Iterator[str]:
    verdict = each.outlook.verdict
    name = with_side(program.exercises[each.exercise].name, each.side)
    if verdict.paused:
        yield f"{name}: paused, left out"
        yield f"  {_pause_words(verdict)}"
    else:
        yield f"{name}: {each.rung}"
        is_first = verdict.reason == "first time"
        yield f"  {'' if is_first else _WORDS[verdict.word] + ': '}{verdict.because}"
        if each.outlook.expected_s is not None:
            yield f"  {expected_words(each.outlook.expected_s, window_s)}"
    if verdict.would_change:
        yield f"  {verdict.would_change}"


def expected_words(expected_s: tuple[float, float, float], window_s: float) -> str:
    """Return when failure is expected (s: from, middle, to); a window ends whatever could come after it."""
    low, middle, high = expected_s
    if high < window_s:
        return f"expected about {in_seconds(middle)}, most days {two_times(low, 'to', high)}"
    end = f"you may reach the end of {in_seconds(window_s)}"
    if low >= window_s:
        return end
    about = f"about {in_seconds(middle)}, " if middle < window_s else ""
    return f"expected {about}most days not before {in_seconds(low)}; {end}"


def trend_lines(trend: Trend, program: Program) -> Iterator[str]:
    """Yield the trend of each exercise and side, how the sides compare, and the sessions kept."""
    yield program.title
    if not trend.items:
        yield "no result counts yet"
    for item in trend.items:
        yield ""
        yield from _item_lines(item, program)
    compared = [(each.exercise, each.words) for each in trend.sides if each.words is not None]
    if compared:
        yield ""
    for exercise, words in compared:
        yield f"{program.exercises[exercise].name}: {words}"
    if trend.kept:
        yield ""
        yield f"hard sessions: {_kept(trend)}"
    yield from (f"left out: {each}" for each in trend.left_out)


def _kept(trend: Trend) -> str:
    if trend.since is not None:
        return f"{trend.kept} since {trend.since}"
    return f"{trend.kept} done, at least {trend.planned} planned"


def _item_lines(item: Item, program: Program) -> Iterator[str]:
    yield f"{with_side(program.exercises[item.exercise].name, item.side)}: {item.rung}"
    yield f"  {item.sentence.partition(': ')[2]}"  # the side is named already
    least = "at least " if item.typical.is_at_least else ""
    yield f"  typical time at this rung: {least}{in_seconds(item.typical.seconds)}"
    if item.change is not None:
        change, low, high = (_signed(each) for each in (item.change.percent, *item.change.interval))
        yield f"  change per week: {change} % (95 % interval: {low} to {high} %)"
    yield f"  under tension {int(100 * item.tension)} % of the window"
    yield f"  {counted(item.sets, 'result')}, {item.ran_to_end or 'none'} ran to the end"


def _signed(percent: float) -> str:
    """Return per cent with their sign; near 0 in tenths, so that an interval shows what it leaves out."""
    if abs(percent) >= 0.95:
        return f"{percent:+.0f}"
    if abs(percent) >= 0.05:
        return f"{percent:+.1f}"
    return "0" if percent == 0 else "just above 0" if percent > 0 else "just below 0"
