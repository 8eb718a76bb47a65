"""A session as lines of text: one an event, and what a tap does whenever that changes."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from holdtimer.report.words import repetition_words
from holdtimer.script.timeline import Easy, Part, PlannedSet, Side
from holdtimer.session import events as ev
from holdtimer.session.menu import Menu
from holdtimer.session.repetitions import Tempo, repetitions, worked_spans
from holdtimer.session.state import SetState
from holdtimer.session.taps import Tap
from holdtimer.session.words import CHOICE_WORDS, TAP_WORDS

_HIDDEN = {"n", "t", "ev", "program_text", "rungs"}
_FIRST = ("set", "exercise", "side", "at")
_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.:+/")


def event_line(event: ev.AnyEvent) -> str:
    """Return `t` to the millisecond, the event's name, then key=value pairs."""
    fields = event.model_dump(exclude_none=True)
    names = [name for name in _FIRST if name in fields]
    names += [name for name in fields if name not in _FIRST and name not in _HIDDEN]
    pairs = "".join(f" {name}={_value(name, fields[name])}" for name in names)
    return f"{event.t:.3f} {event.ev}{pairs}"


def _value(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("at", "after_s", "since"):
        return f"{value:.3f}"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (list, tuple)):
        return "-".join(_value("", each) for each in value)
    text = str(value)
    return text if text and set(text) <= _PLAIN else json.dumps(text, ensure_ascii=False)


def tap_line(meaning: Tap) -> str:
    """Return the line that says what a tap does now."""
    return f"tap: {TAP_WORDS[meaning]}"


def menu_line(menu: Menu) -> str:
    """Return the line that says where the mark of the menu stands."""
    place = menu.lines.index(menu.marked) + 1
    return f"menu {place} of {len(menu.lines)}: {CHOICE_WORDS[menu.marked]}"


def part_lines(part: Part, last: Mapping[tuple[str, Side], float]) -> Iterator[str]:
    """Yield what is to come: the exercise, side and rung, how to set it up, and the way out.

    `last` holds last time's first failures (s).
    """
    if isinstance(part, Easy):
        yield f"next: {part.title}, {part.seconds:g} s easy"
    else:
        yield from _set_lines(part)
        failed = last.get((part.exercise, part.side))
        if failed is not None:
            yield f"last time: failed at {int(failed)} s"
    if part.needs:
        yield f"needed: {'; '.join(part.needs)}"
    yield from (f"setup: {line}" for line in part.setup)


def _set_lines(part: PlannedSet) -> Iterator[str]:
    side = "" if part.side == "both" else f", {part.side} side"
    yield f"next: {part.name}{side}, {part.rung.name}, {part.window_s:g} s"
    if part.rung.how:
        yield f"how: {part.rung.how}"
    yield f"failure is: {part.failure}"
    yield f"way out: {part.way_out}"


def after_failure_lines(part: Part | None, current: SetState | None = None) -> Iterator[str]:
    """Yield what to do on a failure, the way out first; then how many repetitions `current` has about had."""
    if not isinstance(part, PlannedSet):
        return
    yield f"way out: {part.way_out}"
    if part.push_s:
        yield f"keep pushing {part.push_s:g} s, ease off, breathe"
    if part.reentry and part.back_in:
        yield f"back in when ready: {part.back_in}"
    if part.tempo is not None and current is not None:
        yield repetition_words(_repetitions(current, part.tempo))


def _repetitions(current: SetState, tempo: Tempo) -> int:
    failures, reentries = (
        [s.at for s in current.stamps if s.kind == kind] for kind in ("failure", "re-entry")
    )
    at = failures[-1] if failures else 0.0
    return repetitions(at, tempo, worked_spans(failures, reentries, at))
