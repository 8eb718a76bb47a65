"""What a person put right after a session, in words: what was recorded first, and what holds now."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from holdtimer.log.session_log import SessionLog
from holdtimer.report.text import with_side
from holdtimer.seconds import in_seconds
from holdtimer.session.corrections import standing
from holdtimer.session.events import Answer
from holdtimer.session.state import Session, SetState, Stamp


def corrections(logs: Sequence[SessionLog], names: Mapping[str, str]) -> dict[str, list[str]]:
    """Return the corrections in force among some logs, in words, by the session they speak of.

    `names` are those of the exercises by their ids. What was only said about a set (effort, form, pain, a
    note) corrects nothing and is not among them.
    """
    given: dict[str, list[Answer]] = {}
    for log in logs:
        if log.opened is not None and log.opened.kind == "answers":
            for event in log.events:
                if isinstance(event, Answer):
                    given.setdefault(event.session or log.opened.about or "", []).append(event)
    sessions = {log.session: log for log in logs if log.session in given}
    return {
        name: list(_of_session(sessions[name].state(), standing(given[name]), names))
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
        return f"{_at(stamp)} was none"
    if answer.field == "added" and isinstance(answer.value, float | int):
        return f"a tap at about {in_seconds(answer.value)} was missing"
    if answer.field == "failed_about" and isinstance(answer.value, float | int):
        return f"failed at about {in_seconds(answer.value)}, said later"
    if answer.field == "ran_to_end" and isinstance(answer.value, bool):
        return "worked to the end, said later" if answer.value else "not worked to the end, said later"
    return None


def _at(stamp: Stamp) -> str:
    return f"the {stamp.kind} at {in_seconds(stamp.at)}"
