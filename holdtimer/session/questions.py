"""What can be asked and corrected about a set afterwards, as plain questions that arrows can answer."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Literal

from holdtimer.session.events import AnswerField
from holdtimer.session.results import perhaps_slip
from holdtimer.session.state import SetState, Stamp

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
    slip = perhaps_slip(each)
    if slip is not None:
        at = int(each.first_failure_s or 0)
        yield Question(
            "slip", f"was the failure at {at} s a slip of the key?", "yes-no", None, each.set, slip
        )
    was_silent = each.closed and not each.stamps and each.late_tap_s is None and not each.unfocused
    if was_silent or each.denied:
        known = True if each.confirmed else False if each.denied else None
        yield Question("ran_to_end", "did you work to the end?", "yes-no", known, each.set)
    is_estimated = any(stamp.n < 0 for stamp in each.stamps)
    if (was_silent and not each.confirmed) or each.denied or is_estimated:
        yield _failed_about(each)


def _failed_about(each: SetState) -> Question:
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
            yield _moved(each, stamp)


def _moved(each: SetState, stamp: Stamp) -> Question:
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
