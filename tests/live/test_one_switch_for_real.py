"""Sessions with a clicker, with one key alone, and with hands that shake: in real terminals, in real time."""

import subprocess

import pytest

from tests.live.stage import HOLDTIMER, TAP

CLICKER = {"page up": b"\x1b[5~", "page down": b"\x1b[6~", "F5": b"\x1b[15~", "b": b"b", "full stop": b"."}
STILL_S, LINE_S = 2.5, 3.0  # after the last tap, and for each line of the menu of a single switch
BEGUN_AGAIN_S = 1.8  # a new screen takes no tap at first
SHAKES = {"2.5 Hz": 2.5, "3.5 Hz": 3.5, "5 Hz": 5.0}
SHAKEN_S = 1.6
REPEATS = {"slow": (0.66, 0.040), "fast": (0.25, 0.025)}  # how long until a key repeats, and how often then
HELD_S = 2.4

SCENARIOS = {}


def scenario(function):
    SCENARIOS[function.__name__] = function
    return function


def press_all(stage, *moments, data=TAP):
    """Press at these moments of the steady clock; when the last was sent."""
    return [stage.terminal.send_at(moment, data) for moment in moments][-1].after


def five_taps(stage, start):
    """Ask for the menu; when its lines begin to be marked."""
    return press_all(stage, *(start + n * 0.95 for n in range(5))) + STILL_S


def held_taps(start, delay, every, seconds):
    """Return when a keyboard sends a key that is held down."""
    count = int((seconds - delay) / every)
    return [start, *(start + delay + n * every for n in range(count + 1))]


def choose(stage, since, line):
    """Tap while this line of the menu is marked, counted from 0; when that was sent."""
    return press_all(stage, since + LINE_S * line + 1.2)


def begin(stage, script, plain):
    """Bring a session to ready and return when it takes a tap."""
    stage.run("--script", script, plain=plain)
    if not plain:
        stage.past_the_cautions()
    stage.written.wait_for("opened")
    return stage.written.steady(stage.written.lines()[0]) + BEGUN_AGAIN_S


def when(stage, name, count=1):
    """Wait for an event and return when it was, by the steady clock."""
    return stage.written.steady(stage.written.wait_for(name, count)[count - 1])


def window(stage, count=1):
    """Wait for a window that opens after a tap at ready and return when it does."""
    begun = stage.written.wait_for("count-in", count)[count - 1]
    return stage.written.steady(begun) + begun["seconds"]


# -- a clicker


@scenario
def clicker(stage):
    stage.run("--script", "B", plain=False).past_the_cautions(CLICKER["page down"])
    opened = when(stage, "opened")
    stage.tap(opened + BEGUN_AGAIN_S, CLICKER["F5"])
    opens = window(stage)
    stage.tap(opens + 3, CLICKER["page up"])
    stage.tap(opens + 6, CLICKER["b"])
    stage.tap(opens + 8, CLICKER["full stop"])
    stage.tap(when(stage, "rest") + BEGUN_AGAIN_S, CLICKER["page down"])
    stage.tap(when(stage, "window-closed", 2) + 2.5, CLICKER["page up"])
    stage.written.wait_for("closed")
    return stage.taps_off(1, CLICKER["full stop"]).end()


# -- one key


@scenario
def skips_with_five_taps(stage):
    """Taps on in haste after the fifth, skips the first set, does the second."""
    at = begin(stage, "B", plain=False)
    five_taps(stage, at)
    hasty = press_all(stage, at + 4.75, at + 5.7)
    skipped = choose(stage, hasty + STILL_S, 2)
    stage.written.wait_for("skipped")
    press_all(stage, skipped + BEGUN_AGAIN_S)
    opens = window(stage, len(stage.written.of("count-in")) + 1)
    press_all(stage, opens + 6, opens + 8.5)
    stage.written.wait_for("closed")
    return stage.taps_off(1).end()


@scenario
def changes_the_rung_with_a_held_key(stage):
    at = begin(stage, "A", plain=False)
    held = held_taps(at, *REPEATS["fast"], 3.5)
    press_all(stage, *held)
    chosen = choose(stage, at + 3 + STILL_S, 3)
    stage.written.wait_for("rung-chosen")
    press_all(stage, chosen + BEGUN_AGAIN_S)
    opens = window(stage, 2)
    press_all(stage, opens + 6)
    stage.written.wait_for("closed")
    return stage.taps_off(1).end()


@scenario
def stops_for_a_symptom(stage):
    """Fails, asks for the menu in the rest, says twice that something feels wrong, reads the pages."""
    press_all(stage, begin(stage, "B", plain=False))
    press_all(stage, window(stage) + 6)
    since = five_taps(stage, when(stage, "rest") + BEGUN_AGAIN_S)
    again = choose(stage, since, 0)
    choose(stage, again + STILL_S, 0)
    stage.written.wait_for("closed")
    stage.taps_off(2).end()
    stage.next = told(stage, "next", stage.program, "--json")
    stage.run("--script", "B")  # one key does not release what is on hold
    stage.terminal.wait_for("tap: not today")
    stage.taps_off(1)
    stage.code_again = stage.terminal.end()
    return stage


def told(stage, *args):
    ran = [*HOLDTIMER, *map(str, args), "--data", str(stage.data)]
    return subprocess.run(ran, capture_output=True, check=True, text=True).stdout


@scenario
def says_that_something_feels_wrong_and_falls_silent(stage):
    since = five_taps(stage, begin(stage, "A", plain=True))
    choose(stage, since, 0)
    stage.written.wait_for("closed")
    return stage.end()


@scenario
def leaves_with_one_key(stage):
    since = five_taps(stage, begin(stage, "A", plain=True))
    choose(stage, since, 6)
    return stage.end()


# -- hands that shake, keys that are held


def _shaken(stage, plain):
    """Fails with a tremor of each kind and is back in with one clean tap, all in one window."""
    opens = stage.open(plain=plain)
    start = opens + 0.5
    for hertz in SHAKES.values():
        count = int(SHAKEN_S * hertz) + 1
        stage.tap(start)
        press_all(stage, *(start + n / hertz for n in range(1, count)))
        if hertz != SHAKES["5 Hz"]:
            stage.tap(start + SHAKEN_S + 0.95)
        start += SHAKEN_S + 1.8
    stage.written.wait_for("closed")
    return (stage if plain else stage.taps_off(1)).end()


def _held(stage, plain):
    """Fails with a held key of each kind, with one clean tap between them."""
    opens = stage.open(plain=plain)
    start = opens + 0.5
    for repeat in REPEATS.values():
        first, *repeated = held_taps(start, *repeat, HELD_S)
        stage.tap(first)
        press_all(stage, *repeated)
        if repeat is not REPEATS["fast"]:
            stage.tap(start + HELD_S + 1.2)
        start += HELD_S + 2.4
    stage.written.wait_for("closed")
    return (stage if plain else stage.taps_off(1)).end()


SCENARIOS["shaken in plain lines"] = lambda stage: _shaken(stage, plain=True)
SCENARIOS["shaken on the full screen"] = lambda stage: _shaken(stage, plain=False)
SCENARIOS["held in plain lines"] = lambda stage: _held(stage, plain=True)
SCENARIOS["held on the full screen"] = lambda stage: _held(stage, plain=False)
PLACES = ("in plain lines", "on the full screen")


@pytest.fixture(scope="module")
def stages(together, hall_text):
    """Every scenario, by name; a rest takes time here, and a count-in leaves room to hold a key."""
    text = hall_text.replace("rest_s = 0", "rest_s = 3", 1).replace("count_in_s = 3", "count_in_s = 4")
    with together(SCENARIOS, text) as played:
        yield played


def what_taps_did(stage):
    kinds = ("ready", "not-ready", "failure", "re-entry", "late-tap", "confirmed", "dropped")
    return [line["ev"] for line in stage.written.of(*kinds)]


def stamps(stage):
    return [line["ev"] for line in stage.written.of("failure", "re-entry")]


def trains(stage):
    return [(line["reason"], line["count"]) for line in stage.written.of("dropped")]


def test_a_clicker_leads_through_a_whole_session_and_none_of_its_presses_is_lost(stages):
    stage = stages("clicker")
    expected = ["ready", "failure", "re-entry", "failure", "ready", "confirmed"]
    assert what_taps_did(stage) == expected
    assert len(stage.lateness(*expected)) == len(expected)
    assert stage.code == 0
    first, second = stage.show()["sets"]
    assert (len(first["failures_s"]), len(first["reentries_s"])) == (2, 1)
    assert first["first_failure_s"] == pytest.approx(3, abs=0.2)
    assert (second["failures_s"], second["ran_to_end"], second["confirmed"]) == ([], True, True)


def test_one_key_skips_a_set_after_five_taps_and_two_in_haste_and_does_the_next(stages):
    stage = stages("skips_with_five_taps")
    assert stage.code == 0
    assert stage.written.of("stopped") == []
    dropped = stage.written.of("dropped")
    assert "screen" in [line["reason"] for line in dropped]
    first, second = stage.show()["sets"]
    assert (first["skipped"], first["failures_s"]) == (True, [])
    assert not second["skipped"]
    assert (len(second["failures_s"]), len(second["reentries_s"])) == (1, 1)
    assert second["counted"]


def test_one_key_held_down_changes_the_rung(stages):
    stage = stages("changes_the_rung_with_a_held_key")
    assert stage.code == 0
    (chosen,) = stage.written.of("rung-chosen")
    assert (chosen["due"], chosen["rung"]) == ("half way", "high")
    (only,) = stage.show()["sets"]
    assert only["rung"] == "high"
    assert len(only["failures_s"]) == 1
    assert only["counted"]


def test_one_key_stops_for_a_symptom_and_reads_what_to_do(stages):
    stage = stages("stops_for_a_symptom")
    assert stage.code == 1
    (stopped,) = stage.written.of("stopped")
    assert (stopped["reason"], stopped["scope"]) == ("symptom", "session")
    assert stage.written.lines()[-1]["ev"] == "closed"
    first = stage.show()["sets"][0]
    assert len(first["failures_s"]) == 1
    assert first["counted"]


def test_the_program_is_on_hold_then_and_one_key_does_not_release_it(stages):
    stage = stages("stops_for_a_symptom")
    assert '"hold": "' in stage.next
    assert '"ready": false' in stage.next
    assert stage.code_again == 1
    assert len(list(stage.data.rglob("*.jsonl"))) == 1


def test_whoever_says_that_something_feels_wrong_and_then_nothing_is_stopped_for(stages):
    stage = stages("says_that_something_feels_wrong_and_falls_silent")
    assert stage.code == 1
    assert [line["reason"] for line in stage.written.of("stopped")] == ["symptom"]
    assert '"hold": "' in told(stage, "next", stage.program, "--json")


def test_one_key_leaves_and_the_session_can_be_gone_on_with(stages):
    stage = stages("leaves_with_one_key")
    assert stage.code == 1
    left = stage.written.lines()[-1]
    assert (left["ev"], left["reason"]) == ("left", "quit")
    assert not stage.show()["complete"]


@pytest.mark.parametrize("place", PLACES)
def test_a_tremor_at_the_failure_is_one_tap(stages, place):
    stage = stages(f"shaken {place}")
    assert stage.code == 0
    stage.lateness("failure", "re-entry")  # one stamp for each tap that was meant, none before it
    assert stamps(stage) == ["failure", "re-entry", "failure", "re-entry", "failure"]
    assert trains(stage) == [("guard", int(SHAKEN_S * hertz)) for hertz in SHAKES.values()]


@pytest.mark.parametrize("place", PLACES)
def test_a_held_key_at_the_failure_is_one_tap(stages, place):
    stage = stages(f"held {place}")
    assert stage.code == 0
    stage.lateness("failure", "re-entry")
    assert stamps(stage) == ["failure", "re-entry", "failure"]
    assert trains(stage) == [("held", len(held_taps(0, *repeat, HELD_S)) - 1) for repeat in REPEATS.values()]
