"""Sessions, verdicts and trends in words: for the terminal, the summary and plain lines."""

from collections.abc import Iterator, Mapping

from holdtimer.program.models import Program
from holdtimer.program.timeline import PlannedSet
from holdtimer.progression.due import Due, DueSet
from holdtimer.progression.history import Key
from holdtimer.progression.trend import Item, Trend
from holdtimer.progression.verdicts import Verdict
from holdtimer.progression.wording import counted
from holdtimer.report.json import Verdicts
from holdtimer.session.questions import Question
from holdtimer.session.results import SetResult, Tempo, repetitions, worked_spans
from holdtimer.session.summary import SessionSummary

CAUTIONS: tuple[str, ...] = (
    "Ask your doctor or physiotherapist before you train to failure; their word and local rules go first.",
    "Have something solid to hold, a chair behind you, shoes that grip, and a phone within reach.",
    "Keep breathing: never hold your breath. Keep the room cool, with water at hand.",
    "Burning in the working muscle is expected. Sharp, new or joint pain is not: stop.",
    "Not today when you are ill, feverish, dizzy or unusually weak.",
)
STOP_SIGNS: tuple[str, ...] = (
    "pain, pressure or tightness in the chest, neck, jaw, arm or back",
    "fainting or nearly, dizziness, confusion",
    "breathlessness so that you cannot speak",
    "a racing or irregular heartbeat, cold sweat, sickness",
    "a sudden severe headache",
    "sudden weakness, numbness or tingling, trouble speaking, seeing or swallowing",
    "sharp or new pain in a joint, a severe cramp",
)
EMERGENCY = "Call the emergency number"
WHEN_EMERGENCY = (
    "when it is not better within minutes, and at once for chest pain, fainting or trouble speaking."
)
ON_HOLD = "This program is on hold until you say that it has settled or was checked."


def clock(seconds: float) -> str:
    """Return whole seconds counted up, as m:ss from 100 s on."""
    whole = int(seconds + 1e-6)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= 100 else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left, rounded up, as m:ss from 100 s on."""
    whole = max(0, -int(-(seconds - 1e-6) // 1))
    return clock(whole)


def side_word(part: PlannedSet) -> str:
    """Return the side of a set in words; empty where both work together."""
    return "" if part.side == "both" else part.side


def repetition_words(count: int) -> str:
    """Return how many repetitions were done, as the estimate it is."""
    return f"about {count} repetition{'' if count == 1 else 's'}"


def session_lines(
    past: SessionSummary,
    names: Mapping[str, str] | None = None,
    verdicts: Verdicts | None = None,
    tempos: Mapping[str, Tempo] | None = None,
) -> Iterator[str]:
    """Yield the lines of one session; `names` and `tempos` are the exercises' by their ids."""
    yield f"{past.program}, script {past.script}, {past.person}"
    if past.started is not None:
        ended = f" to {past.ended:%H:%M}" if past.ended is not None else ""
        yield f"{past.started:%A %Y-%m-%d %H:%M}{ended}"
    yield from (f"  {remark}" for remark in _remarks(past))
    for result in past.results:
        yield ""
        yield from _set_lines(result, names or {}, (verdicts or {}).get(result.set))
        yield from _repetitions(result, (tempos or {}).get(result.exercise))
    if not past.results:
        yield "no set was begun"


def result_words(result: SetResult) -> str:
    """Return in a few words what came of a set."""
    if result.first_failure_s is not None:
        about = "about " if result.estimated else ""
        return f"failed at {about}{clock(result.first_failure_s)}{_unit(result.first_failure_s)}"
    if result.ran_to_end:
        return f"at least {clock(result.window_s)}{_unit(result.window_s)}, no failure"
    if result.skipped:
        return "skipped"
    if result.stopped == "symptom":
        return "stopped: something felt wrong"
    if result.stopped == "choice":
        return "stopped by choice"
    return "interrupted" if result.interrupted else "no result"


def _repetitions(result: SetResult, tempo: Tempo | None) -> Iterator[str]:
    """Yield how many repetitions were done by the first failure, where the rhythm and a stamp tell."""
    if tempo is None or not result.failures_s:
        return
    first = result.failures_s[0]
    count = repetitions(first, tempo, worked_spans(result.failures_s, result.reentries_s, result.window_s))
    yield f"   {repetition_words(count)} by then, going by the rhythm"


def _unit(seconds: float) -> str:
    return " s" if seconds < 100 else ""


def _remarks(past: SessionSummary) -> Iterator[str]:
    if past.rehearsal:
        yield "a rehearsal: it never counts"
    if past.off_day:
        yield "an off day: it does not count"
    if past.symptom:
        yield "stopped because something felt wrong"
    if not past.complete and not past.symptom:
        yield "not finished"


def _set_lines(result: SetResult, names: Mapping[str, str], verdict: tuple[str, str] | None) -> Iterator[str]:
    name = names.get(result.exercise, result.exercise)
    side = "" if result.side == "both" else f", {result.side}"
    attempt = f" (attempt {result.attempt})" if result.attempt > 1 else ""
    yield f"{result.set}. {name}{side}, {result.rung}{attempt}: {result_words(result)}"
    if result.failures_s:
        yield f"   under tension {clock(result.tension_s)} of {clock(result.window_s)} s{_back_in(result)}"
    yield f"   {'counted' if result.counted else 'not counted'}: {result.counted_because}"
    if verdict is not None:
        yield f"   next time {verdict[0]}: {verdict[1]}"


def _back_in(result: SetResult) -> str:
    if not result.reentries_s:
        return ", not back in"
    times = ", ".join(clock(at) for at in result.reentries_s)
    return f", back in at {times}"


def set_words(result: SetResult, names: Mapping[str, str], verdict: tuple[str, str] | None) -> str:
    """Return what came of a set, and the verdict or why it does not count."""
    name = names.get(result.exercise, result.exercise)
    side = "" if result.side == "both" else f", {result.side}"
    after = f"next time {verdict[0]}" if verdict is not None and result.counted else _doubt(result)
    return f"{result.set}. {name}{side}: {result_words(result)} · {after}"


def _doubt(result: SetResult) -> str:
    if result.perhaps_slip is not None:
        return "a slip of the key?"
    if result.ran_to_end and not result.confirmed:
        return "failed about when?"
    return result.counted_because if not result.counted else "counted"


def question_words(question: Question) -> str:
    """Return a question with what is known so far."""
    return f"{question.words}  {value_words(question)}"


def value_words(question: Question) -> str:
    """Return the value of a question in words; a dash where nothing is known."""
    value = question.value
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.0f}" if isinstance(value, float) else str(value)


def by_set(session: SessionSummary, verdicts: Mapping[Key, Verdict]) -> Verdicts:
    """Return the verdicts by the number of the set they rest on: the first one of an exercise and side."""
    found: Verdicts = {}
    told: set[Key] = set()
    for result in session.results:
        key = (result.exercise, result.side)
        if key in verdicts and key not in told:
            told.add(key)
            found[result.set] = (verdicts[key].word, verdicts[key].because)
    return found


def due_lines(due: Due, program: Program) -> Iterator[str]:
    """Yield what is due next: the script, from when, and each exercise at its rung with the reason."""
    script = next((each.title for each in program.scripts if each.id == due.script), due.script)
    yield f"{program.title}, week {due.week}: script {due.script}, {script}"
    yield due.when
    if due.hold is not None:
        yield "`holdtimer run` asks whether it has settled or was checked, and goes on after your answer"
    if due.spacing.warning and not due.is_easy:
        yield due.spacing.warning
    if due.easy_day:
        yield f"until then, if you like: the easy day, script {due.easy_day}"
    yield f"hard sessions in the last 7 days: {due.spacing.done_last_7_days}"
    for each in due.sets:
        yield ""
        yield from _due_set_lines(each, program)
    for left_out in due.left_out:
        yield f"left out: {left_out}"


def _due_set_lines(each: DueSet, program: Program) -> Iterator[str]:
    verdict = each.outlook.verdict
    side = "" if each.side == "both" else f", {each.side}"
    name = program.exercises[each.exercise].name
    yield f"{name}{side}: {'paused' if verdict.paused else each.rung}"
    yield f"  {verdict.word}, because {verdict.because}"
    if each.outlook.expected_s is not None:
        low, middle, high = (clock(seconds) for seconds in each.outlook.expected_s)
        yield f"  expected about {middle} s, most days {low} to {high} s"
    if verdict.would_change:
        yield f"  {verdict.would_change}"


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
    return f"{trend.kept} done, {trend.planned} planned at least"


def _item_lines(item: Item, program: Program) -> Iterator[str]:
    side = "" if item.side == "both" else f", {item.side}"
    yield f"{program.exercises[item.exercise].name}{side}, {item.rung}"
    yield f"  {item.sentence}"
    least = "at least " if item.typical.is_at_least else ""
    yield f"  typical time here: {least}{clock(item.typical.seconds)}{_trend_unit(item.typical.seconds)}"
    if item.change is not None:
        change, low, high = (_signed(each) for each in (item.change.percent, *item.change.interval))
        yield f"  change a week: {change} % (95 %: {low} to {high} %)"
    yield f"  under tension {100 * item.tension:.0f} % of the window"
    yield f"  {counted(item.sets, 'result')}, {item.ran_to_end} ran to the end"


def _trend_unit(seconds: float) -> str:
    return " s" if seconds < 100 else ""


def _signed(percent: float) -> str:
    """Return per cent with their sign; near 0 in tenths, so that an interval shows what it leaves out."""
    if abs(percent) >= 0.95:
        return f"{percent:+.0f}"
    if abs(percent) >= 0.05:
        return f"{percent:+.1f}"
    return "0" if percent == 0 else "just above 0" if percent > 0 else "just below 0"
