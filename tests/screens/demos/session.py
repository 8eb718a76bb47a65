"""The screen of a running session at the moments that matter, on a clock moved by hand."""

from functools import cache

from holdtimer.live.driver import Driver
from holdtimer.live.keys import Key
from holdtimer.log.clocks import Reading
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import find, load
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.session import SessionScreen
from holdtimer.session.engine import Engine
from holdtimer.sound.player import OffPlayer
from tests.hand_clock import HandClock
from tests.screens.waiting import begun

READING = Reading(0, None, "2026-03-04T17:00:00.000Z", 3600, "Europe/Berlin", None)
LAST = {("wall-sit", "both"): 65.0, ("heel-raise", "left"): 58.0}


@cache
def timeline(program, script):
    return compile_script(load(find(program)).program, script)


class KeptLog:
    """A log that keeps nothing and is always well."""

    handed_in = written = saved = 0

    def append(self, event):
        pass

    def wait_written(self, timeout):
        return True

    def trouble(self):
        return None


class HeardPlayer(OffPlayer):
    """One that somebody is to hear, as far as the screen is told."""

    name = "miniaudio"


class Stage(HoldtimerApp):
    """A session brought to one moment, and held there."""

    is_far = False
    came = ()

    def __init__(self, program, script, play):
        super().__init__(self._story)
        self.clock = HandClock(0.0)
        engine = Engine(timeline(program, script))
        self.driver = Driver(engine, self.clock, KeptLog(), HeardPlayer(), lambda: READING)
        self.play = play

    async def _story(self, _):
        opened = {"session": "20260304T170000Z-00000000", "person": "Edda", "program": "demo"}
        self.driver.begin(opened)
        await self.push_screen_wait(SessionScreen(self.driver, LAST, (), is_far=self.is_far))
        return 0

    def take_in(self, given):
        """Hand it to the session at once, as whoever leads one in a thread of its own does."""
        self.driver.take(given)

    async def arrange(self, pilot):
        await begun(pilot)
        self.play(self)
        self.screen.follow(self.came)
        self.screen.show()
        await pilot.pause()

    def wait(self, seconds):
        """Let so many seconds pass."""
        end = self.clock.time + seconds
        while self.clock.time < end:
            self.clock.time = min(end, self.clock.time + 2.0)
            self.driver.tick()

    def tap(self, key="space"):
        self.driver.key(key, self.clock.time)

    def until(self, exercise, side="both"):
        """Go on, each window failed at 70 s, until the window of one set opens."""
        while True:
            current = self.driver.engine.session.open_set
            if current is not None and (current.exercise, current.side) == (exercise, side):
                return
            if current is not None and not current.stamps:
                self.wait(70)
            if self.driver.engine.tap_meaning(self.clock.time).value in ("begin", "ready", "failure"):
                self.tap()
            self.wait(1)


def staged(play, program="chair-and-counter", script="A"):
    return Stage(program, script, play)


def demo_ready():
    return staged(lambda stage: stage.wait(3))


def demo_easy():
    def play(stage):
        stage.wait(3)
        stage.tap()
        stage.wait(30)

    return staged(play)


def demo_count_in():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(70)
        stage.tap()
        stage.wait(95)
        stage.tap()
        stage.wait(4)
        while stage.driver.engine.session.phase.value != "count-in":
            stage.wait(1)
        stage.wait(3)

    return staged(play)


def demo_working():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(37)

    return staged(play)


def demo_final_stretch():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(64.4)

    return staged(play)


def demo_failed():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(69)
        stage.tap()
        stage.wait(0.6)

    return staged(play)


def demo_out():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(69)
        stage.tap()
        stage.wait(6)

    return staged(play)


def demo_back_in():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(69)
        stage.tap()
        stage.wait(8)
        stage.tap()
        stage.wait(5)

    return staged(play)


def demo_asks():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(94)

    return staged(play)


def demo_asks_scanned():
    """The only switch held at the question: both answers are marked in turn."""

    def play(stage):
        stage.until("wall-sit")
        stage.wait(94)
        for n in range(85):
            stage.tap()
            stage.wait(0.04 if n else 0.5)
        stage.wait(6.5)

    return staged(play)


def demo_said_yes():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(94)
        stage.tap()
        stage.wait(0.5)

    return staged(play)


def demo_rest():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(70)
        stage.tap()
        stage.wait(35)

    return staged(play)


def demo_rest_over():
    def play(stage):
        stage.until("counter-press")
        stage.wait(70)
        stage.tap()
        stage.wait(220)

    return staged(play)


def demo_menu():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(20)
        stage.tap("escape")
        stage.wait(1)
        stage.tap("down")

    return staged(play)


def demo_scanned():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(70)
        stage.tap()
        stage.wait(35)
        for _ in range(5):
            stage.wait(1.5)
            stage.tap()
        stage.wait(8)

    return staged(play)


def demo_asked_again():
    def play(stage):
        stage.wait(3)
        for _ in range(5):
            stage.wait(1.5)
            stage.tap()
        stage.wait(3)
        stage.tap()
        stage.wait(1)

    return staged(play)


def demo_unheard():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(20)
        stage.driver.focus(False, stage.clock.time)
        stage.wait(1)

    return staged(play)


def demo_dropped():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(69)
        stage.tap()
        stage.wait(1)
        stage.tap()
        stage.wait(0.2)

    return staged(play)


def demo_way_back():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(40)
        stage.tap()
        stage.wait(12)

    return staged(play)


def demo_working_left():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(8)

    return staged(play)


def demo_window_over():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(90)

    return staged(play)


def demo_rest_ready():
    def play(stage):
        stage.until("heel-raise", "left")
        stage.wait(70)
        stage.tap()
        stage.wait(35)
        stage.tap()
        stage.wait(0.2)

    return staged(play)


def demo_help():
    def play(stage):
        stage.wait(3)
        stage.came = (Key("question_mark", stage.clock.time),)

    return staged(play)


def demo_menu_out():
    def play(stage):
        stage.until("wall-sit")
        stage.wait(69)
        stage.tap()
        stage.wait(4)
        stage.tap("escape")

    return staged(play)


def demo_over():
    def play(stage):
        stage.until("split-dip", "left")
        stage.wait(40)
        stage.tap()
        stage.wait(1)

    return staged(play, script="B")
