"""Questions about a set afterwards, and answers and corrections as if they had been true from the start."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from math import isfinite
from operator import attrgetter
from typing import Any, Literal

from holdtimer.session.events import Answer, AnswerField, round_time
from holdtimer.session.fold import put
from holdtimer.session.state import Session, SetState, Stamp, replace_fast
from holdtimer.text import in_seconds

SLIP_S = 5.0  # a re-entry this soon after a very early failure may be a slip of the key
ESTIMATED_N = -1  # the event number of a stamp that a person added afterwards
REMOVALS = frozenset({"slip", "removed"})  # with True a stamp is taken out, else it is there


def corrected(session: Session, later: Iterable[Answer] = ()) -> Session:
    """Return the session with its own answers and `later` ones (in the order they were given) in force."""
    if any(each.denied for each in session.sets):  # said by an answer alone
        session = replace_fast(session, sets=tuple(replace_fast(each, denied=False) for each in session.sets))
    said = standing((*session.answers, *later))
    last = {_about(each): each for each in said if each.field in REMOVALS}
    for answer in said:
        if answer.field not in REMOVALS or last[_about(answer)] is answer:
            session = _apply(session, answer)
    return session


def _about(answer: Answer) -> tuple[int | None, str | None, int | None]:
    """Return the stamp that an answer takes out or leaves in: of several on one stamp the last holds."""
    return answer.of, answer.of_answer, answer.set


def standing(answers: Iterable[Answer]) -> list[Answer]:
    """Return the answers that were not undone, in their order; an undoing can itself be undone.

    It does not matter where among them an undoing stands: the clocks of two machines may differ.
    """
    answers = list(answers)
    undone = _undone(answers)
    return [each for each in answers if each.field != "undo" and each.id not in undone]


def in_force(answers: Iterable[Answer]) -> list[Answer]:
    """Return what holds of these answers, in their order: of several on one stamp the last, nothing undone.

    A stamp that was added and taken out again was never there.
    """
    said = standing(answers)
    last = {_about(each): each for each in said if each.field in REMOVALS}
    gone = {each.of_answer for each in last.values() if each.value is True and each.of_answer is not None}
    return [
        each
        for each in said
        if not (each.field in REMOVALS and (last[_about(each)] is not each or each.of_answer in gone))
        and not (each.field == "added" and each.id in gone)
    ]


def _undone(answers: Iterable[Answer]) -> set[str]:
    """Return the ids of all that was undone, undoings among them; those that undo each other do nothing."""
    undoes = {each.id: str(each.value) for each in answers if each.field == "undo"}
    waits = Counter(target for target in undoes.values() if target in undoes)
    known = [each for each in undoes if not waits[each]]  # nothing left can undo these
    undone: set[str] = set()
    while known:
        target = undoes[(each := known.pop())]
        if each not in undone:
            undone.add(target)
        if target in undoes:
            waits[target] -= 1
            known += [target] * (not waits[target])
    return undone


def next_undo(answers: Iterable[Answer]) -> Answer | None:
    """Return the change that is to be undone next: the newest that stands, whenever it was made."""
    return next((each for each in reversed(standing(answers)) if _is_change(each)), None)


def next_redo(answers: Iterable[Answer]) -> tuple[Answer, Answer] | None:
    """Return the undoing that is to be undone next, and the change this brings back; None for no more.

    A new change ends the walk. A release is never redone: that takes its own two steps again.
    """
    answers = list(answers)
    undone = _undone(answers)
    changes = {each.id: each for each in answers if _is_change(each)}
    for each in reversed(answers):
        if each.field != "undo":
            return None
        change = changes.get(str(each.value))
        if change is not None and each.id not in undone:
            return None if change.field == "released" else (each, change)
    return None


def _is_change(answer: Answer) -> bool:
    """Whether an answer changes anything; a note about no set only says why something was released."""
    return answer.field != "undo" and not (answer.field == "note" and answer.set is None)


def _apply(session: Session, answer: Answer) -> Session:
    if answer.field == "off_day":
        return replace_fast(session, off_day=answer.value) if isinstance(answer.value, bool) else session
    change = _CHANGES.get(answer.field)
    found = next((each for each in session.sets if _speaks_of(answer, each)), None)
    return session if change is None or found is None else put(session, change(found, answer))


def _speaks_of(answer: Answer, each: SetState) -> bool:
    if answer.set is not None:
        return answer.set == each.set
    return _index(each, answer) is not None


def _number(answer: Answer) -> float | None:
    value = answer.value
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value):
        return None
    return float(value)


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
        said = {"first_failure_s": None, "ran_to_end": True, "tension_s": None}
        paper = each.paper.model_copy(update=said)
        each = replace_fast(each, paper=paper, closed=True, ended_at=each.window_s)
    return replace_fast(each, stamps=stamps, confirmed=is_true, denied=answer.value is False)


def _failed_about(each: SetState, answer: Answer) -> SetState:
    """Put a failure into a set that began and has no stamp; None takes it out again."""
    stamped = any(stamp.n != ESTIMATED_N for stamp in each.stamps)
    if stamped or (each.opened_t is None and each.paper is None):
        return each
    added = tuple(stamp for stamp in each.stamps if stamp.added_by is not None)
    value = _number(answer)
    if value is None:
        return replace_fast(each, stamps=_in_turns(added, 0))
    at = min(max(value, 0.0), each.window_s)
    return replace_fast(
        each, stamps=_with(added, Stamp(ESTIMATED_N, "failure", at, estimated=True)), confirmed=False
    )


def _moved(each: SetState, answer: Answer) -> SetState:
    """Move a stamp; it stays between its neighbours and inside the window."""
    index, value = _index(each, answer), _number(answer)
    if index is None or value is None:
        return each
    low, high = span_of(each, index)
    moved = replace(each.stamps[index], at=min(max(value, low), high), estimated=True)
    return replace_fast(each, stamps=(*each.stamps[:index], moved, *each.stamps[index + 1 :]))


def span_of(each: SetState, index: int) -> tuple[float, float]:
    """Return between which times (s) a stamp can be moved."""
    low = each.stamps[index - 1].at if index > 0 else 0.0
    return low, each.stamps[index + 1].at if index + 1 < len(each.stamps) else _end(each)


def _end(each: SetState) -> float:
    return each.window_s if each.ended_at is None else each.ended_at


def _slip(each: SetState, answer: Answer) -> SetState:
    """Take out a stamp that was a slip of the key (the first where none is named), with the one after it."""
    if answer.value is not True:
        return replace_fast(each, slip_denied=answer.value is False)
    index = 0 if answer.of is None and answer.of_answer is None else _index(each, answer)
    return (
        each if index is None else replace_fast(each, stamps=each.stamps[:index] + each.stamps[index + 2 :])
    )


def _added(each: SetState, answer: Answer) -> SetState:
    """Put in a tap that was missed; taps take turns, so those after it change what they are."""
    value = _number(answer)
    if value is None or each.opened_t is None:
        return each
    at = min(max(value, 0.0), _end(each))
    stamp = Stamp(ESTIMATED_N, "failure", at, estimated=True, added_by=answer.id)
    return replace_fast(each, stamps=_with(each.stamps, stamp), confirmed=False)


def _removed(each: SetState, answer: Answer) -> SetState:
    """Take out one stamp alone; those after it change what they are."""
    index = _index(each, answer) if answer.value is True else None
    if index is None:
        return each
    return replace_fast(each, stamps=_in_turns(each.stamps[:index] + each.stamps[index + 1 :], index))


def _with(stamps: tuple[Stamp, ...], new: Stamp) -> tuple[Stamp, ...]:
    """Return the stamps with a new one among them, in the order of their times."""
    place = bisect_right(stamps, new.at, key=attrgetter("at"))
    return _in_turns((*stamps[:place], new, *stamps[place:]), place)


def _in_turns(stamps: tuple[Stamp, ...], first: int) -> tuple[Stamp, ...]:
    """Return the stamps, each from the `first` on (an index) the other kind than the one before it."""
    found = list(stamps[:first])
    for stamp in stamps[first:]:
        is_work = not found or found[-1].kind == "re-entry"
        found.append(replace(stamp, kind="failure" if is_work else "re-entry"))
    return tuple(found)


def _index(each: SetState, answer: Answer) -> int | None:
    """Return the place of the stamp that an answer speaks of; None where it is not there."""
    for index, stamp in enumerate(each.stamps):
        if answer.of_answer is not None and stamp.added_by == answer.of_answer:
            return index
        if answer.of_answer is None and answer.of is not None and stamp.n == answer.of:
            return index
    return None


_CHANGES: dict[str, Callable[[SetState, Answer], SetState]] = {
    "effort": _effort,
    "form_broke": _form_broke,
    "pain": _pain,
    "note": _note,
    "ran_to_end": _ran_to_end,
    "failed_about": _failed_about,
    "moved": _moved,
    "slip": _slip,
    "added": _added,
    "removed": _removed,
}


# -- what is asked ---------------------------------------------------------------------------------------

Kind = Literal["yes-no", "scale", "seconds", "text"]
Value = bool | float | str | None


@dataclass(frozen=True, slots=True)
class Question:
    """One question about one set or stamp; `value` is the answer so far, None if there is none."""

    field: AnswerField
    words: str
    kind: Kind
    value: Value
    set: int
    of: int | None = None  # the stamp, where it is about one
    of_answer: str | None = None  # the answer that added the stamp, where one did
    first: float = 0.0  # where the seconds begin when nothing is known
    low: float = 0.0
    high: float = 10.0

    @property
    def waits(self) -> bool:
        """Whether the set does not count until this is answered."""
        return self.field in ("slip", "failed_about") and self.value is None

    def stepped(self, by: float) -> "Question":
        """Return the question with its value moved by so many steps; text has none."""
        if self.kind == "yes-no":
            order: tuple[Value, ...] = (None, False, True)
            return replace(self, value=order[(order.index(self.value) + round(by)) % 3])
        if self.kind == "text":
            return self
        if not isinstance(self.value, (int, float)):
            return replace(self, value=self.first)
        moved = round_time(self.value + by)
        if self.kind == "scale" and moved < self.low:
            return replace(self, value=None)
        return replace(self, value=min(max(moved, self.low), self.high))

    def with_value(self, value: Value) -> "Question":
        """Return the question with another value."""
        return replace(self, value=value)

    def answer(self) -> dict[str, Any]:
        """Return the fields of the answer event that says this."""
        about: dict[str, Any] = {"set": self.set}
        if self.of_answer is not None:
            about = {"of_answer": self.of_answer}
        elif self.of is not None:
            about = {"of": self.of}
        return {"field": self.field, "value": self.value, **about}


def questions(each: SetState) -> list[Question]:
    """Return what can be asked about a set: what is in doubt first, then the four that are always there."""
    return [*_doubts(each), *_stamps(each), *_always(each)]


def _doubts(each: SetState) -> Iterator[Question]:
    if each.has_gaps:  # no answer makes it whole
        return
    slip = perhaps_slip(each)
    if slip is not None:
        at = in_seconds(each.first_failure_s or 0)
        yield Question("slip", f"was the failure at {at} a slip of the key?", "yes-no", None, each.set, slip)
    is_paper = each.paper is not None and each.begun
    was_silent = each.closed and not each.stamps and each.late_tap_s is None and not each.unfocused
    if was_silent or each.denied or is_paper:
        yield Question("ran_to_end", "did you work to the end?", "yes-no", _to_the_end(each), each.set)
    is_estimated = any(stamp.n < 0 and stamp.added_by is None for stamp in each.stamps)
    if (was_silent and not each.confirmed) or (each.denied and not each.stamps) or is_estimated or is_paper:
        yield _asks_when(each)


def _to_the_end(each: SetState) -> bool | None:
    """Return what was said of a window that may have been worked to its end; None where nothing was."""
    if each.paper is not None and (each.stamps or each.paper.first_failure_s is not None):
        return False
    return True if each.confirmed else False if each.denied else None


def _asks_when(each: SetState) -> Question:
    on_paper = None if each.paper is None else each.paper.first_failure_s
    known = next((s.at for s in each.stamps if s.n < 0 and s.added_by is None), on_paper)
    middle = (each.band_s[0] * each.band_s[1]) ** 0.5
    return Question(
        "failed_about",
        "about when did you fail? (s)",
        "seconds",
        known,
        each.set,
        first=round(middle),
        high=each.window_s,
    )


def _stamps(each: SetState) -> Iterator[Question]:
    for index, stamp in enumerate(each.stamps):
        if stamp.n >= 0 or stamp.added_by is not None:
            yield _asks_where(each, stamp, *span_of(each, index))


def _asks_where(each: SetState, stamp: Stamp, low: float, high: float) -> Question:
    what = "failed at (s)" if stamp.kind == "failure" else "back in at (s)"
    of = None if stamp.added_by is not None else stamp.n
    return Question("moved", what, "seconds", stamp.at, each.set, of, stamp.added_by, low=low, high=high)


def _always(each: SetState) -> Iterator[Question]:
    yield Question(
        "effort", "effort, from 0 (none) to 10 (all you had)", "scale", each.effort, each.set, first=5
    )
    yield Question(
        "form_broke", "did your form break down before the stamp?", "yes-no", each.form_broke, each.set
    )
    yield Question(
        "pain", "any sharp, new or joint pain? (not burning in the muscle)", "yes-no", each.pain, each.set
    )
    yield Question("note", "note", "text", each.note, each.set)


def perhaps_slip(each: SetState) -> int | None:
    """Return the event of a first failure that may be a slip: very early, and soon re-entered."""
    if each.slip_denied or each.has_gaps or len(each.stamps) < 2:
        return None
    first, second = each.stamps[:2]
    is_early = first.kind == "failure" and first.at < each.band_s[0] / 2
    is_short = second.kind == "re-entry" and round_time(second.at - first.at) <= SLIP_S
    return first.n if is_early and is_short and not first.estimated else None
