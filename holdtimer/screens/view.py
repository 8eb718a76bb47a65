"""What the session screen shows at one moment, as plain data worked out from the state. No widgets here."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor
from typing import Literal

from holdtimer.program.timeline import Easy, Part, PlannedSet, Side, Timeline
from holdtimer.report.text import clock, countdown
from holdtimer.screens.fit import Line
from holdtimer.screens.ruler import RulerData
from holdtimer.session.engine import Engine
from holdtimer.session.rules import Tap
from holdtimer.session.state import Phase, Session, SetState
from holdtimer.session.words import REHEARSAL, TAP_WORDS

State = Literal["ready", "easy", "count-in", "work", "out", "rest", "waits", "asks", "done"]


def labelled(label: str, texts: Sequence[str]) -> tuple[Line, ...]:
    """Return lines of which the first bears the label."""
    return tuple(Line(text, "" if at else label) for at, text in enumerate(texts))


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the session screen.

    `beside` are large words beside the digits, or above the headline where no clock runs; `lines` come in the
    order in which they matter, the last give way first. `way_out` stays on screen under a menu.
    """

    state: State
    heading: str
    places: tuple[
        str, ...
    ] = ()  # time to the end, where in the session, whether it is saved; as far as they fit
    digits: str = ""  # empty where no clock runs
    widest: str = "00"  # the widest the digits will get, so that they keep their size
    beside: tuple[str, ...] = ()
    beside_at: Literal["left", "right"] = "right"
    headline: str = ""  # the largest text after the digits
    lines: tuple[Line, ...] = ()
    ruler: RulerData | None = None
    way_out: str = ""
    tap: str = ""
    tap_counts: bool = False
    alarm: str = ""  # what must be seen at once: a press that was not heard, a lost keyboard
    notices: tuple[str, ...] = ()

    def place(self, heading: str, columns: int) -> str:
        """Return as many of the places as have room beside a heading."""
        for count in range(len(self.places), 0, -1):
            place = " · ".join(self.places[:count])
            if len(heading) + 2 + len(place) <= columns:
                return place
        return ""


LastFailures = Mapping[tuple[str, Side], float]  # last time's first failure (s), by exercise and side

WAY_OUT_S = 8.0  # after the pushing the way out stands this long before the way back in
TOO_LATE_S = 5.0  # so shortly before the end nobody is led back in
REMINDER_S = 15.0  # each line of the form stands this long
RULER_STEP_S = 0.25  # the ruler moves on in these steps


def window_view(current: SetState, part: PlannedSet, now: float, until: float, last: LastFailures) -> View:
    """Return what is seen at session time `now` of a window that closes at `until` (s)."""
    passed = min(max(0.0, now - (current.opened_t or 0.0)), current.window_s)
    return _work(current, part, passed, last) if current.working else _out(current, part, passed, until - now)


def _work(current: SetState, part: PlannedSet, passed: float, last: LastFailures) -> View:
    side = "" if part.side == "both" else part.side
    return View(
        state="work",
        heading=f"{part.name} · {current.rung}",
        places=(to_the_end(current.window_s - passed),),
        digits=clock(passed),
        widest=_widest(current),
        beside=(side,) if side else (),
        beside_at="left" if side == "left" else "right",
        lines=(Line(part.failure, "Failure"), *_reminder(part, passed)),
        ruler=_ruler(current, passed, last),
        way_out=part.way_out,
    )


def _reminder(part: PlannedSet, passed: float) -> tuple[Line, ...]:
    """Return one of the form's lines, a while each."""
    at = int(passed // REMINDER_S) % max(1, len(part.form))
    return tuple(Line(text, "Form") for text in part.form[at : at + 1])


def _out(current: SetState, part: PlannedSet, passed: float, left: float) -> View:
    since = passed - current.stamps[-1].at
    back_in = part.back_in if current.reentry else None
    is_back_in = back_in is not None and since >= part.push_s + WAY_OUT_S and left > TOO_LATE_S
    return View(
        state="out",
        heading=f"Way out: {part.way_out}" if is_back_in else f"{part.name} · {current.rung}",
        places=(to_the_end(left),),
        digits=clock(passed),
        widest=_widest(current),
        beside=("back in", "when ready") if is_back_in else _what_to_do(since, part.push_s),
        headline=back_in if is_back_in and back_in else part.way_out,
        lines=() if is_back_in else _after_failure(back_in),
        ruler=_ruler(current, passed, {}),
        way_out=part.way_out,
    )


def _what_to_do(since: float, push_s: float) -> tuple[str, ...]:
    return ("keep pushing", f"for {push_s:g} s") if since < push_s else ("ease off", "breathe")


def _after_failure(back_in: str | None) -> tuple[Line, ...]:
    return (Line(back_in, "Back in when ready"),) if back_in else (Line("This set is over."),)


def to_the_end(left: float) -> str:
    """Return the time to the end of a window in words."""
    return f"{countdown(left)} to the end" if left > 99 else f"{countdown(left)} s to the end"


def _widest(current: SetState) -> str:
    return "00" if current.window_s < 100 else "0:00" if current.window_s < 600 else "00:00"


def _ruler(current: SetState, passed: float, last: LastFailures) -> RulerData:
    return RulerData(
        window_s=current.window_s,
        band_s=current.band_s,
        final_s=current.final_s,
        now_s=floor(passed / RULER_STEP_S) * RULER_STEP_S,
        stamps=tuple((stamp.at, stamp.kind) for stamp in current.stamps),
        last_first_failure_s=last.get((current.exercise, current.side)),
    )


PLAYED = "notes"  # what is heard where nothing else is known of the player
_TESTED = {
    "off": "None: it is silent, so look at the screen. This tap tests your key.",
    "bell": "You should have heard the terminal's bell. This tap also tests your key.",
    PLAYED: "You should have heard two low notes. This tap also tests your key.",
}
ALWAYS_NEEDED = ("water", "something cool", "a phone within reach")


def waiting_view(
    session: Session,
    timeline: Timeline,
    part: Part | None,
    meaning: Tap,
    now: float,
    last: LastFailures,
    player: str = PLAYED,
) -> View:
    """Return what is seen at session time `now` (s), when a tap means `meaning` and `player` is heard."""
    left = max(0.0, session.until - now)
    if meaning is Tap.LATE:
        return _late()
    if session.asking is not None:
        return _asks(part, left)
    if part is None:
        return View(
            "done", "The last set is done", headline="Done", lines=(Line("The session is being closed."),)
        )
    match session.phase:
        case Phase.NEW | Phase.READY:
            return _ready(session, timeline, part, last, player)
        case Phase.EASY if isinstance(part, Easy):
            return _easy(part, following(timeline, part), left)
        case Phase.COUNT_IN if isinstance(part, PlannedSet):
            return _count_in(part, left)
    return _rest(session, part, left, last)


def title(part: Part) -> str:
    """Return the name of a part, with the side where it has one."""
    if isinstance(part, Easy):
        return part.title
    return part.name if part.side == "both" else f"{part.name}, {part.side}"


def following(timeline: Timeline, part: Part) -> Part | None:
    """Return the part after this one."""
    return next(iter(timeline.parts[part.part + 1 :]), None)


# -- before the session --------------------------------------------------------------------------------------


def _ready(session: Session, timeline: Timeline, part: Part, last: LastFailures, player: str) -> View:
    first = part if isinstance(part, PlannedSet) else next(iter(timeline.sets), None)
    return View(
        state="ready",
        heading=timeline.program_title + (" · off day" if session.off_day else ""),
        headline=timeline.script_title,
        lines=(
            Line(", ".join(_needs(timeline)), "Needed"),
            *_first_lines(part, first, last),
            Line(_test_words(session, player), "Sound"),
            Line(_off_day(session), "Off day"),
            Line(_keys(part), "Keys"),
        ),
    )


def _needs(timeline: Timeline) -> tuple[str, ...]:
    needs = (need for part in timeline.parts for need in part.needs)
    return tuple(dict.fromkeys((*needs, *ALWAYS_NEEDED)))


def _first_lines(part: Part, first: PlannedSet | None, last: LastFailures) -> tuple[Line, ...]:
    easy = (Line(_sentence(_easy_words(part), *part.setup), "First"),) if isinstance(part, Easy) else ()
    if first is None:
        return easy
    before = (f"Last time {words}" for words in _last_time(first, last))
    told = _sentence(f"{title(first)}: {_rung(first)}", *first.setup, *before)
    return (*easy, Line(told, "First set"))


def _test_words(session: Session, player: str) -> str:
    return _TESTED["off"] if session.silent else _TESTED.get(player, _TESTED[PLAYED])


def _off_day(session: Session) -> str:
    said = "yes: what you do today will not count" if session.off_day else "no"
    return f"{said} (o: ill, hot or badly slept)" if not session.off_day else f"{said} (o: no off day)"


def _keys(part: Part) -> str:
    rungs = "+ and - another rung · " if isinstance(part, PlannedSet) else ""
    return f"any key or touch is a tap · {rungs}Esc menu · ? help"


# -- between the windows -------------------------------------------------------------------------------------


def _easy(part: Easy, after: Part | None, left: float) -> View:
    return View(
        state="easy",
        heading=f"Easy movement · then {title(after)}" if after else "Easy movement",
        digits=countdown(left),
        widest="0:00" if part.seconds >= 100 else "00",
        beside=("easy",),
        headline=part.title,
        lines=(*labelled("Set up", part.setup), *_need_lines(part)),
    )


def _count_in(part: PlannedSet, left: float) -> View:
    side = () if part.side == "both" else (part.side,)
    return View(
        state="count-in",
        heading=f"{title(part)} · {part.rung.name}",
        digits=countdown(left),
        widest="0:00" if part.count_in_s >= 100 else "00",
        beside=("get ready", *side),
        beside_at="left" if part.side == "left" else "right",
        headline=part.name,
        # the first line is the last to give way
        lines=(Line(part.way_out, "Way out"), *labelled("Set up", part.setup), *labelled("Form", part.form)),
    )


def _rest(session: Session, part: Part, left: float, last: LastFailures) -> View:
    """Return the rest, or the waiting for a tap after it."""
    is_over = left <= 0
    heading = "Next" if is_over else "Rest, then go on" if session.is_ready else "Rest, then"
    return View(
        state="waits" if is_over else "rest",
        heading=heading,
        digits="" if is_over else countdown(left),
        widest="0:00" if session.until - session.since >= 100 else "00",
        beside=("when you are ready",) if is_over else ("rest",),
        headline=title(part),
        lines=_next_lines(part, last),
    )


def _next_lines(part: Part, last: LastFailures) -> tuple[Line, ...]:
    if isinstance(part, Easy):
        time = Line(f"{part.seconds:g} s of easy movement", "Time")
        return (time, *labelled("Set up", part.setup), *_need_lines(part))
    return (
        Line(_rung(part), "Rung"),
        *labelled("Set up", part.setup),
        *(Line(words, "Last time") for words in _last_time(part, last)),
        *_need_lines(part),
        *labelled("Form", part.form),
    )


def _asks(part: Part | None, left: float) -> View:
    rest = f" · {countdown(left)} s of rest left" if part is not None and left > 0 else ""
    return View(
        state="asks",
        heading=f"No failure was stamped{rest}",
        headline="Worked to the end?",
        lines=(
            Line("A tap says: yes, I worked to the end of the window."),
            Line("If not: Esc, or a key held for 3 s; then “I did not work to the end”."),
            *((Line(f"After that: {title(part)}"),) if part is not None else ()),
        ),
    )


def _late() -> View:
    return View(
        state="asks",
        heading="",
        headline="The window is over",
        lines=(Line("For 2 seconds more a tap says: I failed just after the end."),),
    )


# -- words ---------------------------------------------------------------------------------------------------


def _rung(part: PlannedSet) -> str:
    return f"{part.rung.name} ({part.rung.how})" if part.rung.how else part.rung.name


def _easy_words(part: Easy) -> str:
    return f"{part.title}, {part.seconds:g} s"


def _need_lines(part: Part) -> tuple[Line, ...]:
    return (Line(", ".join(part.needs), "Needed"),) if part.needs else ()


def _last_time(part: PlannedSet, last: LastFailures) -> tuple[str, ...]:
    failed = last.get((part.exercise, part.side))
    return () if failed is None else (f"failed at {clock(failed)}{' s' if failed < 100 else ''}",)


def _sentence(*pieces: str) -> str:
    return ". ".join(piece.rstrip(".") for piece in pieces) + "."


Kept = Literal["saved", "written", "noted"]  # on the disk, in a file, in memory only

DROPPED_SHOWN_S = 1.5
_DROPPED = {
    "guard": "too soon: not a tap",
    "held": "key held: not a tap",
    "screen": "too soon: not a tap",
    "back-in": "too soon: not back in",
    "no-use": "a tap does nothing",
    "gap": "it stood still: no tap",
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

    `remarks` are told out of the windows only; `kept` is what has become of all that happened so far;
    `player` is the name of the one that is to be heard.
    """
    session, part, meaning = engine.session, engine.part(), engine.tap_meaning(now)
    current = session.open_set
    if session.phase is Phase.WINDOW and current is not None and isinstance(part, PlannedSet):
        shown = window_view(current, part, now, session.until, last)
        calm: tuple[str, ...] = ()
    else:
        shown = waiting_view(session, engine.timeline, part, meaning, now, last, player)
        calm = (*_silence(session), *remarks)
    return replace(
        shown,
        places=tuple(_places(shown, engine, part, kept)),
        tap=_tap_words(session, meaning),
        tap_counts=meaning not in (Tap.NOTHING, Tap.NOT_YET),
        alarm=_alarm(engine, session, now),
        notices=(*_notices(engine, session, now, kept), *calm),
    )


def _places(shown: View, engine: Engine, part: Part | None, kept: Kept) -> Iterator[str]:
    yield from shown.places
    if engine.session.is_rehearsal:
        # beside what is left of a window there is room for one word
        yield REHEARSAL.partition(",")[0] if shown.places else REHEARSAL
    if isinstance(part, PlannedSet):
        yield f"set {part.set} of {len(engine.timeline.sets)}"
    if engine.session.silent:
        yield "no sound"
    if kept == "saved":
        yield "saved"


def _silence(session: Session) -> tuple[str, ...]:
    return (f"no sound: {session.silent}",) if session.silent else ()


def _tap_words(session: Session, meaning: Tap) -> str:
    """Return what a tap does; where it does nothing, what happens without one."""
    if meaning is Tap.NOTHING and not (session.left or session.stopped):
        if session.phase is Phase.WINDOW:
            return "this set is over"
        if session.phase is Phase.EASY or session.is_ready:
            return "it goes on by itself"
    return TAP_WORDS[meaning]


def _alarm(engine: Engine, session: Session, now: float) -> str:
    dropped = engine.dropped
    if dropped is not None and 0 <= now - dropped.last < DROPPED_SHOWN_S:
        return _DROPPED[dropped.reason]
    return "" if session.focused else "keys don't reach me"


def _notices(engine: Engine, session: Session, now: float, kept: Kept) -> Iterator[str]:
    """Yield what is wrong, the most pressing first."""
    if engine.takes_back(now):
        yield "Backspace once more takes the last stamp back"
    if not session.focused:
        yield "click into this window, then keys count again"
    if session.log_trouble:
        yield f"not saved yet: {session.log_trouble}"
    elif kept == "noted":
        yield "noted, not yet saved"
