"""The widgets together, at the moments of a work window."""

from typing import ClassVar

from textual.app import App, ComposeResult
from textual.widgets import Static

from holdtimer.screens.painted import Painted, clock_face, headline, notice, tap_bar
from holdtimer.screens.ruler import RulerData, ruler
from holdtimer.screens.themes import FIELDS_CSS, wear

WINDOW = RulerData(90, (60, 90), 30, last_first_failure_s=65)


class Moment(App):
    """One moment of a set, drawn with every widget."""

    CSS = (
        FIELDS_CSS
        + """
    Screen { padding: 0 1; }
    #title { height: 1; text-style: bold; }
    #tap, #ruler { height: 5; }
    #ruler { margin: 0 0; }
    .-tall #tap { height: 7; } .-tall #ruler { height: 6; margin: 1 0; }
    .-huge #tap { height: 9; } .-huge #ruler { height: 7; margin: 2 0; }
    """
    )
    VERTICAL_BREAKPOINTS: ClassVar = [(0, "-low"), (36, "-tall"), (54, "-huge")]

    def __init__(self, text, data, words, theme="evening", way_out="", live=True, said=""):
        super().__init__()
        self.moment = (text, data, words, way_out, live, said)
        wear(self, theme)

    def on_mount(self) -> None:
        self.screen.set_class(self.in_work, "-in-work")

    @property
    def in_work(self) -> bool:
        stamps = self.moment[1].stamps
        return self.moment[4] and (not stamps or stamps[-1][1] == "re-entry")

    def compose(self) -> ComposeResult:
        text, data, words, way_out, live, said = self.moment
        yield Static("Wall sit · thighs level · set 2 of 5", id="title")
        if said:
            yield Painted(notice, said, id="notice", classes="notice")
        look = "solid" if self.in_work else "hollow"
        yield Painted(clock_face, text.rjust(2), look, id="digits", is_moving=True)
        yield Painted(ruler, data, id="ruler", is_moving=True)
        if way_out:
            words_of_it = Painted(headline, way_out)
            words_of_it.styles.height = len(headline(self.size.width - 2, self.size.height // 3 - 1, way_out))
            yield words_of_it
        yield Painted(tap_bar, words, live, id="tap")


def moment(now, stamps=()):
    return RulerData(90, (60, 90), 30, now, stamps, 65)


def demo_in_work() -> App:
    return Moment("42", moment(42), "I have failed")


def demo_failed() -> App:
    data = moment(73, ((69.4, "failure"),))
    return Moment("73", data, "I am back in", way_out="Hands on the chair seat, stand up")


def demo_back_in() -> App:
    data = moment(86, ((69.4, "failure"), (80, "re-entry")))
    return Moment("86", data, "I have failed", said="sound is off")


def demo_long() -> App:
    data = RulerData(240, (120, 180), 30, 125, (), 140)
    return Moment("2:05", data, "I have failed", theme="daylight")


def demo_daylight_failed() -> App:
    data = moment(73, ((69.4, "failure"),))
    return Moment(
        "73", data, "I am back in", theme="daylight", way_out="Both feet down, both hands on the counter"
    )


def demo_closed() -> App:
    return Moment("90", moment(90), "no tap counts now", theme="two-tone", live=False)


def demo_two_tone() -> App:
    return Moment("5", moment(5), "I worked to the end", theme="two-tone")
