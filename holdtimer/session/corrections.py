"""Questions about a set afterwards, and answers and corrections as if they had been true from the start."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from math import isfinite
from typing import Any, Literal

from holdtimer.seconds import in_seconds
from holdtimer.session.events import Answer, AnswerField, round_time
from holdtimer.session.fold import put
from holdtimer.session.state import Session, SetState, Stamp, replace_fast

SLIP_S = 5.0  # a re-entry this soon after a very early failure may be a slip of the key
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
    first: float = 0.0  # where the seconds begin when nothing is known
    low: float = 0.0
    high: float = 10.0

    @property
    def waits(self) -> bool:
        """Whether the set does not count until this is answered."""
        return self.field in ("slip", "failed_about") and self.value is None

    def stepped(self, by: int) -> "Question":
        """Return the question with its value moved by so many steps; text has none."""
        if self.kind == "yes-no":
            order: tuple[Value, ...] = (None, False, True)
            return replace(self, value=order[(order.index(self.value) + by) % 3])
        if self.kind == "text":
            return self
        if not isinstance(self.value, (int, float)):
            return replace(self, value=self.first)
        moved = self.value + by
        if self.kind == "scale" and moved < self.low:
            return replace(self, value=None)
        return replace(self, value=min(max(moved, self.low), self.high))

    def with_value(self, value: Value) -> "Question":
        """Return the question with another value."""
        return replace(self, value=value)

    def answer(self) -> dict[str, Any]:
        """Return the fields of the answer event that says this."""
        about = {"of": self.of} if self.of is not None else {"set": self.set}
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
    was_silent = each.closed and not each.stamps and each.late_tap_s is None and not each.unfocused
    if was_silent or each.denied:
        known = True if each.confirmed else False if each.denied else None
        yield Question("ran_to_end", "did you work to the end?", "yes-no", known, each.set)
    is_estimated = any(stamp.n < 0 for stamp in each.stamps)
    if (was_silent and not each.confirmed) or each.denied or is_estimated:
        yield _asks_when(each)


def _asks_when(each: SetState) -> Question:
    known = next((stamp.at for stamp in each.stamps if stamp.n < 0), None)
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
    for stamp in each.stamps:
        if stamp.n >= 0:
            yield _asks_where(each, stamp)


def _asks_where(each: SetState, stamp: Stamp) -> Question:
    what = "failed at (s)" if stamp.kind == "failure" else "back in at (s)"
    return Question("moved", what, "seconds", stamp.at, each.set, of=stamp.n, high=each.window_s)


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
