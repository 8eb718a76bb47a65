"""A moment of the session screen as plain data, and how many rows and columns each piece of it gets.

The tap bar is always whole. Then come the digits and the headline; the smaller lines give way first, then the
ruler, then the heading.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from holdtimer.screens.fit import (
    LARGE_ROWS,
    LEAST_ROWS,
    Line,
    digit_size,
    large_notice,
    large_rows,
    lettering,
    plain_lines,
    stack,
)
from holdtimer.screens.ruler import RulerData

State = Literal["ready", "easy", "count-in", "work", "out", "rest", "waits", "asks", "done"]


@dataclass(frozen=True, slots=True)
class View:
    """One moment of the session screen.

    `beside` are large words beside the digits, or above the headline where no clock runs; `lines` come in the
    order in which they matter, the last give way first. `way_out` stays on screen under a menu.
    """

    state: State
    heading: str
    # time to the end, where in the session, whether it is saved; as far as they fit
    places: tuple[str, ...] = ()
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
    no: str = ""  # what Backspace answers, where a question is asked
    alarm: str = ""  # what must be seen at once: a press that was not heard, a lost keyboard
    noted: str = ""  # what a key that counted is acknowledged with, where the tap bar has other words
    notices: tuple[str, ...] = ()

    def place(self, heading: str, columns: int) -> str:
        """Return as many of the places as have room beside a heading."""
        for count in range(len(self.places), 0, -1):
            place = " · ".join(self.places[:count])
            if len(heading) + 2 + len(place) <= columns:
                return place
        return ""


def labelled(label: str, texts: Sequence[str]) -> tuple[Line, ...]:
    """Return lines of which the first bears the label."""
    return tuple(Line(text, "" if at else label) for at, text in enumerate(texts))


USUAL = (80, 24)  # columns and rows; below that not all has room
LEAST_DIGITS = 9  # rows in a window: readable from 3 m with poor sight, see the letter heights in the tests
SIDES = 2  # columns left free beside the screen
ALARM_ROWS = 4
FRAME = 2  # rows and columns a frame takes
FROM_AFAR = ("That is", "Needed", "First test", "First set", "Way out", "Rung", "Tempo")  # lines that stay
BESIDE_COLUMNS = 24  # the words beside the digits get at least these, or three in ten of all


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Rows of each piece from top to bottom; `digits_columns` are those of the digits beside the words."""

    heading: int = 1
    digits: int = 0
    digits_columns: int = 0
    beside: int = 0  # the most rows of a letter beside or in place of the digits
    ruler: int = 0
    above: int = 0  # empty rows above the headline
    headline: int = 0
    below: int = 0  # and below it
    lines: int = 0
    notice: int = 0
    tap: int = 4
    is_framed: bool = False

    @property
    def rows(self) -> int:
        """All rows together, those of the frame too."""
        words = self.above + self.headline + self.below + self.lines
        frame = FRAME * self.is_framed
        return self.heading + self.digits + self.ruler + words + self.notice + self.tap + frame


def tap_rows(rows: int) -> int:
    """Return the rows of the tap bar in a terminal of so many rows."""
    return 1 if rows < 10 else 3 if rows < 20 else 4 if rows < 30 else 6 if rows < 50 else 8


def headline_rows(rows: int) -> int:
    """Return the most rows of a page's headline."""
    return 1 if rows < 16 else 3 if rows < 30 else 5 if rows < 50 else 7


def from_afar(view: View) -> View:
    """Return the view with nothing but the clock, the words beside it and what a tap does.

    The way out stays, and so do the name and the rung of what comes next, and at ready what must be at hand.
    """
    is_kept = view.state != "work"
    lines = tuple(line for line in view.lines if line.label in FROM_AFAR and is_kept)
    return replace(view, heading="", places=(), lines=lines, ruler=None)


def arrange(
    view: View, columns: int, rows: int, covered: int = 0, *, is_far: bool = False, tap: int | None = None
) -> Arrangement:
    """Arrange a view; a menu or the help takes `covered` rows for itself, the tap bar `tap`.

    From afar the tap bar is as large as its words allow, and all else is for the clock.
    """
    is_far = is_far and not covered and rows >= USUAL[1]
    is_loud = bool(view.alarm or view.noted or view.notices)
    if tap is None and is_loud:
        quiet = replace(view, alarm="", noted="", notices=())
        tap = arrange(quiet, columns, rows, covered, is_far=is_far).tap
    tap = tap or _tap(view, rows, is_far)
    is_framed = view.state == "count-in" and rows >= USUAL[1] and not is_far
    heading = int(rows >= 10 and not is_far)
    spare = max(1, rows - tap - heading - FRAME * is_framed)
    inner = columns - SIDES - 2 * FRAME * is_framed
    notice = _notice_rows(view, inner, spare, alarm=rows // 6 if is_far else ALARM_ROWS)
    if is_far:
        far_share = _clock_from_afar if view.digits else _words_from_afar
        got = far_share(view, spare, notice, inner, round(rows / 20))
    elif covered:
        notice = min(1, notice) * (view.state != "out")  # there the heading says the way out
        got = Arrangement(digits=max(0, spare - covered - notice), notice=notice)
    else:
        share = {"work": _work, "out": _out}.get(view.state, _waiting)
        got = share(view, spare, notice, inner)
    # after a failure what a tap does can't stand in larger letters than the way out
    if view.state == "out" and not is_loud and LEAST_ROWS < got.beside < tap:
        return arrange(view, columns, rows, covered, is_far=is_far, tap=got.beside)
    is_full = got.rows - got.heading - got.tap > spare
    has_words = bool(view.beside) and bool(view.digits) and not covered
    return replace(
        got,
        heading=0 if is_full else heading,
        notice=got.notice if heading or not is_full else 0,
        digits_columns=_digits_columns(view, inner, got.digits) if has_words else inner,
        beside=got.beside or max(1, got.digits * 2 // 3 if view.digits else got.digits - 1),
        tap=tap,
        is_framed=is_framed,
    )


def _tap(view: View, rows: int, is_far: bool) -> int:
    """Return the rows of the tap bar of the session screen."""
    has_room = rows >= 30 or not (view.digits and view.lines)  # else a row stays between digits and words
    far = rows // 6 if view.state == "out" or view.no else rows // 5 + has_room
    each = max(tap_rows(rows), far * is_far)
    return 2 * each + int(rows >= USUAL[1]) if view.no else each


def _clock_from_afar(view: View, spare: int, notice: int, columns: int, air: int) -> Arrangement:
    """Give the clock what the words below it leave; for a notice they give way, so that it keeps its size.

    A row stays free where a digit would run into a letter. The headline gives way to the way out and the rung
    in large letters where it stays large itself.
    """
    if not view.headline:
        return Arrangement(digits=spare - max(air, notice), below=max(0, air - notice), notice=notice)
    least = max(LEAST_DIGITS, spare * 9 // 20)
    most = LARGE_ROWS * air if view.state == "count-in" else spare
    room = min(most, spare - least - 2 * air)
    is_tight = air == 1 and bool(view.lines) and view.state != "out"  # the row that the tap bar left
    digits = spare - _high(view.headline, columns, room) - 2 * air - is_tight
    while notice > 1 and _high(view.headline, columns, spare - digits - notice) < LARGE_ROWS:
        notice = notice - 1 if notice > ALARM_ROWS else 1
    words = spare - digits - notice
    headline = _high(view.headline, columns, min(room, words))
    large = (large_rows(view.lines[:2], columns) or spare) + len(view.lines[2:])
    smaller = _high(view.headline, columns, max(1, words - large - 2))
    are_large = bool(view.lines) and view.state != "out" and LARGE_ROWS <= smaller <= words - large - 2
    headline = smaller if are_large else headline
    left = words - headline
    plain = len(stack(plain_lines(view.lines, columns)))
    lines = max(0, left - are_large - (left > min(plain, 2))) if view.lines else 0
    above = left // 2 if not lines else left - lines - are_large
    return Arrangement(
        digits=digits,
        beside=_letter_rows(view.headline, columns, headline) if view.state == "out" else 0,
        above=above,
        headline=headline,
        below=left - lines - above,
        lines=lines,
        notice=notice,
    )


def _words_from_afar(view: View, spare: int, notice: int, columns: int, air: int) -> Arrangement:
    """Set the words of a view without a clock at half height; smaller lines, where there are any, below."""
    spare -= notice
    most = spare - air
    if view.lines:
        most = max(LARGE_ROWS, spare // 5)
    headline = _high(view.headline, columns, most)
    above = 1 if view.lines or view.no else (spare - headline) // 2
    below = air if view.lines else spare - headline - above
    lines = spare - headline - above - below
    return Arrangement(above=above, headline=headline, below=below, lines=lines, notice=notice)


def _notice_rows(view: View, columns: int, spare: int, alarm: int = ALARM_ROWS) -> int:
    """Return the rows of the notice; an alarm, readable from afar where there is room, gets up to `alarm`."""
    loud = view.alarm or view.noted
    if loud and spare >= LEAST_DIGITS + ALARM_ROWS:
        for rows in range(alarm, ALARM_ROWS - 1, -1):
            if large_notice(loud, columns, rows):
                return rows
    return 1 if (loud or view.notices) and spare > 3 else 0


def _digits_columns(view: View, columns: int, rows: int) -> int:
    """Return the columns of the digits beside words: what they need, the words never being squeezed out."""
    most = columns - max(BESIDE_COLUMNS, columns * 3 // 10)
    size = digit_size(view.widest, most, rows)
    return columns if size is None else min(most, size.width(view.widest) + 4)


def _work(view: View, spare: int, notice: int, columns: int) -> Arrangement:  # noqa: ARG001
    """Give the digits all but the ruler and two lines; a notice leaves their size alone."""
    ruler, lines = (4, 2) if spare < 28 else (5, 2) if spare < 48 else (6, 9)
    others = max(0, min(ruler + lines, spare - LEAST_DIGITS))
    ruler, lines = _shared(others - notice, ruler)
    return Arrangement(digits=spare - max(others, notice), ruler=ruler, lines=lines, notice=notice)


def _shared(rows: int, ruler: int) -> tuple[int, int]:
    """Share rows between the ruler, of three rows or more, and the lines above two rows of which it goes."""
    kept = min(ruler, rows)
    return (kept, rows - kept) if kept >= 3 else (0, max(0, rows))


def _out(view: View, spare: int, notice: int, columns: int) -> Arrangement:
    """Give the way out as much as leaves the digits readable, in two lines where it takes them."""
    least = max(LEAST_DIGITS, spare * 3 // 8) if spare >= USUAL[1] - 5 else spare * 3 // 8
    ruler = 3 if spare < 28 else 5 if spare < 48 else 6
    kept = ruler if spare - least - ruler >= 7 else 0
    headline = _high(view.headline, columns, max(1, spare - least - kept))
    if headline < LEAST_ROWS:  # in ordinary letters: rather no ruler
        headline = _high(view.headline, columns, max(1, spare - least))
    kept, lines = _shared(max(0, spare - least - headline), ruler)
    others = kept + min(lines, len(stack(plain_lines(view.lines, columns))))
    notice = notice if notice <= others + 1 else 1  # one row more it may take from the heading
    kept, lines = _shared(others - notice, kept)
    return Arrangement(
        digits=spare - headline - others,
        beside=_letter_rows(view.headline, columns, headline),
        ruler=kept,
        headline=headline,
        lines=lines,
        notice=notice,
    )


def _letter_rows(text: str, columns: int, most: int) -> int:
    """Return the rows of one letter of a text set in large letters."""
    drawn = lettering(text, columns, max(1, most))
    return next((at for at, row in enumerate(drawn) if not row.strip()), len(drawn))


def _high(text: str, columns: int, most: int) -> int:
    return len(lettering(text, columns, most)) if text else 0


def _waiting(view: View, spare: int, notice: int, columns: int) -> Arrangement:
    """Give what comes next and how to set it up as much room as the clock."""
    spare = max(1, spare - notice)
    clock = _clock_rows(view, spare)
    above = 1 if clock and view.digits and spare - clock > 2 else 0
    left = spare - clock - above
    headline = _high(view.headline, columns, _headline_room(view, max(1, left - 1), spare, columns))
    below = 1 if left - 1 > headline else 0
    lines = max(0, left - headline - below)
    return Arrangement(digits=clock, above=above, headline=headline, below=below, lines=lines, notice=notice)


def _headline_room(view: View, room: int, spare: int, columns: int) -> int:
    """Return the most rows of the headline: all the lines in large letters come before a larger headline."""
    least = max(3, spare // (8 if view.state == "ready" else 5))
    most = spare // (4 if view.digits else 2)
    large = large_rows(view.lines, columns)
    if large is not None and room - large >= least:
        return min(most, room - large)
    if view.state == "ready":
        most = least
    return max(1, min(room, max(3, min(most, room - len(stack(plain_lines(view.lines, columns)))))))


def _clock_rows(view: View, spare: int) -> int:
    """Return the rows of the clock, or of the words above the headline where no clock runs."""
    if view.digits:
        share = spare * 2 // 5 if view.state == "rest" else spare // 2 + 1
        return max(0, min(spare - 2, 5), min(share, spare - 6))
    return 0 if not view.beside else min(4 if spare < 28 else 6 if spare < 48 else 8, spare // 4)
