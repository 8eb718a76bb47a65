"""Sets and the questions about them, each as one line."""

from collections.abc import Mapping

from holdtimer.report.session_text import result_words
from holdtimer.session.questions import Question
from holdtimer.session.results import SetResult


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
