"""Whole sessions in real time, in terminals of their own, all at once: what a person would see happen."""

import random
import signal
import time

import pytest

from tests.live.stage import TAP

AT_MOST_LATE_S = 0.020

SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


def _alternating_taps(stage, plain):
    opens = stage.open(plain=plain)
    for moment in (2.613, 4.841, 5.787, 8.002, 9.233):
        stage.tap(opens + moment)
    stage.written.wait_for("closed")
    return stage if plain else stage.taps_off(1)


@scenario
def plain_taps(stage):
    return _alternating_taps(stage, plain=True).end()


@scenario
def full_screen_taps(stage):
    return _alternating_taps(stage, plain=False).end()


@scenario
def held_key(stage):
    opens = stage.open()
    stage.tap(opens + 1)
    for n in range(77):  # after half a second, 30 times a second until 4 s
        stage.terminal.send_at(opens + 1.5 + n * 0.033, TAP)
    stage.tap(opens + 6)
    stage.written.wait_for("closed")
    return stage.end()


@scenario
def late_tap(stage):
    opens = stage.open()
    stage.tap(opens + 10.6)
    stage.written.wait_for("closed")
    return stage.end()


@scenario
def silence(stage):
    opens = stage.open(plain=False)
    time.sleep(max(0.0, opens + 13 - time.monotonic()))
    stage.terminal.send(b"\x11")  # ctrl+q
    return stage.end()


@scenario
def slips_and_menu(stage):
    opens = stage.open(plain=False)
    send_at = stage.terminal.send_at
    stage.tap(opens + 0.7)
    send_at(opens + 1.6, b"\x7f")
    send_at(opens + 2.2, b"\x7f")
    send_at(opens + 3.0, b"\x1b")
    for n in range(5):
        send_at(opens + 3.4 + n * 0.1, b"\x1b[A" if n < 3 else b"\x1b[B")
    send_at(opens + 4.0, b"\x1b")  # the menu is closed again
    for n, nothing in enumerate((b"\x1b[57441u", b"\x1b[57443;3u", b"\x1b[<35;10;10M", b"\x1b[<64;5;5M")):
        send_at(opens + 4.3 + n * 0.1, nothing)  # modifiers alone, a pointer that moves, a wheel
    send_at(opens + 5.0, b"\x1b[O")
    send_at(opens + 5.4, b"\x1b[I")
    stage.tap(opens + 6.3)
    stage.tap(opens + 8.8, b"\x1b[<0;20;20M")
    send_at(opens + 8.9, b"\x1b[<0;20;20m")
    stage.written.wait_for("closed")
    return stage.taps_off(1).end()


@scenario
def symptom(stage):
    opens = stage.open(plain=False)
    stage.terminal.send_at(opens + 1, b"\x1b")
    stage.terminal.send_at(opens + 2, b"\r")
    stage.written.wait_for("closed")
    return stage.taps_off(2).end()


@scenario
def plain_menu_ends_it(stage):
    opens = stage.open()
    stage.terminal.send_at(opens + 1, b"\x1b")
    stage.terminal.send_at(opens + 1.5, b"\x1b[A")
    stage.terminal.send_at(opens + 1.8, b"\x1b[A")
    stage.terminal.send_at(opens + 2.8, b"\r")
    stage.written.wait_for("closed")
    return stage.end()


def _ended_from_outside(stage, plain, end):
    opens = stage.open(plain=plain)
    stage.tap(opens + 1)
    time.sleep(max(0.0, opens + 2 - time.monotonic()))
    end(stage)
    return stage.end()


@scenario
def full_screen_terminated(stage):
    return _ended_from_outside(stage, False, lambda s: s.terminal.process.send_signal(signal.SIGTERM))


@scenario
def plain_terminated(stage):
    return _ended_from_outside(stage, True, lambda s: s.terminal.process.send_signal(signal.SIGTERM))


@scenario
def full_screen_hung_up(stage):
    return _ended_from_outside(stage, False, lambda s: s.terminal.hang_up())


@scenario
def plain_hung_up(stage):
    return _ended_from_outside(stage, True, lambda s: s.terminal.hang_up())


@scenario
def plain_left(stage):
    return _ended_from_outside(stage, True, lambda s: s.terminal.send(b"\x11"))


@scenario
def plain_interrupted(stage):
    return _ended_from_outside(stage, True, lambda s: s.terminal.send(b"\x03"))


@scenario
def typed_ahead(stage):
    stage.run()
    for key in (b"o", b"+", TAP, b"\x1b"):
        stage.terminal.send(key)
    stage.written.wait_for("opened")
    stage.terminal.wait_for("tap: ready")
    time.sleep(1)
    stage.terminal.send(b"\x11")
    return stage.end()


@scenario
def killed(stage):
    """Killed at a random moment of a window, amid taps; then resumed and finished."""
    opens = stage.open(script="B")
    chance = random.Random(stage.data.name)
    kill_at = opens + chance.uniform(2.5, 5.5)
    moment = opens + 0.4
    while moment < kill_at - 0.005:
        stage.tap(moment)
        moment += 2.3
    time.sleep(max(0.0, kill_at - time.monotonic()))
    stage.terminal.process.kill()
    stage.acknowledged = stage.end().terminal.output
    stage.at_kill = stage.written.lines()
    stage.run("--resume")
    stage.written.wait_for("resumed")
    resumed = stage.written.steady(stage.written.of("anchor")[-1])
    stage.terminal.send_at(resumed + 1.8, TAP)
    again = stage.written.wait_for("window-open", 2)[1]
    stage.terminal.send_at(_by_last_anchor(stage, again) + 6, TAP)
    stage.written.wait_for("closed")
    return stage.end()


def _by_last_anchor(stage, line):
    anchor = stage.written.of("anchor")[-1]
    return anchor["mono_ns"] / 1e9 + line["t"] - anchor["t"]


def _killed_soon_after_a_tap(after_s):
    def play(stage):
        opens = stage.open()
        stage.tap(opens + 0.3)
        time.sleep(after_s)
        stage.terminal.process.kill()
        return stage.end()

    return play


KILLED_AFTER_MS = (0, 1, 2, 5, 20)
SCENARIOS |= {f"killed_{ms}_ms_after": _killed_soon_after_a_tap(ms / 1000) for ms in KILLED_AFTER_MS}


@scenario
def stopped_and_continued(stage):
    opens = stage.open()
    time.sleep(max(0.0, opens + 3 - time.monotonic()))
    stage.terminal.process.send_signal(signal.SIGSTOP)
    stage.terminal.send_at(opens + 5.9, TAP)  # pressed while nothing ran
    time.sleep(max(0.0, opens + 6.2 - time.monotonic()))
    stage.terminal.process.send_signal(signal.SIGCONT)
    stage.written.wait_for("gap")
    time.sleep(2)
    stage.terminal.send(b"\x11")
    return stage.end()


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name."""
    with together(SCENARIOS, hall_text) as played:
        yield played


@pytest.mark.parametrize("name", ["plain_taps", "full_screen_taps"])
def test_each_tap_is_in_the_log_when_it_was_written_none_lost_none_doubled(stages, name):
    stage = stages(name)
    late = sorted(stage.lateness("failure", "re-entry"))
    assert late[-1] <= AT_MOST_LATE_S
    assert [line["ev"] for line in stage.written.of("failure", "re-entry")] == ["failure", "re-entry"] * 2 + [
        "failure"
    ]
    assert stage.code == 0
    (told,) = stage.show()["sets"]
    assert (len(told["failures_s"]), len(told["reentries_s"])) == (3, 2)
    assert told["tension_s"] == pytest.approx(2.613 + 0.946 + 1.231, abs=0.1)
    assert told["counted"]


def test_a_key_held_for_three_seconds_is_one_tap(stages):
    stage = stages("held_key")
    assert max(stage.lateness("failure", "re-entry")) <= AT_MOST_LATE_S
    dropped = stage.written.of("dropped")
    assert [(line["reason"], line["count"]) for line in dropped] == [("held", 77)]


def test_a_tap_just_after_the_end_is_a_late_tap(stages):
    stage = stages("late_tap")
    assert max(stage.lateness("late-tap")) <= AT_MOST_LATE_S
    (told,) = stage.show()["sets"]
    assert told["late_tap_s"] == pytest.approx(0.6, abs=0.05)
    assert (told["ran_to_end"], told["confirmed"], told["counted"]) == (True, True, True)
    assert stage.code == 0


def test_a_silent_window_is_not_confirmed_and_not_counted(stages):
    stage = stages("silence")
    (told,) = stage.show()["sets"]
    assert (told["ran_to_end"], told["confirmed"], told["counted"]) == (True, False, False)
    assert stage.code == 1
    assert stage.written.lines()[-1]["ev"] == "left"


def test_slips_are_taken_back_and_what_is_no_tap_does_nothing(stages):
    stage = stages("slips_and_menu")
    assert [line["ev"] for line in stage.written.of("failure", "taken-back", "re-entry")] == [
        "failure",
        "taken-back",
        "failure",
        "re-entry",
    ]
    assert max(stage.lateness("failure", "re-entry")) <= AT_MOST_LATE_S
    assert [line["has"] for line in stage.written.of("focus")] == [False, True]
    assert stage.written.of("dropped") == []
    (told,) = stage.show()["sets"]
    assert len(told["failures_s"]) == 1
    assert stage.code == 0


def test_something_feels_wrong_is_two_keys_away_and_ends_the_session(stages):
    stage = stages("symptom")
    assert stage.written.of("stopped")[0]["reason"] == "symptom"
    assert stage.code == 1
    assert b"emergency" in stage.terminal.output or stage.terminal.output.count(b"Stop") > 0
    assert stage.show()["sets"][0]["stopped"] == "symptom"


def test_arrows_and_enter_end_the_session_from_the_menu(stages):
    stage = stages("plain_menu_ends_it")
    assert [(line["reason"], line["scope"]) for line in stage.written.of("stopped")] == [
        ("choice", "session")
    ]
    assert stage.written.of("failure") == []
    assert stage.code == 1


@pytest.mark.parametrize(
    ("name", "reason", "code"),
    [
        ("full_screen_terminated", "terminated", 128 + signal.SIGTERM),
        ("plain_terminated", "terminated", 128 + signal.SIGTERM),
        ("full_screen_hung_up", "hang-up", 128 + signal.SIGHUP),
        ("plain_hung_up", "hang-up", 128 + signal.SIGHUP),
        ("plain_left", "quit", 1),
        ("plain_interrupted", "quit", 1),
    ],
)
def test_a_session_ended_from_outside_is_left_and_can_be_resumed(stages, name, reason, code):
    stage = stages(name)
    assert [line["ev"] for line in stage.written.lines()[-2:]] == ["failure", "left"]
    assert stage.written.lines()[-1]["reason"] == reason
    assert stage.code == code


@pytest.mark.parametrize(
    "name",
    ["plain_taps", "full_screen_taps", "full_screen_terminated", "plain_terminated", "plain_left", "silence"],
)
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


def test_keys_typed_ahead_do_nothing(stages):
    stage = stages("typed_ahead")
    assert [line["ev"] for line in stage.written.lines()] == ["opened", "anchor", "left"]
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
    assert len([line for line in stage.at_kill if line["ev"] in ("failure", "re-entry")]) == len(stage.sent)
    kept = {(f"{line['t']:.3f}", line["ev"]) for line in stage.at_kill}
    assert _acknowledged(stage.acknowledged) <= kept


def test_a_killed_session_is_resumed_and_finished(stages):
    stage = stages("killed")
    told = stage.show()
    assert stage.code == 0
    assert told["complete"]
    first, second = told["sets"]
    assert first["interrupted"]
    assert first["first_failure_s"] == pytest.approx(0.4, abs=0.05)
    assert not second["interrupted"]
    assert second["first_failure_s"] == pytest.approx(6, abs=0.05)
    times = [line["t"] for line in stage.written.lines()]
    assert times == sorted(times)


def test_a_standstill_interrupts_the_set_and_nothing_is_caught_up(stages):
    stage = stages("stopped_and_continued")
    names = [line["ev"] for line in stage.written.lines()]
    after = names[names.index("gap") :]
    assert after[:2] == ["gap", "interrupted"]
    assert not {"band", "final-stretch", "window-closed", "failure"} & set(names)
    (gap,) = stage.written.of("gap")
    assert gap["seconds"] == pytest.approx(3.2, abs=0.5)
    (told,) = stage.show()["sets"]
    assert told["interrupted"]
    assert not told["counted"]
