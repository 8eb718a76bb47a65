"""What the session screen shows at one moment, as plain data worked out from the state. No widgets here."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import ceil, floor
from typing import Literal

from holdtimer.program.timeline import Easy, Part, PlannedSet, PlannedTest, SetKey
from holdtimer.screens.fit import Line
from holdtimer.screens.layout import View as View
from holdtimer.screens.layout import labelled
from holdtimer.screens.ruler import RulerData
from holdtimer.screens.trial_view import next_lines, refusal_lines, trial_view, widest_of
from holdtimer.session.engine import Engine
from holdtimer.session.schedule import Order, orders_of
from holdtimer.session.state import Phase, Session, SetState, Tap
from holdtimer.session.words import (
    BACK_IN_WHEN_READY,
    BREATHE,
    EASE_OFF,
    KEEP_PUSHING,
    NO,
    NOT_TRUE,
    NOT_YET_SAVED,
    REHEARSAL,
    SET_OVER,
    TAKE_BACK,
    TAP_WORDS,
    TRY_KEY,
    length_words,
    needed_words,
    noted_words,
    tempo_words,
)
from holdtimer.text import capital, clock, countdown, in_seconds, sentence, with_unit

Kept = Literal["saved", "written", "noted"]  # on the disk, in a file, in memory only
LastFailures = Mapping[SetKey, float]  # last time's first failure (s), by exercise and side

REMINDER_S = 15.0  # what failure is, and each line of the form, stand this long
RULER_STEP_S = 0.25  # the ruler moves on in these steps
DROPPED_SHOWN_S = 1.5
NOTED_SHOWN_S = 2.0
TRIED_SHOWN_S = 3.0
PLAYED = "notes"  # what is heard where nothing else is known of the player
_SOUND_TEST = {
    "off": "Off, so watch the screen. This tap tests your key.",
    "bell": "You should have heard the terminal's bell. This tap also tests your key.",
    PLAYED: "You should have heard two low notes. This tap also tests your key.",
}
_DROPPED = {
    "guard": "too soon: not a tap",
    "held": "key held: not a tap",
    "screen": "too soon: not a tap",
    "back-in": "too soon: not back in",
    "no-use": "a tap does nothing",
    "gap": "was paused: tap ignored",
}


def view(
    engine: Engine,
    now: float,
    last: LastFailures,
    remarks: tuple[str, ...] = (),
    kept: Kept = "saved",
    player: str = PLAYED,
) -> View:
    """Return what is to be seen at session time `now` (s).

    `remarks` are shown outside the windows only; `kept` is what has become of all that happened so far;
    `player` is the name of the one that is to be heard.
    """
    session, meaning = engine.session, engine.tap_meaning(now)
    shown, is_window = _moment(engine, now, last, player)
    silence = (f"no sound: {session.silent}",) if session.silent and not is_window else ()
    counts = meaning not in (Tap.NOTHING, Tap.NOT_YET)
    noted, tap = _noted(engine, now), _tap_words(session, meaning)
    return replace(
        shown,
        places=tuple(_places(shown, engine, kept)),
        tap=tap if counts else noted or tap,
        tap_counts=counts,
        no=NO if meaning is Tap.CONFIRM else NOT_TRUE if meaning is Tap.TRUE else "",
        alarm=_alarm(engine, now) or shown.alarm,
        noted=noted if counts and shown.state != "out" else "",
        notices=(*_notices(engine, now, kept), *silence, *(() if is_window else remarks)),
    )


def _moment(engine: Engine, now: float, last: LastFailures, player: str) -> tuple[View, bool]:
    """Return what is seen of the program at this moment, and whether a window is open."""
    session, part = engine.session, engine.part()
    current, left = session.open_set, max(0.0, session.until - now)
    if session.phase is Phase.WINDOW and current is not None and isinstance(part, PlannedSet):
        passed = min(max(0.0, now - (current.opened_t or 0.0)), current.window_s)
        if current.working:
            return _work(current, part, passed, last), True
        return _out(current, part, passed, session.until - now), True
    if engine.tap_meaning(now) is Tap.LATE:
        way_out = Line(done.way_out, "Way out") if (done := _done(engine, session.sets[-1])) else None
        late = Line("Tap within 2 s if you failed just after the end.")
        lines = (way_out, late) if way_out else (late,)
        return View(state="asks", heading="", headline="The window is over", lines=lines), False
    if session.asking is not None:
        return _asks(engine, session.asking, part, left), False
    if part is None:
        closing = Line("The session is being closed.")
        return View("done", "The last part is done", headline="Done", lines=(closing,)), False
    if isinstance(part, PlannedTest) and (seen := trial_view(engine, part, now)) is not None:
        return seen, session.phase is Phase.TRIAL
    match session.phase:
        case Phase.NEW | Phase.READY:
            return _ready(engine, part, last, player, now), False
        case Phase.EASY if isinstance(part, Easy):
            return _easy(engine, part, left), False
        case Phase.COUNT_IN if isinstance(part, PlannedSet):
            return _count_in(part, left), False
    return _rest(session, part, left, last), False


# -- in a window ---------------------------------------------------------------------------------------------


def _work(current: SetState, part: PlannedSet, passed: float, last: LastFailures) -> View:
    tempo = _tempo(part)
    reminders = [Line(part.failure, "Failure"), *(Line(form, "Form") for form in part.form)]
    if tempo:  # every other time, where it has no room in the heading
        reminders = [line for each in reminders for line in (Line(tempo[0], "Tempo"), each)]
    return View(
        state="work",
        heading=f"{part.name} · {current.rung}",
        places=(_to_the_end(current.window_s - passed), *tempo),
        digits=clock(passed),
        widest=_widest(current.window_s),
        beside=_side(part),
        beside_at="left" if part.side == "left" else "right",
        lines=(Line(part.way_out, "Way out"), reminders[int(passed // REMINDER_S) % len(reminders)]),
        ruler=_ruler(current, passed, last),
        way_out=part.way_out,
    )


def _out(current: SetState, part: PlannedSet, passed: float, left: float) -> View:
    orders = orders_of(current)
    order, pushes = orders.at(passed), max(0.0, orders.eases_off - passed)
    in_window = View(
        state="out",
        heading=f"{part.name} · {current.rung}",
        places=(_to_the_end(left),),
        digits=clock(passed),
        widest=_widest(current.window_s),
        ruler=_ruler(current, passed, {}),
        way_out=part.way_out,
    )
    pushing = (f"{ceil(pushes)} s",)
    way_out = replace(in_window, heading=f"Way out: {part.way_out}", lines=(Line(part.way_out, "Way out"),))
    if order is Order.PUSH:
        return replace(way_out, beside=pushing, headline=capital(KEEP_PUSHING))
    if order is Order.BACK_IN:
        return replace(
            way_out, beside=("back in", "when ready"), headline=part.back_in or capital(BACK_IN_WHEN_READY)
        )
    return replace(
        in_window,
        beside=(KEEP_PUSHING, *pushing) if pushes else (EASE_OFF, BREATHE),
        headline=part.way_out,
        lines=() if current.reentry else (Line(sentence(SET_OVER)),),
    )


def _to_the_end(left: float) -> str:
    return f"{with_unit(countdown(left))} to the end"


def _widest(seconds: float) -> str:
    return "00" if seconds < 100 else "0:00" if seconds < 600 else "00:00"


def _ruler(current: SetState, passed: float, last: LastFailures) -> RulerData:
    return RulerData(
        window_s=current.window_s,
        band_s=current.band_s,
        final_s=current.final_s,
        now_s=floor(passed / RULER_STEP_S) * RULER_STEP_S,
        stamps=tuple((stamp.at, stamp.kind) for stamp in current.stamps),
        last_first_failure_s=last.get((current.exercise, current.side)),
    )


# -- before and between the windows --------------------------------------------------------------------------


def _ready(engine: Engine, part: Part, last: LastFailures, player: str, now: float) -> View:
    session, timeline = engine.session, engine.timeline
    parts = (
        *timeline.parts[: session.part],
        part,
        *timeline.parts[session.part + 1 :],
    )  # as rungs are chosen
    lines = [Line(sentence(TRY_KEY))] if engine.tries_key else []
    lines += [Line(needed_words(parts), "Needed"), Line(length_words(timeline), "Today")]
    if isinstance(part, Easy):
        lines.append(Line(_sentences(f"{part.title}, {in_seconds(part.seconds)}", *part.setup), "First"))
    test = next(iter(timeline.tests), None)
    if test is not None:
        lines.append(Line(_sentences(test.name, *test.setup), "First test"))
        lines.append(Line(test.way_out, "Way out"))
    first = part if isinstance(part, PlannedSet) else next(iter(timeline.sets), None)
    if first is not None:
        before = [f"Last time {line.text}" for line in _last_time(first, last)]
        lines.append(Line(_sentences(f"{_title(first)}: {_rung(first)}", *first.setup, *before), "First set"))
        lines += [Line(first.way_out, "Way out"), *labelled("Tempo", _tempo(first))]
    off_day = "yes: today does not count (press o to undo this)"
    rungs = "+ and - another rung · " if isinstance(part, PlannedSet) else ""
    lines += [
        Line(_SOUND_TEST.get("off" if session.silent else player, _SOUND_TEST[PLAYED]), "Sound"),
        Line(off_day if session.off_day else "no (press o if you are ill, hot or slept badly)", "Off day"),
        Line(f"any key or touch is a tap · {rungs}Esc menu · ? help", "Keys"),
    ]
    return View(
        state="ready",
        heading=timeline.program_title + (" · off day" if session.off_day else ""),
        headline="Try your key" if engine.tries_key else timeline.script_title,
        lines=tuple(lines),
        alarm="your key works" if _has_just_tried(engine, now) else "",
    )


def _has_just_tried(engine: Engine, now: float) -> bool:
    return engine.tried_at is not None and now - engine.tried_at < TRIED_SHOWN_S


def _easy(engine: Engine, part: Easy, left: float) -> View:
    after = next(iter(engine.timeline.parts[part.part + 1 :]), None)
    return View(
        state="easy",
        heading=f"Easy movement · then {_title(after)}" if after else "Easy movement",
        digits=countdown(left),
        widest="0:00" if part.seconds >= 100 else "00",
        beside=("easy",),
        headline=part.title,
        lines=(*labelled("Set up", part.setup), *_needed(part)),
    )


def _count_in(part: PlannedSet, left: float) -> View:
    return View(
        state="count-in",
        heading=f"{_title(part)} · {part.rung.name}",
        digits=countdown(left),
        widest="0:00" if part.count_in_s >= 100 else "00",
        beside=("get ready", *_side(part)),
        beside_at="left" if part.side == "left" else "right",
        headline=part.name,
        # the first line is the last to give way
        lines=(
            Line(part.way_out, "Way out"),
            Line(part.rung.name, "Rung"),
            *labelled("Tempo", _tempo(part)),
            *labelled("Set up", part.setup),
            *labelled("Form", part.form),
        ),
    )


def _rest(session: Session, part: Part, left: float, last: LastFailures) -> View:
    """Return the rest, or the waiting for a tap after it."""
    is_over = left <= 0
    if isinstance(part, Easy):
        time = Line(f"{in_seconds(part.seconds)} of easy movement", "Time")
        lines = (time, *labelled("Set up", part.setup), *_needed(part))
    elif isinstance(part, PlannedTest):
        lines = next_lines(part)
    else:
        setup, form = labelled("Set up", part.setup), labelled("Form", part.form)
        tempo, way_out = labelled("Tempo", _tempo(part)), Line(part.way_out, "Way out")
        how = labelled("How", (part.rung.how,) if part.rung.how else ())
        rung = (way_out, Line(part.rung.name, "Rung"), *how, *tempo)
        lines = (*_may_deny(session), *rung, *setup, *_last_time(part, last), *_needed(part), *form)
    return View(
        state="waits" if is_over else "rest",
        heading="Next" if is_over else "Rest, then go on" if session.is_ready else "Rest, then",
        digits="" if is_over else countdown(left),
        widest=widest_of(session),
        beside=("when you are ready",) if is_over else ("rest",),
        headline=_title(part),
        lines=(*refusal_lines(session), *lines),
    )


def _asks(engine: Engine, asking: SetState, part: Part | None, left: float) -> View:
    name = _title(done) if (done := _done(engine, asking)) else asking.exercise
    rest = f" · {with_unit(countdown(left))} of rest left" if part is not None and left > 0 else ""
    return View(
        state="asks",
        heading=f"{name}: no failure stamped{rest}",
        headline=f"{name}: worked to the end?",
        lines=(
            Line("Not sure? Say no: after the session you can say when you failed."),
            Line("With one switch: hold it for 3 s, then choose your answer."),
            *((Line(f"After that: {_title(part)}"),) if part is not None else ()),
        ),
    )


# -- words ---------------------------------------------------------------------------------------------------


def _title(part: Part) -> str:
    """Return the name of a part, with the side where it has one."""
    if isinstance(part, Easy):
        return part.title
    if isinstance(part, PlannedTest) or part.side == "both":
        return part.name
    return f"{part.name}, {part.side}"


def _done(engine: Engine, each: SetState) -> PlannedSet | None:
    """Return what a set that was begun was planned as, at the rung it was done at."""
    planned = next((part for part in engine.timeline.sets if part.set == each.set), None)
    is_known = planned is not None and each.rung in [rung.name for rung in planned.ladder]
    return planned.at_rung(each.rung) if planned is not None and is_known else planned


def _side(part: PlannedSet) -> tuple[str, ...]:
    return () if part.side == "both" else (part.side,)


def _tempo(part: PlannedSet) -> tuple[str, ...]:
    return (", ".join(tempo_words(part.tempo)),) if part.tempo is not None else ()


def _may_deny(session: Session) -> tuple[Line, ...]:
    """Return how a yes to the question after a silent window is taken back, while it can be."""
    is_known = session.deniable is None
    return () if is_known else (Line("you said you worked to the end; if not, press Backspace", "Last set"),)


def _rung(part: PlannedSet) -> str:
    return f"{part.rung.name} ({part.rung.how})" if part.rung.how else part.rung.name


def _needed(part: Part) -> tuple[Line, ...]:
    return (Line(", ".join(part.needs), "Needed"),) if part.needs else ()


def _last_time(part: PlannedSet, last: LastFailures) -> tuple[Line, ...]:
    at = last.get((part.exercise, part.side))
    return () if at is None else (Line(f"failed at {in_seconds(at)}", "Last time"),)


def _sentences(*pieces: str) -> str:
    return ". ".join(piece.rstrip(".") for piece in pieces) + "."


# -- around each moment --------------------------------------------------------------------------------------


def _places(shown: View, engine: Engine, kept: Kept) -> Iterator[str]:
    yield from shown.places
    if engine.session.is_rehearsal:
        # beside what is left of a window there is room for one word
        yield REHEARSAL.partition(",")[0] if shown.places else REHEARSAL
    part = engine.part()
    if shown.state == "asks" and engine.session.phase is Phase.REST:
        yield f"set {engine.session.sets[-1].set} of {len(engine.timeline.sets)}"
    elif isinstance(part, PlannedTest):
        yield f"test {part.number} of {len(engine.timeline.tests)}"
    elif isinstance(part, PlannedSet):
        yield f"set {part.set} of {len(engine.timeline.sets)}"
    if engine.session.silent:
        yield "no sound"
    if kept == "saved":
        yield "saved"


def _tap_words(session: Session, meaning: Tap) -> str:
    """Return what a tap does; where it does nothing, what happens without one."""
    if meaning is Tap.NOTHING and not (session.left or session.stopped):
        if session.phase is Phase.WINDOW:
            return SET_OVER
        if session.phase is Phase.EASY or session.is_ready:
            return "it goes on by itself"
    return TAP_WORDS[meaning]


def _alarm(engine: Engine, now: float) -> str:
    dropped = engine.dropped
    if dropped is not None and 0 <= now - dropped.last < DROPPED_SHOWN_S:
        return _DROPPED[dropped.reason]
    return "" if engine.session.focused else "keys don't reach me"


def _noted(engine: Engine, now: float) -> str:
    event = engine.acknowledged
    if event is None or not 0 <= now - event.t < NOTED_SHOWN_S:
        return ""
    return f"noted: {noted_words(event)}"


def _notices(engine: Engine, now: float, kept: Kept) -> Iterator[str]:
    """Yield what is wrong, the most pressing first."""
    session = engine.session
    if engine.takes_back(now):
        yield TAKE_BACK
    if not session.focused:
        yield "click into this window, then keys count again"
    if session.log_trouble:
        yield f"not saved yet: {session.log_trouble}"
    elif kept == "noted":
        yield NOT_YET_SAVED
