"""What the session screen shows of a function test: its questions, the waiting at the line, its trials."""

from holdtimer.program.timeline import PlannedTest
from holdtimer.screens.fit import Line
from holdtimer.screens.layout import View, labelled
from holdtimer.session.engine import Engine
from holdtimer.session.safety_questions import ANSWER_S, advice_after, place_of, question_of
from holdtimer.session.state import Phase, Session, TrialState
from holdtimer.session.trials import GO_AFTER_S, next_trial, offered, offers, stands
from holdtimer.session.words import offer_words
from holdtimer.text import clock, countdown, in_seconds, with_unit

_REMINDER_S = 8.0  # each line of the form stands this long in a trial


def trial_view(engine: Engine, test: PlannedTest, now: float) -> View | None:
    """Return what is seen of a test at session time `now` (s); None while it is only the next part."""
    session, trial = engine.session, engine.session.open_trial
    left = max(0.0, session.until - now)
    match session.phase:
        case Phase.ASKED if session.question is not None:
            return _question(session, test, left)
        case Phase.COUNT_IN:
            return _go(session, test, left)
        case Phase.TRIAL if trial is not None:
            return _running(test, trial, max(0.0, now - trial.opened_t))
        case Phase.COUNTED if trial is not None:
            return _answers(session, test, trial, now)
        case Phase.REST if session.is_cleared:
            return _at_the_line(session, test, left)
    return None


def next_lines(test: PlannedTest) -> tuple[Line, ...]:
    """Return how to get ready for a test: the way out first, then the chair or lane it is done on."""
    needed = (Line(", ".join(test.needs), "Needed"),) if test.needs else ()
    conditions = Line(", ".join(test.conditions()), "Test")
    return (Line(test.way_out, "Way out"), conditions, *labelled("Set up", test.setup), *needed)


def refusal_lines(session: Session) -> tuple[Line, ...]:
    """Return what follows from the no that has just been said, or from no answer; nothing where none was."""
    no = session.refusal
    if no is None or no.t != session.since:
        return ()
    return (Line(advice_after(no.question, no.leads), "No answer" if no.silent else "You said no"),)


def _question(session: Session, test: PlannedTest, left: float) -> View | None:
    put = question_of(test, session.question.question) if session.question else None
    if put is None or session.question is None:
        return None
    number, of = place_of(session, test)
    return View(
        state="asks",
        heading=f"{test.name} · question {number} of {of} · {with_unit(countdown(left))} left",
        headline=put.headline,
        lines=(
            Line(put.detail, "That is"),
            Line(advice_after(put.id, session.question.if_no), "If not"),
            Line(f"the same, after {ANSWER_S:g} s", "No key"),
            Line(test.way_out, "Way out"),
        ),
        way_out=test.way_out,
    )


def _at_the_line(session: Session, test: PlannedTest, left: float) -> View:
    is_over = left <= 0
    if test.begins_with_key:
        go = Line("Your tap on the first line starts the clock, the one on the second stops it.", "Start")
    else:
        when = f"{in_seconds(GO_AFTER_S)} after your tap{'' if is_over else ', once the rest is over'}"
        go = Line(f"{when}: two notes, that is go.", "Start")
    trial = f" · trial {next_trial(session, test)} of {test.trials}" if test.trials > 1 else ""
    stop = (Line(test.stop, "Stop if"),) if test.stop else ()
    return View(
        state="waits" if is_over else "rest",
        heading=f"{test.name}{trial}",
        digits="" if is_over else countdown(left),
        widest=widest_of(session),
        beside=("when you are in place",) if is_over else ("rest",),
        headline=test.name,
        lines=(Line(test.way_out, "Way out"), go, *labelled("How", test.form), *stop),
        way_out=test.way_out,
    )


def widest_of(session: Session) -> str:
    """Return the widest time that a rest or count-in shows, so that its digits keep their size."""
    return "0:00" if session.until - session.since >= 100 else "00"


def _go(session: Session, test: PlannedTest, left: float) -> View:
    return View(
        state="count-in",
        heading=test.name,
        digits=countdown(left),
        widest=widest_of(session),
        beside=("get ready",) if left <= GO_AFTER_S else ("rest", "then go"),
        headline=test.name,
        lines=(Line(test.way_out, "Way out"), *labelled("How", test.form)),
        way_out=test.way_out,
    )


def _running(test: PlannedTest, trial: TrialState, passed: float) -> View:
    """Return the trial: the stands so far where they are counted, else the clock."""
    reminders = [Line(line, "How") for line in test.form] or [Line(test.name)]
    if test.stop:
        reminders.append(Line(test.stop, "Stop if"))
    left = with_unit(countdown(max(0.0, trial.length_s - passed)))
    return View(
        state="work",
        heading=test.name,
        places=(f"{left} to the end",) if test.counts else (),
        digits=str(stands(trial.marks)) if test.counts else clock(passed),
        widest="00" if test.counts or passed < 100 else "0:00",
        beside=("stands" if test.counts else "seconds",),
        lines=(Line(test.way_out, "Way out"), reminders[int(passed // _REMINDER_S) % len(reminders)]),
        way_out=test.way_out,
    )


def _answers(session: Session, test: PlannedTest, trial: TrialState, now: float) -> View | None:
    """Return the answer whose turn it is, and which come after it."""
    offer = offered(session, now)
    if offer is None:
        return None
    every = offers(trial)
    at = every.index(offer)
    after = "; ".join(offer_words(trial, each) for each in every[at + 1 :])
    return View(
        state="asks",
        heading=f"{test.name} · answer {at + 1} of {len(every)}: tap when it is right",
        headline=offer_words(trial, offer),
        lines=(Line(after, "Then"), Line("Without a tap nothing is kept.")) if after else (),
        way_out=test.way_out,
    )
