"""Answers and corrections, as if they had been true from the start; nothing is erased."""

from collections.abc import Callable, Iterable
from dataclasses import replace

from holdtimer.session.events import Answer
from holdtimer.session.fold import put
from holdtimer.session.state import Session, SetState, Stamp

ESTIMATED_N = -1  # the event number of a stamp that a person added afterwards


def corrected(session: Session, later: Iterable[Answer] = ()) -> Session:
    """Return the session with its own answers and `later` ones (in the order they were given) in force."""
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
        return replace(session, off_day=bool(answer.value))
    change = _CHANGES.get(answer.field)
    found = next((each for each in session.sets if _speaks_of(answer, each)), None)
    return session if change is None or found is None else put(session, change(found, answer))


def _speaks_of(answer: Answer, each: SetState) -> bool:
    if answer.set is not None:
        return answer.set == each.number
    return any(stamp.n == answer.of for stamp in each.stamps)


def _effort(each: SetState, answer: Answer) -> SetState:
    value = answer.value
    known = isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value <= 10
    return replace(each, effort=int(value) if known else None)  # type: ignore[arg-type]


def _form_broke(each: SetState, answer: Answer) -> SetState:
    return replace(each, form_broke=answer.value if isinstance(answer.value, bool) else None)


def _pain(each: SetState, answer: Answer) -> SetState:
    return replace(each, pain=answer.value if isinstance(answer.value, bool) else None)


def _note(each: SetState, answer: Answer) -> SetState:
    return replace(each, note=answer.value if isinstance(answer.value, str) and answer.value else None)


def _ran_to_end(each: SetState, answer: Answer) -> SetState:
    return replace(each, confirmed=answer.value is True, denied=answer.value is False)


def _failed_about(each: SetState, answer: Answer) -> SetState:
    others = tuple(stamp for stamp in each.stamps if stamp.n != ESTIMATED_N)
    if isinstance(answer.value, bool) or not isinstance(answer.value, (int, float)):
        return replace(each, stamps=others)
    at = min(max(float(answer.value), 0.0), each.window_s)
    stamps = sorted((*others, Stamp(ESTIMATED_N, "failure", at, estimated=True)), key=lambda stamp: stamp.at)
    return replace(each, stamps=tuple(stamps), confirmed=False)


def _moved(each: SetState, answer: Answer) -> SetState:
    """Move a stamp; it stays between its neighbours and inside the window."""
    index = next((i for i, stamp in enumerate(each.stamps) if stamp.n == answer.of), None)
    if index is None or isinstance(answer.value, bool) or not isinstance(answer.value, (int, float)):
        return each
    low = each.stamps[index - 1].at if index > 0 else 0.0
    high = each.stamps[index + 1].at if index + 1 < len(each.stamps) else each.window_s
    moved = replace(each.stamps[index], at=min(max(float(answer.value), low), high), estimated=True)
    return replace(each, stamps=(*each.stamps[:index], moved, *each.stamps[index + 1 :]))


def _slip(each: SetState, answer: Answer) -> SetState:
    """Take out a failure stamp that was a slip of the key, with the re-entry that followed it."""
    if answer.value is not True:
        return replace(each, slip_denied=True)
    index = next((i for i, stamp in enumerate(each.stamps) if stamp.n == answer.of), 0)
    rest = each.stamps[index + 1 :]
    if rest and rest[0].kind == "re-entry":
        rest = rest[1:]
    return replace(each, stamps=each.stamps[:index] + rest)


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
