"""Whole sessions in real time, in terminals of their own, all at once: what a person would see happen.

How exactly a tap is stamped is measured in `tests/bench/bench_stamps.py`, on a quiet machine.
"""

import random
import signal
import time
from functools import partial

import pytest

from tests.live.stage import NEW_SCREEN_S, TAP
from tests.running import said

BACK_IN_S, AGAIN_S = 2.2, 1.0  # after a failure, and after any other stamp, until the next tap counts
NOT_AT_ONCE_S = 2.6  # into a window: a failure before may be a slip of the key
LEAVE, INTERRUPT = b"\x11", b"\x03"
BACKSPACE, ESCAPE, ENTER, UP, DOWN = b"\x7f", b"\x1b", b"\r", b"\x1b[A", b"\x1b[B"
HOSTILE = b"\xff\xfe", b"\x1b[M \xf0\xf1", b"\x1b[9999999u", b"\x1b[55296u", b"\x1b[200~not ended"
NO_KEYS = b"\x1b[57441u", b"\x1b[57443;3u", b"\x1b[<35;10;10M", b"\x1b[<64;5;5M"  # modifiers, pointer, wheel
STILL_S, LINE_S = 2.5, 3.0  # after the last tap, and for each line of the menu of a single switch
LARGE = (200, 60)

pytestmark = pytest.mark.waits
SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


@scenario
def plain_taps(stage):
    stage.open()
    time.sleep(NOT_AT_ONCE_S)
    stage.tap("failure", after_s=BACK_IN_S).tap("re-entry", after_s=AGAIN_S)
    stage.tap("failure").written.wait_for("closed")
    return stage.taps_off(1).end()


@scenario
def full_screen_taps(stage):
    """A failure taken back, the menu opened and closed, what is no key, lost focus; then two stamps."""
    stage.terminals = partial(stage.terminals, size=LARGE)
    stage.open(plain=False).tap("failure", after_s=AGAIN_S)
    stage.press(BACKSPACE, every_s=0.6).tap("taken-back", BACKSPACE, after_s=0.3)
    stage.press(ESCAPE, UP, DOWN, UP, ESCAPE, every_s=0.2).press(*NO_KEYS, every_s=0.05)
    stage.tap("focus", b"\x1b[O").tap("focus", b"\x1b[I", after_s=AGAIN_S)
    stage.tap("failure", after_s=BACK_IN_S).tap("re-entry", b"\x1b[<0;20;20M").press(b"\x1b[<0;20;20m")
    stage.written.wait_for("closed")
    return stage.taps_off(1).end()


@scenario
def held_key(stage):
    """A key held down at the failure; then the session is ended from the menu, with arrows and Enter."""
    stage.open().tap("failure", after_s=0.5).press(*[TAP] * 77, every_s=0.033)
    time.sleep(AGAIN_S)
    stage.tap("re-entry").press(ESCAPE, UP, UP, every_s=0.4).press(ENTER)
    stage.written.wait_for("closed")
    return stage.taps_off(1).end()


def _ended_from_outside(stage, plain, end):
    stage.open(plain=plain).tap("failure", after_s=AGAIN_S)
    end(stage.terminal)
    return stage.end()


ENDS = {
    "terminated": (lambda terminal: terminal.process.send_signal(signal.SIGTERM), 128 + signal.SIGTERM),
    "hang-up": (lambda terminal: terminal.hang_up(), 128 + signal.SIGHUP),
}
PLACES = {"in plain lines": True, "on the full screen": False}
SCENARIOS |= {
    f"{why} {place}": partial(_ended_from_outside, plain=plain, end=end)
    for why, (end, _) in ENDS.items()
    for place, plain in PLACES.items()
}


@scenario
def typed_ahead(stage):
    stage.run().terminal.wait_for("tap: I have read this")
    time.sleep(NEW_SCREEN_S)
    stage.terminal.send(TAP + b"o" + b"+" + TAP + ESCAPE)  # at once: the session begins with the first
    stage.written.wait_for("opened")
    stage.terminal.wait_for("tap: try your key")
    time.sleep(1)
    stage.terminal.send(INTERRUPT)
    return stage.end()


@scenario
def killed(stage):
    """Killed at some moment of a window, amid taps; then resumed and finished."""
    stage.open(script="B").tap("failure", after_s=BACK_IN_S).tap("re-entry")
    time.sleep(random.Random(stage.data.name).uniform(0.0, 1.5))
    stage.terminal.process.kill()
    stage.acknowledged = stage.end().terminal.output
    stage.at_kill = stage.written.lines()
    stage.run("--resume").written.wait_for("resumed")
    stage.tap_until("count-in", count=2)
    stage.written.wait_for("window-open", 2)
    stage.tap("failure").written.wait_for("closed")
    return stage.taps_off(1).end()


def _killed_soon_after_a_tap(stage, after_s):
    stage.open()
    time.sleep(0.3)
    stage.terminal.send(TAP)
    time.sleep(after_s)
    stage.terminal.process.kill()
    return stage.end()


KILLED_AFTER_MS = (0, 2, 20)
SCENARIOS |= {
    f"killed_{ms}_ms_after": partial(_killed_soon_after_a_tap, after_s=ms / 1000) for ms in KILLED_AFTER_MS
}


@scenario
def stopped_and_continued(stage):
    """Stands still past two boundaries of its window, with a tap meanwhile, the terminal set by a shell."""
    stage.open(plain=False)
    time.sleep(0.5)
    stage.terminal.process.send_signal(signal.SIGSTOP)
    stage.terminal.set_as_before()
    time.sleep(6)
    stage.terminal.send(TAP)
    time.sleep(0.3)
    stage.terminal.process.send_signal(signal.SIGCONT)
    stage.waits_for("gap")
    time.sleep(1)
    stage.is_set_again = stage.terminal.settings_now() != stage.terminal.settings
    stage.terminal.send(LEAVE)
    return stage.end()


@scenario
def stalled(stage):
    """Sends bytes that are no keys, then takes no more output: two taps, and it is terminated."""
    stage.open(plain=False)
    stage.press(*HOSTILE, every_s=0.02)
    time.sleep(NOT_AT_ONCE_S)
    stage.before = len(stage.written.of("failure", "re-entry"))
    stage.terminal.reading.clear()
    for count in (1, 2):
        stage.terminal.send(TAP)
        time.sleep(BACK_IN_S)
        stage.taken = len(stage.written.of("failure", "re-entry")) - stage.before
        assert stage.taken == count, stage.names
    stage.terminal.process.send_signal(signal.SIGTERM)
    stage.terminal.process.wait(60)
    stage.terminal.reading.set()
    return stage.end()


@scenario
def one_switch(stage):
    """Asks for the menu with five taps, says twice that something feels wrong, and reads what to do."""
    stage.run("--script", "B", plain=False).past_the_cautions()
    time.sleep(NEW_SCREEN_S)
    stage.press(*[TAP] * 5, every_s=0.95)
    for _ in range(2):
        time.sleep(STILL_S + LINE_S / 2 - 0.95)  # its first line is marked then
        stage.press(TAP, every_s=0.95)
    stage.written.wait_for("stopped")
    stage.written.wait_for("closed")
    stage.taps_off(2).end()
    stage.next = told(stage, "next", stage.program, "--json")
    stage.run("--script", "B")  # one key does not release what is on hold
    stage.terminal.wait_for("tap: I have read this")
    stage.taps_until_printed("tap: not today")
    stage.taps_off(1)
    stage.code_again = stage.terminal.end()
    return stage


def told(stage, *args):
    return said(*args, "--data", stage.data).out


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


def stamps(stage):
    return [line["ev"] for line in stage.written.of("failure", "re-entry", "taken-back")]


def test_each_tap_is_in_the_log_none_lost_none_doubled(stages):
    stage = stages("plain_taps")
    assert stamps(stage) == ["failure", "re-entry", "failure"]
    assert stage.written.of("dropped") == []
    assert stage.code == 0
    (told,) = stage.show()["sets"]
    assert (len(told["failures_s"]), len(told["reentries_s"])) == (2, 1)
    spans = zip([0.0, *told["reentries_s"]], told["failures_s"], strict=True)
    assert told["tension_s"] == pytest.approx(sum(out - back for back, out in spans), abs=0.01)
    assert told["counted"]


def test_slips_are_taken_back_and_what_is_no_tap_does_nothing(stages):
    stage = stages("full_screen_taps")
    assert stamps(stage) == ["failure", "taken-back", "failure", "re-entry"]
    assert [line["has"] for line in stage.written.of("focus")] == [False, True]
    assert stage.written.of("dropped") == []
    (told,) = stage.show()["sets"]
    assert (len(told["failures_s"]), len(told["reentries_s"])) == (1, 1)
    assert stage.code == 0


def test_a_key_held_down_is_one_tap_and_arrows_and_enter_end_the_session_from_the_menu(stages):
    stage = stages("held_key")
    assert stamps(stage) == ["failure", "re-entry"]
    assert [(line["reason"], line["count"]) for line in stage.written.of("dropped")] == [("held", 77)]
    (stopped,) = stage.written.of("stopped")
    assert (stopped["reason"], stopped["scope"]) == ("choice", "session")
    assert stage.code == 1


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("why", ENDS)
def test_a_session_ended_from_outside_is_left_and_can_be_resumed(stages, why, place):
    stage = stages(f"{why} {place}")
    assert stage.names[-2:] == ["failure", "left"]
    assert stage.written.lines()[-1]["reason"] == why
    assert stage.code == ENDS[why][1]
    assert not stage.show()["complete"]


GIVEN_BACK = (
    *("plain_taps", "full_screen_taps", "held_key", "typed_ahead", "one_switch"),
    *("terminated in plain lines", "terminated on the full screen"),
)


@pytest.mark.parametrize("name", GIVEN_BACK)
def test_the_terminal_is_given_back_as_it_was(stages, name):
    stage = stages(name)
    assert stage.terminal.settings_now() == stage.terminal.settings
    output = stage.terminal.output
    for on, off in (
        (b"\x1b[?1049h", b"\x1b[?1049l"),
        (b"\x1b[?25l", b"\x1b[?25h"),
        (b"\x1b[?1003h", b"\x1b[?1003l"),
    ):
        assert output.rfind(off) >= output.rfind(on)
    assert b"Traceback" not in output


def test_keys_typed_ahead_do_nothing_and_an_interrupt_leaves(stages):
    stage = stages("typed_ahead")
    events = [name for _, name in sorted(_acknowledged(stage.terminal.output))]
    # what reaches the program only after the opening is dropped
    assert [name for name in events if name != "dropped"] == ["anchor", "opened", "left"]
    assert b"left reason=quit" in stage.terminal.output
    assert stage.code == 1


def test_of_a_session_that_never_began_nothing_stays_and_nothing_is_promised(stages):
    stage = stages("typed_ahead")
    assert stage.names == []
    assert b"nothing was recorded" in stage.terminal.output
    assert b"--resume" not in stage.terminal.output
    assert stage.code == 1


def _acknowledged(output):
    """Return the events that were printed, each as its time and its name."""
    words = (line.split(b" ")[:2] for line in output.rpartition(b"\n")[0].splitlines())
    return {(each[0].decode(), each[1].decode()) for each in words if each[0].replace(b".", b"").isdigit()}


@pytest.mark.parametrize("ms", KILLED_AFTER_MS)
def test_no_stamp_that_was_acknowledged_is_lost_when_it_is_killed(stages, ms):
    stage = stages(f"killed_{ms}_ms_after")
    kept = {(f"{line['t']:.3f}", line["ev"]) for line in stage.written.lines()}
    printed = _acknowledged(stage.terminal.output)
    assert {"opened", "ready", "count-in"} <= {name for _, name in printed}
    assert printed <= kept


def test_a_session_killed_amid_taps_has_each_of_them(stages):
    stage = stages("killed")
    assert [line["ev"] for line in stage.at_kill if line["ev"] in ("failure", "re-entry")] == [
        "failure",
        "re-entry",
    ]
    kept = {(f"{line['t']:.3f}", line["ev"]) for line in stage.at_kill}
    assert _acknowledged(stage.acknowledged) <= kept


def test_a_killed_session_is_resumed_and_finished(stages):
    stage = stages("killed")
    told = stage.show()
    assert stage.code == 0
    assert told["complete"]
    first, second = told["sets"]
    assert first["interrupted"]
    assert len(first["failures_s"]) == 1
    assert not second["interrupted"]
    assert len(second["failures_s"]) == 1
    times = [line["t"] for line in stage.written.lines()]
    assert times == sorted(times)


def test_a_standstill_interrupts_the_set_and_nothing_is_caught_up(stages):
    stage = stages("stopped_and_continued")
    after = stage.names[stage.names.index("gap") :]
    assert after[:2] == ["gap", "interrupted"]
    assert not {"band", "final-stretch", "window-closed", "failure"} & set(stage.names)
    (gap,) = stage.written.of("gap")
    assert gap["seconds"] >= 6
    (told,) = stage.show()["sets"]
    assert told["interrupted"]
    assert not told["counted"]


def test_a_terminal_that_stood_still_takes_single_keys_again_and_is_given_back(stages):
    stage = stages("stopped_and_continued")
    assert stage.is_set_again
    assert stage.terminal.settings_now() == stage.terminal.settings
    _, _, after = stage.terminal.output.partition(b"\x1b[?1049h")
    assert b"\x1b[?1049h" in after


def test_a_stalled_terminal_holds_neither_keys_nor_the_end_up(stages):
    stage = stages("stalled")
    assert stage.taken == 2
    assert stage.names[-1] == "left"
    assert stage.code == 128 + signal.SIGTERM
    assert stage.terminal.settings_now() == stage.terminal.settings
    _, is_given_back, told = stage.terminal.output.rpartition(b"\x1b[?1049l")
    assert is_given_back
    assert b"--resume" in told


def test_one_key_stops_for_a_symptom_and_reads_what_to_do(stages):
    stage = stages("one_switch")
    (stopped,) = stage.written.of("stopped")
    assert (stopped["reason"], stopped["scope"]) == ("symptom", "session")
    assert stage.written.lines()[-1]["ev"] == "closed"


def test_the_program_is_on_hold_then_and_one_key_does_not_release_it(stages):
    stage = stages("one_switch")
    assert stage.code == 1
    assert '"hold": "' in stage.next
    assert '"ready": false' in stage.next
    assert stage.code_again == 1
    assert len(list(stage.data.rglob("*.jsonl"))) == 1
