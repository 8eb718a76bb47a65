"""How many rows and columns each piece of the session screen gets, for any size of terminal.

The tap bar is always whole. Then come the digits and the headline; the smaller lines give way first, then the
ruler, then the heading.
"""

from dataclasses import dataclass, replace

from holdtimer.screens.glyphs import digit_size
from holdtimer.screens.lettering import lettering
from holdtimer.screens.line_setting import large_rows, plain_rows
from holdtimer.screens.view import Line, View

USUAL = (80, 24)  # columns and rows; below that not all has room
LEAST_DIGITS = 9  # rows in a window: readable from 3 m with poor sight, see the letter heights in the tests
SIDES = 2  # columns left free beside the screen
ALARM_ROWS = 4
FRAME = 2  # rows and columns a frame takes
BESIDE_COLUMNS = 24  # the words beside the digits get at least these


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


def arrange(view: View, columns: int, rows: int, covered: int = 0) -> Arrangement:
    """Arrange a view; `covered` are the rows that a menu or the help takes for itself."""
    tap = tap_rows(rows)
    heading = 1 if rows >= 10 else 0
    is_framed = view.state == "count-in" and rows >= USUAL[1]
    spare = max(1, rows - tap - heading - FRAME * is_framed)
    inner = columns - SIDES - 2 * FRAME * is_framed
    notice = _notice_rows(view, inner, spare)
    if covered:
        notice = min(1, notice) * (view.state != "out")  # there the heading says the way out
        got = Arrangement(digits=max(0, spare - covered - notice), notice=notice)
    elif view.state == "work":
        got = _work(spare, notice)
    elif view.state == "out":
        got = _out(view, spare, notice, inner)
    else:
        got = _waiting(view, max(1, spare - notice), inner)
        got = replace(got, notice=notice)
    is_full = got.digits + got.ruler + got.above + got.headline + got.below + got.lines + got.notice > spare
    has_words = bool(view.beside) and bool(view.digits)
    return replace(
        got,
        heading=0 if is_full else heading,
        notice=got.notice if heading or not is_full else 0,
        digits_columns=_digits_columns(view, inner, got.digits) if has_words else inner,
        beside=got.beside or max(1, got.digits * 2 // 3 if view.digits else got.digits - 1),
        tap=tap,
        is_framed=is_framed,
    )


def from_afar(view: View) -> View:
    """Return the view with nothing but the clock, the side and what a tap does; the way out stays."""
    keeps_headline = view.state == "out" or not view.digits
    beside = view.beside if view.state in ("work", "count-in") or not view.digits else ()
    return replace(
        view,
        heading="",
        places=(),
        beside=beside,
        headline=view.headline if keeps_headline or view.state in ("rest", "easy", "count-in") else "",
        lines=(),
        ruler=None,
    )


def arrange_from_afar(view: View, columns: int, rows: int, covered: int = 0) -> Arrangement:
    """Arrange a view from afar: the tap bar as large as its words allow, all else for the clock."""
    tap = max(tap_rows(rows), rows // 5 + 1 if rows >= USUAL[1] else 0)
    inner, spare = columns - SIDES, max(1, rows - tap)
    notice = _notice_rows(view, inner, spare)
    if covered:
        return replace(arrange(view, columns, rows, covered), heading=0)
    most = spare if not view.digits else spare // 2 if view.state == "out" else spare // 3
    headline = _high(view.headline, inner, max(1, most - notice))
    below = 1 if headline and spare > USUAL[1] // 2 else 0
    digits = max(0, spare - headline - below - notice) if view.digits else 0
    has_words = bool(view.beside) and digits > 0
    return Arrangement(
        heading=0,
        digits=digits,
        digits_columns=_digits_columns(view, inner, digits) if has_words else inner,
        beside=max(1, digits * 2 // 3),
        headline=headline,
        below=below,
        notice=notice,
        tap=tap,
    )


def _notice_rows(view: View, columns: int, spare: int) -> int:
    """Return the rows of the notice: an alarm is readable from afar where there is room."""
    if view.alarm and spare >= LEAST_DIGITS + ALARM_ROWS and large_rows((Line(view.alarm),), columns) == 3:
        return ALARM_ROWS
    return 1 if (view.alarm or view.notices) and spare > 3 else 0


def _digits_columns(view: View, columns: int, rows: int) -> int:
    """Return the columns of the digits beside words: what they need, the words never being squeezed out."""
    most = columns - BESIDE_COLUMNS
    size = digit_size(view.widest, most, rows)
    return columns if size is None else min(most, size.width(view.widest) + 4)


def _work(spare: int, notice: int) -> Arrangement:
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
    kept, lines = _shared(max(0, spare - least - headline), ruler)
    others = kept + min(lines, plain_rows(view.lines, columns))
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


def _waiting(view: View, spare: int, columns: int) -> Arrangement:
    """Give what comes next and how to set it up as much room as the clock."""
    clock = _clock_rows(view, spare)
    above = 1 if clock and view.digits and spare - clock > 2 else 0
    left = spare - clock - above
    headline = _high(view.headline, columns, _headline_room(view, max(1, left - 1), spare, columns))
    below = 1 if left - 1 > headline else 0
    lines = max(0, left - headline - below)
    return Arrangement(digits=clock, above=above, headline=headline, below=below, lines=lines)


def _headline_room(view: View, room: int, spare: int, columns: int) -> int:
    """Return the most rows of the headline: all the lines in large letters come before a larger headline."""
    least = max(3, spare // (8 if view.state == "ready" else 5))
    most = spare // (4 if view.digits else 2)
    large = large_rows(view.lines, columns)
    if large is not None and room - large >= least:
        return min(most, room - large)
    if view.state == "ready":
        most = least
    return max(1, min(room, max(3, min(most, room - plain_rows(view.lines, columns)))))


def _clock_rows(view: View, spare: int) -> int:
    """Return the rows of the clock, or of the words above the headline where no clock runs."""
    if view.digits:
        share = spare * 2 // 5 if view.state == "rest" else spare // 2 + 1
        return max(0, min(spare - 2, 5), min(share, spare - 6))
    return 0 if not view.beside else min(4 if spare < 28 else 6 if spare < 48 else 8, spare // 4)
