"""Answers and corrections, as if they had been true from the start; nothing is erased."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import isfinite

from holdtimer.session.events import Answer
from holdtimer.session.fold import put
from holdtimer.session.state import Session, SetState, Stamp, replace_fast

ESTIMATED_N = -1  # the event number of a stamp that a person added afterwards


def corrected(session: Session, later: Iterable[Answer] = ()) -> Session:
    """Return the session with its own answers and `later` ones (in the order they were given) in force."""
    if any(each.denied for each in session.sets):  # said by an answer alone
        session = replace_fast(session, sets=tuple(replace_fast(each, denied=False) for each in session.sets))
    for answer in standing((*session.answers, *later)):
        session = _apply(session, answer)
    return session


def standing(answers: Iterable[Answer]) -> list[Answer]:
    """Return the answers that were not undone, in their order; an undoing can itself be undone."""
    undone: set[str] = set()
    kept: list[Answer] = []
    for answer in reversed(list(answers)):
        if answer.id in undone:
            continue
        if answer.field == "undo":
            undone.add(str(answer.value))
        else:
            kept.append(answer)
    return kept[::-1]


def _apply(session: Session, answer: Answer) -> Session:
    if answer.field == "off_day":
        return replace_fast(session, off_day=answer.value) if isinstance(answer.value, bool) else session
    change = _CHANGES.get(answer.field)
    found = next((each for each in session.sets if _speaks_of(answer, each)), None)
    return session if change is None or found is None else put(session, change(found, answer))


def _speaks_of(answer: Answer, each: SetState) -> bool:
    if answer.set is not None:
        return answer.set == each.set
    return any(stamp.n == answer.of for stamp in each.stamps)


def _number(answer: Answer) -> float | None:
    value = answer.value
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool) and isfinite(value)
    return float(value) if is_number else None  # type: ignore[arg-type]


def _effort(each: SetState, answer: Answer) -> SetState:
    value = _number(answer)
    return replace_fast(each, effort=int(value) if value is not None and 0 <= value <= 10 else None)


def _form_broke(each: SetState, answer: Answer) -> SetState:
    return replace_fast(each, form_broke=answer.value if isinstance(answer.value, bool) else None)


def _pain(each: SetState, answer: Answer) -> SetState:
    return replace_fast(each, pain=answer.value if isinstance(answer.value, bool) else None)


def _note(each: SetState, answer: Answer) -> SetState:
    return replace_fast(each, note=answer.value if isinstance(answer.value, str) and answer.value else None)


def _ran_to_end(each: SetState, answer: Answer) -> SetState:
    """Say whether a silent window was worked to the end; a failure estimated before then does not hold."""
    is_true = answer.value is True
    stamps = tuple(stamp for stamp in each.stamps if not (is_true and stamp.n == ESTIMATED_N))
    if is_true and each.paper is not None:
        paper = each.paper.model_copy(update={"first_failure_s": None})
        each = replace_fast(each, paper=paper, closed=True, ended_at=each.window_s)
    return replace_fast(each, stamps=stamps, confirmed=is_true, denied=answer.value is False)


def _failed_about(each: SetState, answer: Answer) -> SetState:
    """Put a failure into a set that began and has no stamp; None takes it out again."""
    stamped = any(stamp.n != ESTIMATED_N for stamp in each.stamps)
    if stamped or (each.opened_t is None and each.paper is None):
        return each
    value = _number(answer)
    if value is None:
        return replace_fast(each, stamps=())
    at = min(max(value, 0.0), each.window_s)
    return replace_fast(each, stamps=(Stamp(ESTIMATED_N, "failure", at, estimated=True),), confirmed=False)


def _moved(each: SetState, answer: Answer) -> SetState:
    """Move a stamp; it stays between its neighbours and inside the window."""
    index, value = _index(each, answer.of), _number(answer)
    if index is None or value is None:
        return each
    end = each.window_s if each.ended_at is None else each.ended_at
    low = each.stamps[index - 1].at if index > 0 else 0.0
    high = each.stamps[index + 1].at if index + 1 < len(each.stamps) else end
    moved = replace(each.stamps[index], at=min(max(value, low), high), estimated=True)
    return replace_fast(each, stamps=(*each.stamps[:index], moved, *each.stamps[index + 1 :]))


def _slip(each: SetState, answer: Answer) -> SetState:
    """Take out a stamp that was a slip of the key (the first where none is named), with the one after it."""
    if answer.value is not True:
        return replace_fast(each, slip_denied=answer.value is False)
    index = 0 if answer.of is None else _index(each, answer.of)
    return (
        each if index is None else replace_fast(each, stamps=each.stamps[:index] + each.stamps[index + 2 :])
    )


def _index(each: SetState, n: int | None) -> int | None:
    return next((index for index, stamp in enumerate(each.stamps) if stamp.n == n), None)


_CHANGES: dict[str, Callable[[SetState, Answer], SetState]] = {
    "effort": _effort,
    "form_broke": _form_broke,
    "pain": _pain,
    "note": _note,
    "ran_to_end": _ran_to_end,
    "failed_about": _failed_about,
    "moved": _moved,
    "slip": _slip,
}
