"""What is seen outside the work windows: ready, easy movement, count-in, rest, questions."""

from holdtimer.report.words import clock, countdown
from holdtimer.screens.view import Line, View, labelled
from holdtimer.screens.window_view import LastFailures
from holdtimer.script.timeline import Easy, Part, PlannedSet, Timeline
from holdtimer.session.state import Phase, Session
from holdtimer.session.taps import Tap

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
