"""The paper log for a day without a computer: what is due, room to write, and how it is typed in later."""

import csv
import io

import htpy as h

from holdtimer.log.csv_columns import COLUMNS, guarded
from holdtimer.program.compiling import compile_script
from holdtimer.program.models import Program
from holdtimer.program.timeline import Part, PlannedSet, PlannedTest
from holdtimer.progression.due import Due
from holdtimer.report.html import beginning, document
from holdtimer.report.text import CAUTIONS, STOP_SIGNS, WHEN_EMERGENCY, with_side
from holdtimer.session.words import needed_words, tempo_words
from holdtimer.text import day_words, in_seconds, two_times

_KIND = "sheet"
BEGINNING = beginning(_KIND)

_BOXES = {  # what is written in each box of a set, by its column
    "first_failure_s": "first failure (s)",
    "ran_to_end": "to the end",
    "reentries": "times back in",
    "stopped": "stopped",
    "pain": "pain",
    "note": "note",
}
_TICKS = frozenset({"ran_to_end", "pain", "off_day"})
_KNOWN = ("program", "script", "set", "exercise", "side", "rung", "window_s")
_TYPED = tuple(name for name in COLUMNS if name in {"started", "off_day", *_KNOWN, *_BOXES})

_HOW = (
    "Put a clock with seconds where you see it without touching it, or ask somebody to watch it.",
    "Get into position, then start the clock: that is second 0.",
    "The first time you cannot go on, remember the second. Get out as the sheet says. Then write.",
    "Where the sheet says how, get back in as often as you can before the window is over. Count how often.",
    "To the end: tick it only if you worked to the last second and never failed. Silence is no success: "
    "if you do not know, write no.",
    "Stopped: write choice, or symptom if something felt wrong. Pain: tick it for sharp, new or joint pain; "
    "not for burning in the working muscle.",
)


def sheet_page(person: str, program: Program, due: Due) -> str:
    """Return the sheet of the session that is due; what is paused is left out."""
    paused = [(each.exercise, each.side) for each in due.sets if each.outlook.verdict.paused]
    timeline = compile_script(program, due.script, due.rungs, due.first_sides, without=paused)
    sets = timeline.sets
    warning = due.warning
    names = [with_side(program.exercises[name].name, side) for name, side in paused]
    title = f"Paper log: {timeline.program_title}, {timeline.script_title}"
    body = [
        h.header[
            h.h1[title],
            h.p[
                f"For {person} alone, at the rungs due on {day_words(due.spacing.now, due.spacing.now)}. "
                "Print a new one for each session."
            ],
        ],
        h.main[
            h.p(".warn")[f"Not due yet, {due.when}: {warning}."] if warning else None,
            h.ul(".boxes.day")[
                _box("started", "day and time of the start"),
                _box("off_day", "off day: heat, illness, poor sleep"),
            ],
            h.p[h.b["You need: "], needed_words(timeline.parts), "."],
            h.p[h.b["Left out, since it hurt: "], "; ".join(names), "."] if names else None,
            h.section[
                h.h2["Stop at once at"],
                h.p(".warn")["; ".join(STOP_SIGNS), ". ", h.b[" ".join(WHEN_EMERGENCY)]],
                h.p["Then end the session, and write symptom under “stopped”."],
                h.p[" ".join(CAUTIONS)],
            ],
            h.section[h.h2["How it goes"], h.ol[(h.li[each] for each in _HOW)]] if sets else None,
            h.section[
                h.h2["The session"],
                [_part(each) for each in timeline.parts],
            ],
            _typing(sets, program, due) if sets else None,
        ],
    ]
    return document(_KIND, title, body)


def _part(part: Part) -> h.Node:
    if isinstance(part, PlannedSet):
        return _set(part)
    if isinstance(part, PlannedTest):
        return h.p[h.b[part.name], ": a function test, which is not measured on paper. Go on without it."]
    setup = f": {'. '.join(part.setup)}." if part.setup else ""
    return h.p[h.b[f"{part.title}, {in_seconds(part.seconds)}"], setup]


def _set(planned: PlannedSet) -> h.Node:
    name = with_side(planned.name, planned.side)
    span = two_times(planned.band_s[0], "to", planned.band_s[1])
    rest = f", after at least {in_seconds(planned.rest_s)} of rest" if planned.rest_s else ""
    how = f" ({planned.rung.how})" if planned.rung.how else ""
    tempo = ", ".join(tempo_words(planned.tempo)) if planned.tempo else ""
    again = f"Keep pushing for {in_seconds(planned.push_s)}, then let go. " if planned.push_s else ""
    back = f"{again}Back in: {planned.back_in}" if planned.reentry else "After the failure the set is over."
    return h.article(".set")[
        h.h3[f"{planned.set}. {name}: {planned.rung.name}{how}"],
        h.p[
            f"Window {in_seconds(planned.window_s)}{rest}. Failure should come at {span}.",
            f" Each time: {tempo}." if tempo else None,
        ],
        h.p[". ".join((*planned.setup, *planned.form)), "."] if planned.setup or planned.form else None,
        h.p(".out")[f"Way out: {planned.way_out}"],
        h.p[h.b["Failure: "], planned.failure, " ", back],
        h.ul(".boxes")[
            (_box(name, words) for name, words in _BOXES.items() if planned.reentry or name != "reentries")
        ],
    ]


def _box(column: str, words: str) -> h.Node:
    blank = h.span(".tick" if column in _TICKS else ".blank")
    return h.li(class_="wide" if column == "note" else None)[h.b[words], blank, h.code[column]]


# ---- typing it in


def _typing(sets: tuple[PlannedSet, ...], program: Program, due: Due) -> h.Node:
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, _TYPED, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(_row(each, program, due) for each in sets)
    return h.section[
        h.h2["To type it in later"],
        h.p[
            "Copy these lines into a text file, one line a set. Fill in the columns in the order of the "
            "boxes; a tick is yes. Every line needs the start, such as 2026-05-12 18:40. Delete the "
            "lines of sets that you did not begin. Then type: ",
            h.code[f"holdtimer import FILE {program.id}"],
            ", or the path of the program.",
        ],
        h.pre(tabindex="0")[file.getvalue()],
    ]


def _row(planned: PlannedSet, program: Program, due: Due) -> dict[str, str]:
    return {
        "program": guarded(program.id),
        "script": guarded(due.script),
        "set": str(planned.set),
        "exercise": guarded(planned.exercise),
        "side": planned.side,
        "rung": guarded(planned.rung.name),
        "window_s": f"{planned.window_s:g}",
    }
