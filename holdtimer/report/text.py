"""Sessions, verdicts and trends in words: for the terminal, the summary and plain lines."""

from collections.abc import Iterator, Mapping

from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.progression.due import Due, DueSet
from holdtimer.progression.trend import Item, Trend
from holdtimer.progression.wording import counted
from holdtimer.session.corrections import Question, Value
from holdtimer.session.results import SetResult, Tempo, repetitions, worked_spans
from holdtimer.session.summary import SessionSummary

Verdicts = dict[int, tuple[str, str]]  # by set number: the verdict and its reason

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


def clock(seconds: float) -> str:
    """Return whole seconds counted up, as m:ss from 100 s on."""
    whole = int(seconds + 1e-6)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= 100 else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left, rounded up, as m:ss from 100 s on."""
    whole = max(0, -int(-(seconds - 1e-6) // 1))
    return clock(whole)


def with_side(name: str, side: Side) -> str:
    """Return the name of an exercise with the side it is done on, where it has one."""
    return name if side == "both" else f"{name}, {side}"


def repetition_words(count: int) -> str:
    """Return how many repetitions were done, as the estimate it is."""
    return f"about {count} repetition{'' if count == 1 else 's'}"


def session_lines(
    past: SessionSummary, names: Mapping[str, str], verdicts: Verdicts, tempos: Mapping[str, Tempo]
) -> Iterator[str]:
    """Yield the lines of one session; `names` and `tempos` are the exercises' by their ids."""
    yield f"{past.program}, script {past.script}, {past.person}"
    if past.started is not None:
        ended = f" to {past.ended:%H:%M}" if past.ended is not None else ""
        yield f"{past.started:%A %Y-%m-%d %H:%M}{ended}"
    yield from (f"  {remark}" for remark in _remarks(past))
    for result in past.results:
        yield ""
        yield from _set_lines(result, names, verdicts.get(result.set))
        yield from _repetitions(result, tempos.get(result.exercise))
    if not past.results:
        yield "no set was started"


def result_words(result: SetResult) -> str:
    """Return in a few words what came of a set."""
    if result.first_failure_s is not None:
        about = "about " if result.estimated else ""
        return f"failed at {about}{_time(result.first_failure_s)}"
    if result.ran_to_end:
        return f"at least {_time(result.window_s)}, no failure"
    if result.skipped:
        return "skipped"
    if result.stopped == "symptom":
        return "stopped: something felt wrong"
    if result.stopped == "choice":
        return "stopped by choice"
    return "interrupted" if result.interrupted else "no result"


def _repetitions(result: SetResult, tempo: Tempo | None) -> Iterator[str]:
    """Yield how many repetitions were done by the first failure, where there is a rhythm and a stamp."""
    if tempo is None or not result.failures_s:
        return
    first = result.failures_s[0]
    count = repetitions(first, tempo, worked_spans(result.failures_s, result.reentries_s, result.window_s))
    yield f"   {repetition_words(count)} by then, judging by the rhythm"


def _time(seconds: float) -> str:
    """Return seconds as the clock shows them, with their unit where there are no minutes."""
    return f"{clock(seconds)} s" if seconds < 100 else clock(seconds)


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
    name = with_side(names.get(result.exercise, result.exercise), result.side)
    attempt = f" (attempt {result.attempt})" if result.attempt > 1 else ""
    yield f"{result.set}. {name}, {result.rung}{attempt}: {result_words(result)}"
    if result.failures_s:
        yield f"   under tension {clock(result.tension_s)} of {_time(result.window_s)}{_back_in(result)}"
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
    name = with_side(names.get(result.exercise, result.exercise), result.side)
    after = f"next time {verdict[0]}" if verdict is not None and result.counted else _doubt(result)
    return f"{result.set}. {name}: {result_words(result)} · {after}"


def _doubt(result: SetResult) -> str:
    if result.perhaps_slip is not None:
        return "a slip of the key?"
    if result.ran_to_end and not result.confirmed:
        return "failed about when?"
    return result.counted_because if not result.counted else "counted"


def question_words(question: Question) -> str:
    """Return a question with what is known so far; a dash where nothing is."""
    return f"{question.words}  {_value_words(question.value)}"


def _value_words(value: Value) -> str:
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.0f}" if isinstance(value, float) else str(value)


def due_lines(due: Due, program: Program) -> Iterator[str]:
    """Yield what is due next: the script, from when, and each exercise at its rung with the reason."""
    script = next((each.title for each in program.scripts if each.id == due.script), due.script)
    yield f"{program.title}, week {due.week}: script {due.script}, {script}"
    yield due.when
    if due.hold is not None:
        yield "not today; `holdtimer run` asks in two steps whether it has settled or been checked"
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
    name = with_side(program.exercises[each.exercise].name, each.side)
    yield f"{name}: {'paused' if verdict.paused else each.rung}"
    yield f"  {verdict.word}, because {verdict.because}"
    if each.outlook.expected_s is not None:
        low, middle, high = each.outlook.expected_s
        yield f"  expected about {_time(middle)}, most days {clock(low)} to {_time(high)}"
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
    return f"{trend.kept} done, at least {trend.planned} planned"


def _item_lines(item: Item, program: Program) -> Iterator[str]:
    yield f"{with_side(program.exercises[item.exercise].name, item.side)}, {item.rung}"
    yield f"  {item.sentence}"
    least = "at least " if item.typical.is_at_least else ""
    yield f"  typical time here: {least}{_time(item.typical.seconds)}"
    if item.change is not None:
        change, low, high = (_signed(each) for each in (item.change.percent, *item.change.interval))
        yield f"  change per week: {change} % (95 %: {low} to {high} %)"
    yield f"  under tension {100 * item.tension:.0f} % of the window"
    yield f"  {counted(item.sets, 'result')}, {item.ran_to_end} ran to the end"


def _signed(percent: float) -> str:
    """Return per cent with their sign; near 0 in tenths, so that an interval shows what it leaves out."""
    if abs(percent) >= 0.95:
        return f"{percent:+.0f}"
    if abs(percent) >= 0.05:
        return f"{percent:+.1f}"
    return "0" if percent == 0 else "just above 0" if percent > 0 else "just below 0"
