"""A session as lines of text: one an event, and what a tap does whenever that changes."""

import contextlib
import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from holdtimer.live.driver import TICK_S, Driver, run_session
from holdtimer.live.keys import FOCUS_IN, FOCUS_OUT, Key
from holdtimer.live.terminal import Keys, Leave, SessionKeys
from holdtimer.program.timeline import Easy, Part, PlannedSet, PlannedTest, SetKey
from holdtimer.report.pages import TAP, PageText
from holdtimer.report.text import with_side
from holdtimer.session import events as ev
from holdtimer.session.debounce import PageTaps, Settings
from holdtimer.session.menu import Choice, Menu
from holdtimer.session.results import Tempo, repetitions
from holdtimer.session.safety_questions import ANSWER_S, advice_after, place_of, question_of
from holdtimer.session.schedule import Order, Orders, orders_of
from holdtimer.session.state import Phase, Session, SetState, Tap
from holdtimer.session.trials import GO_AFTER_S, next_trial, offered, offers
from holdtimer.session.words import (
    BACK_IN_WHEN_READY,
    BREATHE,
    CHOICE_WORDS,
    EASE_OFF,
    KEEP_PUSHING,
    NOT_TRUE,
    NOT_YET_SAVED,
    REHEARSAL,
    TAKE_BACK,
    TAP_WORDS,
    TRY_KEY,
    length_words,
    needed_words,
    offer_words,
    tempo_words,
    trial_result_words,
)
from holdtimer.sound.player import steady
from holdtimer.text import countdown, counted, in_seconds, sanitize, with_unit

# what nobody reads stands in the log alone: the program, and the figures of clocks
_HIDDEN = {"n", "t", "ev", "id", "format", "kind", "version", "program_text", "rungs", "late_ms"}
_HIDDEN |= {"if_no", "mono_ns", "boottime_ns", "wall", "offset_s", "zone", "boot_id"}
_FIRST = ("set", "exercise", "side", "test", "trial", "at")
_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.:+/")


def event_line(event: ev.AnyEvent) -> str:
    """Return `t` to the millisecond, the event's name, then key=value pairs."""
    fields = event.model_dump(exclude_none=True)
    names = [name for name in _FIRST if name in fields]
    names += [name for name in fields if name not in _FIRST and name not in _HIDDEN]
    pairs = "".join(f" {name}={value_text(name, fields[name])}" for name in names)
    return f"{event.t:.3f} {event.ev}{pairs}"


def value_text(name: str, value: Any) -> str:
    """Return the value of a field as it is printed."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name in ("at", "after_s", "since"):
        return f"{value:.3f}"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (list, tuple)):
        return "-".join(value_text("", each) for each in value)
    text = str(value)
    return text if text and set(text) <= _PLAIN else json.dumps(text, ensure_ascii=False)


def tap_line(meaning: Tap) -> str:
    """Return the line that says what a tap does now."""
    return f"tap: {TAP_WORDS[meaning]}"


def menu_line(menu: Menu) -> str:
    """Return the line that says where the mark of the menu stands."""
    place = menu.lines.index(menu.marked) + 1
    return f"menu {place} of {len(menu.lines)}: {CHOICE_WORDS[menu.marked]}"


def part_lines(part: Part, last: Mapping[SetKey, float]) -> Iterator[str]:
    """Yield what is to come: the exercise, side and rung, how to set it up, and the way out.

    `last` holds last time's first failures (s).
    """
    if isinstance(part, Easy):
        yield f"next: {part.title}, easy for {in_seconds(part.seconds)}"
    elif isinstance(part, PlannedTest):
        trials = (f"{part.trials} trials",) if part.trials > 1 else ()
        yield f"next: {', '.join((part.name, *part.conditions(), *trials))}"
        yield f"way out: {part.way_out}"
    else:
        yield from _set_lines(part)
        failed = last.get((part.exercise, part.side))
        if failed is not None:
            yield f"last time: failed at {in_seconds(failed)}"
    if part.needs:
        yield f"needed: {'; '.join(part.needs)}"
    if isinstance(part, PlannedSet) and part.tempo is not None:
        yield f"tempo: {', '.join(tempo_words(part.tempo))}"
    yield from (f"setup: {line}" for line in part.setup)


def _set_lines(part: PlannedSet) -> Iterator[str]:
    side = "" if part.side == "both" else f", {part.side} side"
    yield f"next: {part.name}{side}, {part.rung.name}, {in_seconds(part.window_s)}"
    if part.rung.how:
        yield f"how: {part.rung.how}"
    yield f"failure is: {part.failure}"
    yield f"way out: {part.way_out}"


def order_lines(part: PlannedSet, orders: Orders, order: Order) -> Iterator[str]:
    """Yield what to do now after a failure: one order at a time."""
    if order is Order.PUSH:
        yield f"{KEEP_PUSHING}: {part.push_s:g} s"
    elif order is Order.BACK_IN:
        yield f"{BACK_IN_WHEN_READY}: {part.back_in}" if part.back_in else BACK_IN_WHEN_READY
    else:
        yield f"way out: {part.way_out}"
        is_pushing = orders.way_out < orders.eases_off
        pushing = f"{KEEP_PUSHING} {part.push_s:g} s, " if is_pushing else ""
        yield f"{pushing}{EASE_OFF}, {BREATHE}"


def question_lines(session: Session, test: PlannedTest) -> Iterator[str]:
    """Yield the question before a test that is put: a tap calls it true."""
    put = question_of(test, session.question.question) if session.question else None
    if put is not None:
        number, of = place_of(session, test)
        yield f"question {number} of {of}: {put.statement}"
        yield f"Backspace, or no key for {ANSWER_S:g} s: {NOT_TRUE}"


def line_up_lines(session: Session, test: PlannedTest) -> Iterator[str]:
    """Yield what to know at the line, before a trial."""
    yield f"in place: {test.name}, trial {next_trial(session, test)} of {test.trials}"
    yield f"way out: {test.way_out}"
    yield from (f"how: {line}" for line in test.form)
    if test.stop:
        yield f"stop if: {test.stop}"
    if not test.begins_with_key:
        rest_s = session.until - session.since
        later = f", once the rest of {in_seconds(rest_s)} is over" if rest_s > GO_AFTER_S else ""
        yield f"go: two notes, {GO_AFTER_S:g} s after your tap{later}"


def offer_line(session: Session, now: float) -> str | None:
    """Return the line with the answer after a trial whose turn it is."""
    trial, offer = session.open_trial, offered(session, now)
    if trial is None or offer is None:
        return None
    every = offers(trial)
    return f"answer {every.index(offer) + 1} of {len(every)}: {offer_words(trial, offer)}"


def repetition_line(part: Part | None, current: SetState | None) -> Iterator[str]:
    """Yield how many repetitions a set of them has about had."""
    if isinstance(part, PlannedSet) and part.tempo is not None and current is not None:
        yield f"about {counted(_repetitions(current, part.tempo), 'repetition')}"


def _repetitions(current: SetState, tempo: Tempo) -> int:
    failures, reentries = (
        [s.at for s in current.stamps if s.kind == kind] for kind in ("failure", "re-entry")
    )
    at = failures[-1] if failures else 0.0
    return repetitions(at, tempo, zip((0.0, *reentries), failures, strict=False))


FOCUS = (FOCUS_IN, FOCUS_OUT)

_PHASES = {Phase.ASKED: "a question", Phase.TRIAL: "in the trial", Phase.COUNTED: "the result of the trial"}
_ENDS = (ev.Opened, ev.Resumed, ev.Left, ev.Closed)  # where a run of a session begins and ends


class PlainSession:
    """Runs one session with the keys of one source."""

    def __init__(self, driver: Driver, keys: SessionKeys, last: Mapping[SetKey, float]) -> None:
        self._driver = driver
        self._keys = keys
        self._last = last  # time's first failures, in seconds
        self._tap = ""
        self._menu: Menu | None = None
        self._order: tuple[int, Order] | None = None  # the failure it follows, and what was ordered last
        self._offer: str | None = None
        self._is_taking_back = False
        self._is_noted_only = False
        self._has_tried = False
        self._voice_trouble: str | None = None

    def run(self, begin: Callable[[], None]) -> None:
        """Begin the session and run it until it is closed or left."""
        self._driver.listen(self._show)
        run_session(self._driver, self._keys, begin, self._follow)

    def hear_out(self) -> None:
        """Let the end of a closed session be heard in full, or until a tap; when to call for help, too."""
        taps = PageTaps(steady(), self._driver.engine.settings)
        while self._driver.is_closed and self._driver.is_sounding():
            for given in self._keys.take(TICK_S):
                if isinstance(given, Leave) or taps.counts(given.name, given.at):
                    return

    def _follow(self, came: Sequence[Key | Leave]) -> None:
        if any(isinstance(given, Key) and given.name == "question_mark" for given in came):
            self._say_where()
        self._show_now()

    # -- what is printed ---------------------------------------------------------------------------------

    def _show(self, events: list[ev.AnyEvent]) -> None:
        self._show_noted()
        for event in events:
            say(event_line(event))
            if isinstance(event, ev.Failure):
                engine = self._driver.engine
                self._show_order()
                for line in repetition_line(engine.part(), engine.session.open_set):
                    say(line)
            elif isinstance(event, (ev.Opened, ev.Rest, ev.Resumed)):
                if isinstance(event, ev.Opened):
                    self._say_today()
                self._say_part()
            elif isinstance(event, (ev.Asked, ev.TrialResult)):
                self._say_asked(event)
            if isinstance(event, _ENDS) and self._driver.engine.session.is_rehearsal:
                say(f"note: a {REHEARSAL}")
        self._show_now()

    def _show_now(self) -> None:
        """Print what a tap does, the menu, and whether all is saved and spoken, when they changed."""
        self._show_noted()
        self._show_voice()
        self._show_order()
        engine, now = self._driver.engine, self._driver.now()
        menu, is_taking_back = engine.menu, engine.takes_back(now)
        offer = offer_line(engine.session, now)
        if offer is not None and offer != self._offer:
            say(offer)
        self._offer = offer
        if menu != self._menu:
            self._menu = menu
            say(menu_line(menu) if menu else "menu closed")
        if is_taking_back and not self._is_taking_back:
            say(TAKE_BACK)
        self._is_taking_back = is_taking_back
        if engine.tried_at is not None and not self._has_tried:
            self._has_tried = True
            say("note: your key works; the next tap begins")
        tap = tap_line(engine.tap_meaning(now))
        if tap != self._tap and not self._driver.is_done:
            self._tap = tap
            self._say_question()
            if engine.tries_key:
                say(TRY_KEY)
            say(tap)

    def _show_order(self) -> None:
        """Print what to do after a failure when it changed."""
        engine = self._driver.engine
        current, part = engine.session.open_set, engine.part()
        if current is None or current.working or not isinstance(part, PlannedSet):
            return
        orders = orders_of(current)
        order = orders.at(self._driver.now() - (current.opened_t or 0.0))
        ordered, before = (current.stamps[-1].n, order), self._order
        if ordered == before:
            return
        self._order = ordered
        if before == (ordered[0], Order.BACK_IN):
            say("stay out: the window ends soon")
            return
        for line in order_lines(part, orders, order):
            say(line)

    def _say_question(self) -> None:
        """Print the question after a silent window, and how to say no; what a tap says follows."""
        engine, now = self._driver.engine, self._driver.now()
        asking = engine.session.asking
        if asking is None or engine.tap_meaning(now) is not Tap.CONFIRM:
            return
        names = {part.exercise: part.name for part in engine.timeline.sets}
        name = with_side(names.get(asking.exercise, asking.exercise), asking.side)
        say(f"question: {name}: did you work to the end?")
        say(f"Backspace: {CHOICE_WORDS[Choice.NOT_TO_THE_END]}")
        say("one switch: hold it for 3 s, then choose your answer")

    def _show_noted(self) -> None:
        if self._driver.is_noted_only != self._is_noted_only:
            self._is_noted_only = self._driver.is_noted_only
            say(NOT_YET_SAVED if self._is_noted_only else "all of it is written")

    def _show_voice(self) -> None:
        trouble = self._driver.voice_trouble()
        if trouble is not None and trouble != self._voice_trouble:
            say(f"note: {trouble}")
        self._voice_trouble = trouble

    def _say_today(self) -> None:
        timeline = self._driver.engine.timeline
        say(f"today: {length_words(timeline)}")
        say(f"needed today: {needed_words(timeline.parts)}")

    def _say_asked(self, event: ev.Asked | ev.TrialResult) -> None:
        """Print what is asked before a test, what follows a no, and the result of a trial."""
        engine = self._driver.engine
        part = engine.part()
        if isinstance(event, ev.TrialResult):
            say(f"result: {trial_result_words(event)}" if event.over else "result: kept")
        elif event.answer is False:
            say(f"note: {advice_after(event.question, event.leads)}")
        elif event.answer is None and isinstance(part, PlannedTest):
            for line in question_lines(engine.session, part):
                say(line)
            self._tap = ""  # said again after each question

    def _say_part(self) -> None:
        part, session = self._driver.engine.part(), self._driver.engine.session
        if isinstance(part, PlannedTest) and session.is_cleared:
            for line in line_up_lines(session, part):
                say(line)
            return
        for line in part_lines(part, self._last) if part else ("that was the last part",):
            say(line)

    def _say_where(self) -> None:
        engine, now = self._driver.engine, self._driver.now()
        session = engine.session
        left = max(0.0, session.until - now)
        current = session.open_set
        if session.phase is Phase.WINDOW and current is not None:
            state = "in work" if current.working else "out of work"
            passed = now - (current.opened_t or 0.0)
            say(f"here: {state}, {in_seconds(passed)} gone, {with_unit(countdown(left))} to the end")
        else:
            more = f", {with_unit(countdown(left))} left" if left else ""
            say(f"here: {_PHASES.get(session.phase, session.phase.value)}{more}")
        say(tap_line(engine.tap_meaning(now)))


def ask_page(keys: Keys, page: PageText, settings: Settings | None = None) -> str | Leave:
    """Print all of a page and return its answer: `TAP` or one of its keys."""
    say(page.headline)
    for line in page.lines:
        if line:
            say(line.strip())
    for key, does in page.keys:
        say(f"{key}: {does}")
    say(f"tap: {page.tap}")
    taps = PageTaps(steady(), settings)
    while True:
        for given in keys.take(TICK_S):
            if isinstance(given, Leave):
                return given
            if given.name not in FOCUS and taps.is_tap(given.name, given.at):
                return page.key(given.name) or TAP


def say(line: str) -> None:
    """Print one line at once; a reader that is gone is not waited for."""
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.write(sanitize(line) + "\n")
        sys.stdout.flush()
