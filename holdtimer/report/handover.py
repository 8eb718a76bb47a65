"""The record for a coach or therapist: one page that needs nothing else, two sides of paper."""

from collections.abc import Iterator, Sequence
from operator import attrgetter

import htpy as h

from holdtimer import __version__
from holdtimer.program.timeline import SetKey, Side
from holdtimer.progression.due import DueSet
from holdtimer.progression.function import FunctionTrend
from holdtimer.progression.trend import ExerciseTrend
from holdtimer.report.course import Course, Point
from holdtimer.report.function import beside_words, day_words_of, series_words, source_lines
from holdtimer.report.html import Scale, beginning, curve, document, ruler, series_curve
from holdtimer.report.record import Record
from holdtimer.report.text import (
    CAUTIONS,
    STOP_SIGNS,
    WHEN_EMERGENCY,
    has_figure,
    reason_words,
    result_figure,
    result_words,
    script_title,
)
from holdtimer.report.trend import change_figures, strength_of
from holdtimer.session.results import SetResult
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted, in_seconds, sentence, two_times

_KIND = "record"
BEGINNING = beginning(_KIND)

_FIGURES: tuple[tuple[str, str], ...] = (
    (
        "First failure",
        "seconds from the opening of the work window to the first moment the person could not go on, stamped "
        "by one key. It is the result of a set, rounded down to whole seconds.",
    ),
    (
        "At least, 90+ s",
        "no failure inside the window, and the person confirmed it: the true time is longer. Silence is no "
        "success: a window without a stamp counts only when it is confirmed.",
    ),
    ("Band", "where first failure should fall. Both ends belong to it."),
    ("Rung", "a place on the ladder of an exercise; R1 is the easiest."),
    (
        "Counts",
        "the first set of an exercise and side in a session, with a failure or a confirmed run to the "
        "end. Not on an off day (heat, illness, poor sleep), and not in a rehearsal.",
    ),
    (
        "Harder, the same, easier",
        "by fixed rules. Before half the band's start, or twice in a row before the band: easier. After "
        "the band, or to the end: harder, unless the person's own results speak against it. Pain: "
        "easier, or left out. One early failure: the same.",
    ),
    (
        "Typical time",
        "Kaplan-Meier median of the last six weeks at the present rung; “at least” where it was not reached.",
    ),
    (
        "Change a week",
        "by maximum likelihood, log-normal, runs to the end right-censored, load or rung taken into "
        "account, without the first two results. It says “stronger” or “weaker” only where the 95 % "
        "interval leaves out no change.",
    ),
    ("Hard session", "a session with any failure, or with 30 s of any window elapsed, finished or not."),
)


def record_page(record: Record) -> str:
    """Return the page."""
    who = f"Training record of {record.person}"
    shown = (
        _short(record),
        _weeks(record),
        _function(record),
        _sessions(record),
        _incidents(record),
        _figures(),
        _cautions(),
    )
    period = f"{record.day(record.since)} to {record.day(record.now)} {record.now.year}"
    head = h.header[
        h.h1[who],
        h.p[
            h.b[record.program.title],
            f" · {period}",
            f" · {record.program.about}" if record.program.about else "",
        ],
    ]
    written = f"{record.day(record.now)} {record.now:%Y at %H:%M} by holdtimer {__version__}"
    foot = h.footer(".quiet")[f"Written on {written}. Program: {record.program.id}."]
    return document(_KIND, who, [head, h.main[*shown], foot])


# ---- what matters first


def _short(record: Record) -> h.Node:
    due = record.due
    week = f"week {due.week} of the program, next: {script_title(record.program, due.script)}"
    lines: list[h.Node] = [h.li[sentence(f"{week}, {due.when}")]] if due.hold is None else []
    kept, trend = len([each for each in record.own if each.is_hard]), record.trend
    least, most = record.program.spacing.per_week
    lines.append(h.li[
        f"{counted(kept, 'hard session')} in this time, {trend.kept} in all; the program asks for {least} to "
        f"{most} in 7 days, {record.program.spacing.recovery_h:g} h apart."
    ])  # fmt: skip
    hurt, stops, off_days, put_right = _counts(record)
    shown = (
        _some(hurt, "set that hurt", "sets that hurt"),
        _some(stops, "stop because something felt wrong", "stops because something felt wrong"),
        _some(off_days, "off day"),
        _some(put_right, "correction"),
    )
    lines.append(h.li[f"In this time: {', '.join(shown)}."])
    names = {name: exercise.name for name, exercise in record.program.exercises.items()}
    lines += [
        h.li[f"{names[each.exercise]}: {each.words}."] for each in trend.sides if each.weaker and each.words
    ]
    lines += [h.li[f"Left out: {each}."] for each in trend.left_out]
    hold = f"On hold: {due.hold}. Nothing is due until it has settled or was checked."
    return h.section[
        h.h2["In short"],
        h.p(".warn")[hold] if due.hold is not None else None,
        h.ul[lines],
    ]


def _counts(record: Record) -> tuple[int, int, int, int]:
    hurt = sum(bool(each.pain) for session in record.past for each in session.results)
    stops = sum(each.symptom for each in record.past)
    put_right = sum(len(record.put_right.get(each.session, ())) for each in record.past)
    return hurt, stops, sum(each.off_day for each in record.past), put_right


def _some(number: int, one: str, many: str | None = None) -> str:
    return counted(number, one, many) if number else f"no {one}"


# ---- the exercises over the weeks


def _weeks(record: Record) -> h.Node:
    done = {each.exercise for each in record.courses}
    cards = [_card(record, each) for each in record.courses]
    new = [exercise.name for name, exercise in record.program.exercises.items() if name not in done]
    marks = (
        "Each mark is a first failure in seconds: a dot for left or both, a square for right. Open, with an "
        "arrow: to the end, so at least as long. A cross does not count. Shaded is the band. The line below "
        "is the rung, broken for right."
    )
    body: list[h.Node] = [h.p(".quiet")[marks], h.div(".cards")[cards]] if cards else [h.p["No result yet."]]
    if new:
        body.append(h.p[f"Not done yet: {', '.join(new)}."])
    return h.section[h.h2["Over the weeks, and what is due next"], body]


def _function(record: Record) -> h.Node:
    """Return what function tests say, below strength, with whose error they are judged by."""
    if not record.tested:
        return None
    cards = [_tested(record, each, number) for number, each in enumerate(record.tested)]
    beside = beside_words(record.tested, strength_of(record.trend))
    return h.section[
        h.h2["Function tests"],
        h.p(".quiet")["On the time axis of the exercises above. Open: practice or an off day, not compared."],
        h.div(".cards")[cards],
        h.p[beside] if beside else None,
        (h.p(".quiet")[line] for line in source_lines(record.tested, record.group)),
    ]


def _tested(record: Record, trend: FunctionTrend, number: int) -> h.Node:
    """Return one series of function tests: its curve, its days, and what they say."""
    name = series_words(trend.series)
    shown = "; ".join(f"{record.day(day.started)}: {words}" for day, words in day_words_of(trend))
    points = [
        (day.started, day.value, not day.off_day and day is not trend.practice)
        for day in trend.all_days
        if day.value is not None and day.started >= record.since
    ]
    drawn: h.Node = h.p["No result in this time."]
    if points:
        scale = Scale(record.since, record.now, max(value for _, value, _ in points) * 1.05, (0.0, 0.0))
        days = (record.day(record.since), record.day(record.now))
        drawn = series_curve(f"f-{number}", points, scale, days, f"{name}, in {trend.series.unit}", shown)
    return h.article(".card")[h.h3[name], drawn, h.p[shown], h.p[trend.sentence]]


def _card(record: Record, course: Course) -> h.Node:
    """Return one exercise: its curve, and for each side the trend, what is due and why."""
    items = {(each.exercise, each.side): each for each in record.trend.items}
    keys = [(course.exercise, side) for side in course.sides]
    sides = [_side(record, key, items.get(key)) for key in keys]
    return h.article(".card")[h.h3[course.name], _curve(record, course), sides]


def _curve(record: Record, course: Course) -> h.Node:
    points = [
        point
        for each in course.since(record.since).sides.values()
        for point in each
        if point.seconds is not None and (point.counted or not point.is_open)
    ]
    if not points:
        return h.p["No result in this time."]
    scale = Scale(record.since, record.now, course.window_s, course.band_s)
    days = (record.day(record.since), record.day(record.now))
    title = f"{course.name}: first failures, {days[0]} to {days[1]}"
    return curve(f"c-{course.exercise}", points, scale, days, title, _points_words(points, record))


def _points_words(points: Sequence[Point], record: Record) -> str:
    """Return what is drawn, in words."""
    shown = []
    for each in sorted(points, key=attrgetter("at")):
        side = "" if each.side == "both" else f" {each.side}"
        time = f"{'at least ' if each.is_open else ''}{in_seconds(each.drawn_s)} at rung {each.rung + 1}"
        more = [
            words
            for is_so, words in (
                (not each.counted, "does not count"),
                (each.off_day, "off day"),
                (each.pain, "pain"),
            )
            if is_so
        ]
        shown.append(", ".join([f"{record.day(each.at)}{side}: {time}", *more]))
    return "; ".join(shown)


def _side(record: Record, key: SetKey, item: ExerciseTrend | None) -> h.Node:
    """Return what is known of one side: the trend, and what is due with the reason."""
    name = {"left": "Left", "right": "Right", "both": "Both sides"}[key[1]]
    lines = [] if item is None else list(_item_words(item))
    if key in record.coming and record.due.hold is None:  # a hold is named once
        lines.append(_due_words(record.coming[key]))
    return h.p[h.b[f"{name}: "], " ".join(lines)]


def _item_words(item: ExerciseTrend) -> Iterator[str]:
    yield sentence("; ".join(filter(None, (item.said, item.climbed))))
    if figures := change_figures(item):
        yield "{} % a week (95 % interval {} to {}).".format(*figures)
    least = "at least " if item.typical.is_at_least else ""
    yield f"Typical: {least}{in_seconds(item.typical.seconds)} at {item.rung}."


def _due_words(due: DueSet) -> str:
    verdict = due.outlook.verdict
    if verdict.paused:
        return sentence(f"left out: {reason_words(verdict)}")
    word = "the same" if verdict.word == "same" else verdict.word
    return sentence(f"next {word} ({due.rung}): {verdict.because}")


# ---- the sessions


def _sessions(record: Record) -> h.Node:
    tables = [_table(record, script) for script in dict.fromkeys(each.script for each in record.own)]
    others = [each for each in record.past if each.program != record.program.id]
    shown = ", ".join(f"{record.day(each.started)} ({each.program})" for each in others)
    marks = (
        "Each ruler is one work window from left to right: the bar is work, the thin line is out of work, a "
        "stroke is a stamp (broken: put in or moved afterwards), shaded is the band, an arrow ran to the end."
    )
    return h.section(".sides")[
        h.h2["The sessions"],
        [h.p(".quiet")[marks], tables] if tables else h.p["No session in this time."],
        h.p[f"Other programs: {shown}."] if others else None,
    ]


def _table(record: Record, script: str) -> h.Node:
    """Return the sessions of one script: a row each, a column for each set."""
    own = [each for each in record.own if each.script == script]
    columns = list(dict.fromkeys(column for each in own for column in _by_column(each)))
    return h.div(
        ".scroll", tabindex="0", role="region", aria_label=f"Sessions: {script_title(record.program, script)}"
    )[
        h.table(".rulers")[
            h.caption[script_title(record.program, script)],
            h.thead[
                h.tr[
                    h.th(scope="col")["Session"], (h.th(scope="col")[_head(record, each)] for each in columns)
                ]
            ],
            h.tbody[(_row(record, each, columns) for each in own)],
        ]
    ]


_Column = tuple[str, Side, int]  # exercise, side, and which of its sets in a session, from 1


def _by_column(session: SessionSummary) -> dict[_Column, SetResult]:
    found: dict[_Column, SetResult] = {}
    for result in session.results:
        nth = 1 + sum(key[:2] == (result.exercise, result.side) for key in found)
        found[result.exercise, result.side, nth] = result
    return found


def _head(record: Record, column: _Column) -> str:
    name = record.name(column[:2])
    return name if column[2] == 1 else f"{name}, set {column[2]}"


def _row(record: Record, session: SessionSummary, columns: Sequence[_Column]) -> h.Node:
    results = _by_column(session)
    remarks = [
        words
        for is_so, words in (
            (session.off_day, "off day"),
            (session.symptom, "stopped: something felt wrong"),
            (session.on_paper, "on paper"),
            (not session.complete and not session.symptom, "not finished"),
        )
        if is_so
    ]
    has_time = session.started is not None and not session.date_only
    time = f" {session.started:%H:%M}" if has_time else ""
    return h.tr[
        h.th(scope="row")[h.b[record.day(session.started)], time, (f" · {each}" for each in remarks)],
        (h.td[_cell(record, session, results[each], each) if each in results else "–"] for each in columns),
    ]


def _cell(record: Record, session: SessionSummary, result: SetResult, column: _Column) -> h.Node:
    exercise = record.program.exercises.get(result.exercise)
    place = None if exercise is None else exercise.rung_index(result.rung)
    rung = "" if place is None else f" · R{place + 1}"
    title = f"{record.day(session.started)}, {_head(record, column)}, {result.rung}"
    band = f"band {two_times(result.band_s[0], 'to', result.band_s[1])} of {in_seconds(result.window_s)}"
    desc = f"{result_words(result)}; under tension {in_seconds(result.tension_s)}; {band}"
    key = f"s-{session.session}-{result.set}"
    return [ruler(key, result, title, desc), h.span(".value")[_outcome(result), rung]]


def _outcome(result: SetResult) -> str:
    """Return how a set ended in a word or two, with a mark for pain."""
    figure = result_figure(result)
    if not has_figure(result):
        figure = "no tap" if result.ran_to_end else "slip?" if result.perhaps_slip is not None else figure
        figure = "skipped" if result.skipped else "stopped" if result.stopped else figure
    estimated = "about " if result.first_failure_s in result.estimated_s else ""
    return f"{estimated}{figure}{' · pain' if result.pain else ''}"


# ---- what stands out


def _incidents(record: Record) -> h.Node:
    lines = [
        h.li[h.b[record.day(each.started)], ": ", words]
        for each in record.past
        for words in _remarks(record, each)
    ]
    return h.section[
        h.h2["Pain, symptoms, off days, notes and corrections"],
        h.ul(".columns")[lines] if lines else h.p["None in this time."],
    ]


def _remarks(record: Record, session: SessionSummary) -> Iterator[str]:
    if session.symptom:
        since = ", settled or checked since" if session.released else ", not released yet"
        yield f"{'a rehearsal, ' if session.rehearsal else ''}stopped because something felt wrong{since}"
    if session.off_day:
        yield "off day: no result counts"
    for result in session.results:
        note = f"note: “{result.note}”" if result.note else ""
        hurt = "pain (sharp, new or in a joint)" if result.pain else ""
        form = "form broke down first" if result.form_broke else ""
        said = "; ".join(filter(None, (hurt, form, note)))
        if said:
            yield f"{record.name((result.exercise, result.side))}, {result.rung}: {said}"
    yield from (f"corrected: {each}" for each in record.put_right.get(session.session, ()))


# ---- what it all means


def _figures() -> h.Node:
    shown = (h.div[h.dt[f"{name}: "], h.dd[meaning]] for name, meaning in _FIGURES)
    return h.section[h.h2["How each figure is defined"], h.dl(".columns")[shown]]


def _cautions() -> h.Node:
    return h.section[
        h.h2["Cautions"],
        h.p(".warn")[
            "This page is a record, not a diagnosis. It shows when sets ended, not why. That is for a "
            "licensed professional to judge."
        ],
        h.p[" ".join(CAUTIONS)],
        h.p[h.b["Stop at once at: "], "; ".join(STOP_SIGNS), ". ", h.b[" ".join(WHEN_EMERGENCY)]],
    ]
