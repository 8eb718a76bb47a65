"""Sessions, verdicts and trends in words: for the terminal, the summary and plain lines."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from holdtimer.program.models import Program
from holdtimer.program.timeline import Side
from holdtimer.progression.verdicts import Verdict
from holdtimer.session.corrections import Value
from holdtimer.session.results import SetResult
from holdtimer.text import at_least, in_seconds, tenths, whole_seconds

Verdicts = dict[int, Verdict]  # by set number


@dataclass(frozen=True, slots=True)
class Titles:
    """What a program, one of its scripts, its exercises and its tests (by their ids) are called."""

    program: str
    script: str
    exercises: Mapping[str, str] = field(default_factory=dict)
    tests: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, program: Program, script: str) -> "Titles":
        """Return the titles in a program; a script it does not have goes by its id."""
        exercises = {key: exercise.name for key, exercise in program.exercises.items()}
        tests = {key: test.name for key, test in program.tests.items()}
        return cls(program.title, script_title(program, script), exercises, tests)

    @classmethod
    def by_id(cls, program: str, script: str) -> "Titles":
        """Return what a lost program goes by: its id and that of its script; a clinic names no script."""
        return cls(program, f"script {script}" if script else "no script")


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


def set_name(name: str, side: Side, rung: str) -> str:
    """Return what is done: the name of an exercise, its side and its rung."""
    return f"{with_side(name, side)}: {rung}"


def result_words(result: SetResult) -> str:
    """Return in a few words how a set ended; a window closed in silence is no success."""
    if result.first_failure_s is not None:
        latest = " at the latest" if result.has_gaps else ""
        return f"failed at {about(result, result.first_failure_s)}{latest}"
    if result.has_gaps:
        return "part of its record is lost"
    if result.ran_to_end:
        end = in_seconds(result.window_s)
        if result.late_tap_s is not None:
            return f"at least {end}, tapped {tenths(result.late_tap_s)} after the end"
        return f"at least {end}, to the end" if result.confirmed else f"no tap in {end}"
    if result.skipped:
        return "skipped"
    return break_words(result) or "no result"


def verdict_word(verdict: Verdict) -> str:
    """Return in a word or two what comes next."""
    if verdict.paused:
        return "left out"
    return "first" if verdict.reason == "first time" else verdict.word


_BY_RULE = {
    ("inside", "same"), ("beyond", "harder"), ("early", "same"), ("early again", "easier"),
    ("far too early", "easier"),
}  # fmt: skip


def is_by_rule(verdict: Verdict) -> bool:
    """Whether a verdict follows from the band alone, as everybody knows the rule."""
    return not verdict.paused and (verdict.reason, verdict.word) in _BY_RULE


def reason_words(verdict: Verdict, *, has_result: bool = True) -> str:
    """Return why a verdict is what it is; without the result it rests on where that stands beside it."""
    because = verdict.because.removesuffix(": paused")
    if has_result:
        return because
    if any(verdict.reason == reason for reason, _ in _BY_RULE):  # what follows from the ends of the ladder
        return because.partition("; ")[2] or because
    return because.partition(", but ")[2] or because


def about(result: SetResult, at: float) -> str:
    """Return when a stamp was, with "about" where it was moved or put in afterwards."""
    return f"{'about ' if at in result.estimated_s else ''}{in_seconds(at)}"


def break_words(result: SetResult) -> str:
    """Return what broke the window off, nothing where it lasted."""
    if result.stopped is not None:
        return "stopped by choice" if result.stopped == "choice" else "stopped because something felt wrong"
    return "interrupted" if result.interrupted or result.left_open else ""


def set_words(result: SetResult, names: Mapping[str, str], verdict: Verdict | None) -> str:
    """Return how a set ended, and the verdict or why it does not count."""
    name = with_side(names.get(result.exercise, result.exercise), result.side)
    return f"{result.set}. {name}: {result_words(result)} · {_after(result, verdict)}"


def result_figure(result: SetResult) -> str:
    """Return how a set ended as a figure: "69 s", "90+ s" for at least so long, "?" where it is asked."""
    if not has_figure(result):
        is_asked = result.perhaps_slip is not None or result.has_gaps or result.ran_to_end
        return "?" if is_asked else "–"
    return at_least(result.window_s) if result.first_failure_s is None else in_seconds(result.first_failure_s)


def has_figure(result: SetResult) -> bool:
    """Whether it is known when a set ended: a failure in no doubt, or a confirmed run to the end."""
    if result.perhaps_slip is not None or result.has_gaps:
        return False
    return result.first_failure_s is not None or (result.ran_to_end and result.confirmed)


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


NO_ANSWER = "–"


def value_words(value: Value) -> str:
    """Return the answer to a question so far; a dash where there is none."""
    if value is None or value == "":
        return NO_ANSWER
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(whole_seconds(value)) if isinstance(value, float) else str(value)


def iso(moment: datetime | None) -> str | None:
    """Return a time in ISO 8601, to the millisecond."""
    return None if moment is None else moment.isoformat(timespec="milliseconds")
