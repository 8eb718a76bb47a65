"""One session in words, set by set."""

from collections.abc import Iterator, Mapping

from holdtimer.report.session_json import Verdicts
from holdtimer.report.words import clock, repetition_words
from holdtimer.session.past import PastSession
from holdtimer.session.repetitions import Tempo, repetitions, worked_spans
from holdtimer.session.results import SetResult


def session_lines(
    past: PastSession,
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


def _remarks(past: PastSession) -> Iterator[str]:
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
