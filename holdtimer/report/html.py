"""A page that needs nothing but itself, and the drawings in it, as SVG.

There is no script, nothing comes from outside, and every text is escaped. What differs in a drawing differs
in shape, fill or letter, never in hue alone. Each drawing has a title and a description that say the same;
colours are classes of `page.css`.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.resources import files
from itertools import pairwise

import htpy as h

from holdtimer.program.timeline import Side
from holdtimer.report.course import Point
from holdtimer.session.results import SetResult
from holdtimer.text import clock

# whatever a browser may once learn to fetch or run, this page asks for none of it
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_HEAD = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8">'
    '<meta name="generator" content="holdtimer {}">'
)


def beginning(kind: str) -> str:
    """Return how all pages of a kind begin."""
    return _HEAD.format(kind)


def document(kind: str, title: str, body: h.Node) -> str:
    """Return a whole page; `kind` is the class of its body in `page.css`."""
    # it holds nothing that has to be escaped: a browser would not read that back in a style
    style = files("holdtimer.report").joinpath("page.css").read_text(encoding="utf-8")
    rest = h.fragment[
        h.meta(http_equiv="Content-Security-Policy", content=_POLICY),
        h.meta(name="viewport", content="width=device-width, initial-scale=1"),
        h.meta(name="referrer", content="no-referrer"),
        h.title[title],
        h.style[style],
    ]
    return f"{beginning(kind)}{rest}</head>{h.body(class_=kind)[body]}</html>\n"


_RULER = 180, 26  # units wide and high
_LEFT, _RIGHT, _TOP, _BASE = 26.0, 314.0, 14.0, 92.0  # of the field of a curve
_STEPS, _CLIMB = 122.0, 13.0  # where the lowest rung is drawn below it, and how high above it the highest
_CURVE = 320, 140


def _svg(key: str, size: tuple[int, int], kind: str, title: str, desc: str, drawn: h.Node) -> h.Element:
    """Return a drawing that a screen reader reads by its title and description; `key` is unique on a page."""
    said = {"role": "img", "aria-labelledby": f"{key}-t {key}-d"}
    box = {"viewBox": f"0 0 {size[0]} {size[1]}", "preserveAspectRatio": "xMinYMid", "class": kind}
    return h.svg(said, box)[h.title(id=f"{key}-t")[title], h.desc(id=f"{key}-d")[desc], drawn]


def _line(kind: str, x: float, y: float, x2: float, y2: float) -> h.Element:
    return h.line(class_=kind, x1=_n(x), y1=_n(y), x2=_n(x2), y2=_n(y2))


def _box(kind: str, x: float, y: float, x2: float, y2: float) -> h.Element:
    return h.rect(class_=kind, x=_n(x), y=_n(y), width=_n(max(0.0, x2 - x)), height=_n(y2 - y))


def _word(x: float, y: float, text: str, anchor: str = "start") -> h.Element:
    return h.text({"text-anchor": anchor}, x=_n(x), y=_n(y))[text]


def _n(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


# ---- one set


def ruler(key: str, result: SetResult, title: str, desc: str) -> h.Element:
    """Return the window of one set from left to right: the band, the time in work, and each stamp.

    A stamp is a stroke through the whole height, broken where it is estimated. A run to the end that was
    confirmed ends in an arrow.
    """
    width, height = _RULER

    def x(seconds: float) -> float:
        return 2 + (width - 12) * min(1.0, seconds / result.window_s)

    low, high = result.band_s
    drawn = [_box("band", x(low), 1, x(high), height - 1)]
    drawn += [_line("edge", x(each), 1, x(each), height - 1) for each in (low, high)]
    drawn.append(_line("axis", x(0), height / 2, x(result.window_s), height / 2))
    drawn += [_box("work", x(begin), 9, x(end), height - 9) for begin, end in result.worked]
    for at in _stamps(result):
        drawn.append(
            _line("stamp about" if at in result.estimated_s else "stamp", x(at), 1, x(at), height - 1)
        )
    if result.ran_to_end and result.confirmed:
        end = x(result.window_s)
        drawn.append(h.path(class_="work", d=f"M{_n(end)} 5L{_n(end + 9)} 13L{_n(end)} 21Z"))
    return _svg(key, _RULER, "ruler", title, desc, drawn)


def _stamps(result: SetResult) -> tuple[float, ...]:
    if not result.failures_s and result.first_failure_s is not None:  # on paper
        return (result.first_failure_s,)
    return (*result.failures_s, *result.reentries_s)


# ---- an exercise over the weeks


@dataclass(frozen=True, slots=True)
class Scale:
    """What the results of an exercise are drawn against: the time from and to, window and band in seconds."""

    since: datetime
    until: datetime
    window_s: float
    band_s: tuple[float, float]

    def x(self, at: datetime) -> float:
        """Return where a time is."""
        whole = max(self.until - self.since, timedelta(days=1))
        return _LEFT + 8 + (_RIGHT - _LEFT - 16) * min(1.0, max(0.0, (at - self.since) / whole))

    def y(self, seconds: float) -> float:
        """Return where so many seconds are."""
        return _BASE - (_BASE - _TOP) * min(1.0, seconds / self.window_s)


def curve(
    key: str, points: Sequence[Point], scale: Scale, days: tuple[str, str], title: str, desc: str
) -> h.Element:
    """Return the results of an exercise, both sides on one scale, with the rungs as steps below.

    Left and both are dots with a full line, right is squares with a broken one; a line joins results at one
    rung. A run to the end is open, with an arrow; a cross is a result that does not count. `days` are the
    first and the last one in words.
    """
    low, high = scale.band_s
    drawn: list[h.Node] = [
        _box("band", _LEFT, scale.y(high), _RIGHT, scale.y(low)),
        *(_line("edge", _LEFT, scale.y(each), _RIGHT, scale.y(each)) for each in (low, high)),
        _line("axis", _LEFT, _TOP - 4, _LEFT, _BASE),
        _line("axis", _LEFT, _BASE, _RIGHT, _BASE),
        *(
            _word(_LEFT - 4, scale.y(each) + 4, clock(each), "end")
            for each in dict.fromkeys((0.0, low, high))
        ),
        _word(_LEFT, _CURVE[1] - 3, days[0]),
        _word(_RIGHT, _CURVE[1] - 3, days[1], "end"),
    ]
    for side in ("left", "both", "right"):
        own = [each for each in points if each.side == side]
        drawn += [*_joined(own, scale), *_steps(own, points, scale), *(_mark(each, scale) for each in own)]
    words = {(scale.x(each.at), word) for each in points for word in _words(each)}
    drawn += [_word(x, _BASE - 3, word, "middle") for x, word in sorted(words)]
    return _svg(key, _CURVE, "curve", title, desc, drawn)


def series_curve(
    key: str, points: Sequence[tuple[datetime, float, bool]], scale: Scale, days: tuple[str, str],
    title: str, desc: str,
) -> h.Element:  # fmt: skip
    """Return the results of a function test on the time axis of the exercises above it; 0 is at its foot.

    A point is when, how much, and whether it is compared: open where it is practice or an off day.
    """
    top = max(value for _, value, _ in points)
    tick = round(top, 1) if top < 10 else round(top)
    drawn: list[h.Node] = [
        _line("axis", _LEFT, _TOP - 4, _LEFT, _BASE),
        _line("axis", _LEFT, _BASE, _RIGHT, _BASE),
        *(_word(_LEFT - 4, scale.y(each) + 4, f"{each:g}", "end") for each in (0.0, tick)),
        _word(_LEFT, _CURVE[1] - 33, days[0]),
        _word(_RIGHT, _CURVE[1] - 33, days[1], "end"),
    ]
    compared = [(scale.x(at), scale.y(value)) for at, value, counts in points if counts]
    drawn += [_line("join", *one, *other) for one, other in pairwise(compared)]
    drawn += [
        h.circle(class_="mark" if counts else "open", cx=_n(scale.x(at)), cy=_n(scale.y(value)), r="4")
        for at, value, counts in points
    ]
    return _svg(key, (_CURVE[0], _CURVE[1] - 30), "curve", title, desc, drawn)


def _joined(points: Iterable[Point], scale: Scale) -> Iterator[h.Element]:
    """Yield a line between two results that count and follow each other at one rung."""
    for one, other in pairwise(each for each in points if each.counted):
        if one.rung == other.rung:
            ends = (scale.x(one.at), scale.y(one.drawn_s), scale.x(other.at), scale.y(other.drawn_s))
            yield _line(_side_class("join", one.side), *ends)


def _steps(points: Sequence[Point], every: Sequence[Point], scale: Scale) -> Iterator[h.Element]:
    """Yield the rungs of one side as steps, the place on the ladder at each end."""
    if not points:
        return
    lowest, highest = min(each.rung for each in every), max(each.rung for each in every)
    shift = 2.0 if points[0].side == "right" else 0.0  # two equal lines are both to be seen

    def y(rung: int) -> float:
        return _STEPS + shift - (0 if highest == lowest else _CLIMB * (rung - lowest) / (highest - lowest))

    path = f"M{_n(scale.x(points[0].at))} {_n(y(points[0].rung))}"
    path += "".join(f"H{_n(scale.x(each.at))}V{_n(y(each.rung))}" for each in points[1:])
    yield h.path(class_=_side_class("step", points[0].side), d=f"{path}H{_n(_RIGHT)}")
    if points[0].side != "right":
        yield _word(_LEFT - 4, _STEPS + 4, f"R{lowest + 1}", "end")
        if highest > lowest:
            yield _word(_LEFT - 4, _STEPS - _CLIMB + 4, f"R{highest + 1}", "end")


def _mark(point: Point, scale: Scale) -> h.Element:
    x, y, size = scale.x(point.at), scale.y(point.drawn_s), 4.0
    marks: list[h.Node] = []
    if not point.counted:
        marks.append(h.path(class_="cross", d=f"M{_n(x - 3)} {_n(y - 3)}l6 6m0 -6l-6 6"))
    elif point.side == "right":
        kind = "open" if point.is_open else "mark"
        marks.append(_box(kind, x - size + 0.5, y - size + 0.5, x + size - 0.5, y + size - 0.5))
    else:
        marks.append(h.circle(class_="open" if point.is_open else "mark", cx=_n(x), cy=_n(y), r=_n(size)))
    if point.is_open and point.counted:
        marks.append(h.path(class_="arrow", d=f"M{_n(x)} {_n(y - 5)}v-7m-3 3l3 -3l3 3"))
    return h.g[marks]


def _words(point: Point) -> Iterator[str]:
    """Yield what is written at the foot of the day of a result."""
    if point.off_day or point.pain:
        yield " ".join(["off"] * point.off_day + ["pain"] * point.pain)


def _side_class(kind: str, side: Side) -> str:
    return f"{kind} right" if side == "right" else kind
