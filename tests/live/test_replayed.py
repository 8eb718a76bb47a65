"""What terminals send for taps, tremors, held keys, clickers and menus, on a clock moved by hand.

The bytes go through the parser, the same for lines and screen, and from there into the session.
"""

import pytest

from holdtimer.live.keys import LEAVE, KeyParser
from holdtimer.live.terminal import Leave
from holdtimer.session.results import results

TAP, BACKSPACE, ESCAPE, ENTER, UP, DOWN, CTRL_Q = b" ", b"\x7f", b"\x1b", b"\r", b"\x1b[A", b"\x1b[B", b"\x11"
NO_KEYS = b"\x1b[57441u", b"\x1b[57443;3u", b"\x1b[<35;10;10M", b"\x1b[<64;5;5M"  # modifiers, pointer, wheel
CLICKER = {"page up": b"\x1b[5~", "page down": b"\x1b[6~", "F5": b"\x1b[15~", "b": b"b", "full stop": b"."}
STILL_S, LINE_S = 2.5, 3.0  # after the last tap, and for each line of the menu of a single switch
NEW_SCREEN_S = 1.8  # a new screen takes no tap at first
SHAKES = {"2.5 Hz": 2.5, "3.5 Hz": 3.5, "5 Hz": 5.0}
SHAKEN_S = 1.6
REPEATS = {"slow": (0.66, 0.040), "fast": (0.25, 0.025)}  # how long until a key repeats, and how often then
HELD_S = 2.4
TICK_S = 0.05
LONGEST_S = 300.0


class Hands:
    """Types bytes at moments of a session, in seconds from its start."""

    def __init__(self, faked):
        self.faked = faked
        self.parser = KeyParser()

    def give(self, data):
        self.take(self.parser.feed(data, self.faked.clock.time))

    def take(self, keys):
        for key in keys:
            self.faked.driver.take(Leave("quit") if key.name in LEAVE else key)

    def tick(self):
        """Whatever time has brought by now."""
        self.take(self.parser.settle(self.faked.clock.time))
        self.faked.heartbeat.beat()
        self.faked.driver.tick()

    def until(self, t):
        while self.faked.t < t - 1e-9:
            self.faked.clock.time = min(self.faked.clock.time + TICK_S, self.faked.start + t)
            self.tick()

    def type(self, *moments, data=TAP):
        """Send the same bytes at each of these moments; return the last of them."""
        for t in moments:
            self.until(t)
            self.give(data)
        return moments[-1]

    def when(self, name, count=1):
        """Let time go on until an event was there so many times; return when that was."""
        while len(found := self.faked.of(name)) < count:
            assert self.faked.t < LONGEST_S, f"no {name} in {self.faked.names}"
            self.until(self.faked.t + TICK_S)
        return found[count - 1].t

    def window(self, count=1):
        """Let time go on until a window opens; return when it does."""
        return self.when("window-open", count)

    def open(self):
        self.type(2)
        return self.window()

    def choose(self, since, line):
        """Tap while this line of the menu is marked, counted from 0; return when that was."""
        return self.type(since + LINE_S * line + 1.2)

    def five_taps(self, start):
        """Ask for the menu; return when its lines begin to be marked."""
        return self.type(*(start + n * 0.95 for n in range(5))) + STILL_S

    @property
    def results(self):
        return results(self.faked.engine.session)

    def named(self, *names):
        return [event.ev for event in self.faked.log.events if event.ev in names]

    @property
    def trains(self):
        return [(event.reason, event.count) for event in self.faked.of("dropped")]


@pytest.fixture
def typed(faked_at, hall_text):
    """Open a session of one script to type into; a rest and a count-in take time here."""

    def typed(script="A"):
        text = hall_text.replace("rest_s = 0", "rest_s = 3", 1)
        return Hands(faked_at(script, text.replace("count_in_s = 3", "count_in_s = 4")).begin())

    return typed


STAMPS = ("failure", "re-entry", "taken-back")


def held_taps(start, delay, every, seconds):
    """Return when a keyboard sends a key that is held down."""
    count = int((seconds - delay) / every)
    return [start, *(start + delay + n * every for n in range(count + 1))]


# -- taps and slips


def test_each_tap_has_the_moment_its_bytes_came(typed):
    hands = typed()
    opens = hands.open()
    moments = (2.613, 4.841, 5.787, 8.002, 9.233)
    hands.type(*(opens + moment for moment in moments))
    hands.when("closed")
    (only,) = hands.results
    assert sorted((*only.failures_s, *only.reentries_s)) == pytest.approx(moments, abs=1e-3)
    assert only.tension_s == pytest.approx(2.613 + 0.946 + 1.231, abs=1e-3)
    assert only.counted


def test_a_tap_just_after_the_end_is_a_late_tap(typed):
    hands = typed()
    opens = hands.open()
    hands.type(opens + 10.6)
    hands.when("closed")
    (only,) = hands.results
    assert only.late_tap_s == pytest.approx(0.6, abs=1e-3)
    assert (only.ran_to_end, only.confirmed, only.counted) == (True, True, True)


def test_a_silent_window_is_not_confirmed_and_not_counted(typed):
    hands = typed()
    opens = hands.open()
    hands.type(opens + 13, data=CTRL_Q)
    (only,) = hands.results
    assert (only.ran_to_end, only.confirmed, only.counted) == (True, False, False)
    assert hands.faked.log.events[-1].reason == "quit"


def test_slips_are_taken_back_and_what_is_no_tap_does_nothing(typed):
    hands = typed()
    opens = hands.open()
    hands.type(opens + 0.7)
    hands.type(opens + 1.6, opens + 2.2, data=BACKSPACE)
    hands.type(opens + 3.0, data=ESCAPE)
    for n in range(5):
        hands.type(opens + 3.4 + n * 0.1, data=UP if n < 3 else DOWN)
    hands.type(opens + 4.0, data=ESCAPE)  # the menu is closed again
    for n, nothing in enumerate(NO_KEYS):
        hands.type(opens + 4.3 + n * 0.1, data=nothing)
    hands.type(opens + 5.0, data=b"\x1b[O")
    hands.type(opens + 5.4, data=b"\x1b[I")
    hands.type(opens + 6.3)
    hands.type(opens + 8.8, data=b"\x1b[<0;20;20M")
    hands.type(opens + 8.9, data=b"\x1b[<0;20;20m")
    hands.when("closed")
    assert hands.named(*STAMPS) == ["failure", "taken-back", "failure", "re-entry"]
    assert [event.has for event in hands.faked.of("focus")] == [False, True]
    assert hands.trains == []
    (only,) = hands.results
    assert only.failures_s == pytest.approx([6.3], abs=1e-3)


def test_something_feels_wrong_is_two_keys_away_and_ends_the_session(typed):
    hands = typed()
    opens = hands.open()
    hands.type(opens + 1, data=ESCAPE)
    hands.type(opens + 2, data=ENTER)
    hands.when("closed")
    (stopped,) = hands.faked.of("stopped")
    assert (stopped.reason, stopped.scope) == ("symptom", "session")
    assert hands.results[0].stopped == "symptom"


def test_arrows_and_enter_end_the_session_from_the_menu(typed):
    hands = typed()
    opens = hands.open()
    hands.type(opens + 1, data=ESCAPE)
    hands.type(opens + 1.5, opens + 1.8, data=UP)
    hands.type(opens + 2.8, data=ENTER)
    hands.when("closed")
    (stopped,) = hands.faked.of("stopped")
    assert (stopped.reason, stopped.scope) == ("choice", "session")
    assert hands.named(*STAMPS) == []


# -- hands that shake, keys that are held


def test_a_tremor_at_the_failure_is_one_tap(typed):
    """A tremor of each kind at a failure, one clean tap between two of them, all in one window."""
    hands = typed()
    start = hands.open() + 0.5
    for hertz in SHAKES.values():
        hands.type(*(start + n / hertz for n in range(int(SHAKEN_S * hertz) + 1)))
        if hertz != SHAKES["5 Hz"]:
            hands.type(start + SHAKEN_S + 0.95)
        start += SHAKEN_S + 1.8
    hands.when("closed")
    assert hands.named(*STAMPS) == ["failure", "re-entry", "failure", "re-entry", "failure"]
    assert hands.trains == [("guard", int(SHAKEN_S * hertz)) for hertz in SHAKES.values()]


def test_a_held_key_at_the_failure_is_one_tap(typed):
    hands = typed()
    start = hands.open() + 0.5
    for repeat in REPEATS.values():
        hands.type(*held_taps(start, *repeat, HELD_S))
        if repeat is not REPEATS["fast"]:
            hands.type(start + HELD_S + 1.2)
        start += HELD_S + 2.4
    hands.when("closed")
    assert hands.named(*STAMPS) == ["failure", "re-entry", "failure"]
    counts = [len(held_taps(0, *repeat, HELD_S)) - 1 for repeat in REPEATS.values()]
    assert hands.trains == [("held", count) for count in counts]


# -- a clicker


def test_a_clicker_leads_through_a_whole_session_and_none_of_its_presses_is_lost(typed):
    hands = typed("B")
    hands.type(NEW_SCREEN_S, data=CLICKER["F5"])
    opens = hands.window()
    hands.type(opens + 3, data=CLICKER["page up"])
    hands.type(opens + 6, data=CLICKER["b"])
    hands.type(opens + 8, data=CLICKER["full stop"])
    hands.type(hands.when("rest") + NEW_SCREEN_S, data=CLICKER["page down"])
    hands.type(hands.when("window-closed", 2) + 2.5, data=CLICKER["page up"])
    hands.when("closed")
    kinds = ("ready", "not-ready", "failure", "re-entry", "late-tap", "confirmed", "dropped")
    assert hands.named(*kinds) == ["ready", "failure", "re-entry", "failure", "ready", "confirmed"]
    first, second = hands.results
    assert (first.failures_s, first.reentries_s) == ((3, 8), (6,))
    assert (second.failures_s, second.ran_to_end, second.confirmed) == ((), True, True)


# -- one key


def test_one_key_skips_a_set_after_five_taps_and_two_in_haste_and_does_the_next(typed):
    hands = typed("B")
    hands.five_taps(NEW_SCREEN_S)
    hasty = hands.type(NEW_SCREEN_S + 4.75, NEW_SCREEN_S + 5.7)
    skipped = hands.choose(hasty + STILL_S, 2)
    hands.when("skipped")
    counted_in = len(hands.faked.of("window-open")) + 1
    hands.type(skipped + NEW_SCREEN_S)
    opens = hands.window(counted_in)
    hands.type(opens + 6, opens + 8.5)
    hands.when("closed")
    assert hands.faked.of("stopped") == []
    assert "screen" in [reason for reason, _ in hands.trains]
    first, second = hands.results
    assert (first.skipped, first.failures_s) == (True, ())
    assert not second.skipped
    assert (second.failures_s, second.reentries_s) == ((6,), (8.5,))
    assert second.counted


def test_one_key_held_down_changes_the_rung(typed):
    hands = typed()
    hands.type(*held_taps(NEW_SCREEN_S, *REPEATS["fast"], 3.5))
    chosen = hands.choose(NEW_SCREEN_S + 3 + STILL_S, 3)
    hands.when("rung-chosen")
    hands.type(chosen + NEW_SCREEN_S)
    opens = hands.window()
    hands.type(opens + 6)
    hands.when("closed")
    (event,) = hands.faked.of("rung-chosen")
    assert (event.due, event.rung) == ("half way", "high")
    (only,) = hands.results
    assert (only.rung, only.failures_s) == ("high", (6,))
    assert only.counted


def test_one_key_stops_for_a_symptom_in_the_rest(typed):
    """Fails, asks for the menu in the rest, and says twice that something feels wrong."""
    hands = typed("B")
    opens = hands.open()
    hands.type(opens + 6)
    since = hands.five_taps(hands.when("rest") + NEW_SCREEN_S)
    again = hands.choose(since, 0)
    hands.choose(again + STILL_S, 0)
    hands.when("closed")
    (stopped,) = hands.faked.of("stopped")
    assert (stopped.reason, stopped.scope) == ("symptom", "session")
    first = hands.results[0]
    assert first.failures_s == (6,)
    assert first.counted


def test_whoever_says_that_something_feels_wrong_and_then_nothing_is_stopped_for(typed):
    hands = typed()
    hands.choose(hands.five_taps(NEW_SCREEN_S), 0)
    hands.when("closed")
    assert [event.reason for event in hands.faked.of("stopped")] == ["symptom"]


def test_one_key_leaves_and_the_session_can_be_gone_on_with(typed):
    hands = typed()
    hands.choose(hands.five_taps(NEW_SCREEN_S), 6)
    hands.when("left")
    assert hands.faked.log.events[-1].reason == "quit"
    assert hands.faked.of("closed") == []
